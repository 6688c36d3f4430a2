"""A fitted model: what it says of its data, and what it expects of other days."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.mixture import StudentMixture
from mv.regression.findings import Finding, range_findings
from mv.regression.posterior import Posterior
from mv.regression.priors import NoiseScale
from mv.regression.published import PublishedInterval, published_intervals
from mv.regression.selection import Alternative
from mv.regression.terms import design

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Term:
    """One coefficient; the standard error allows for days that hang together."""

    name: str
    coefficient: float
    standard_error: float
    t: float | None
    shrunk: bool = False


@dataclass(frozen=True, slots=True)
class Criterion:
    """A published limit beside the model's value. `value` None: cannot be computed."""

    name: str
    limit: float
    value: float | None
    passed: bool | None
    source: str


@dataclass(frozen=True)
class FittedModel:
    """A model of a meter's energy, kWh a day (or kW in a window), on the days' drivers.

    `fitted` and `residuals` are by local day over the days used. Statistics are those of the
    reported coefficients, fractions, None where undefined; `freedom` is n - p. `persistence` is the
    believed correlation of departures 1, 7 and 30 steps apart; a step is `step_days` days, one unless
    the meter gives weeks or bills. `matrix` holds the columns of the days (or bills) used.

    Days far from the rest bend no coefficient, yet the model's total keeps to the meter's: what they
    are off, `rare_kwh_per_day` over all days, is expected of other days too, and `rare_variance_per_day`
    is the sum of squares of the happenings over the days.
    """

    kind: str
    form: str
    terms: tuple[Term, ...]
    n: int
    p: int
    r2: float | None
    cv_rmse: float | None
    nmbe: float | None
    lag1_autocorrelation: float | None
    durbin_watson: float | None
    tests: tuple[Criterion, ...]
    findings: tuple[Finding, ...]
    alternatives: tuple[Alternative, ...]
    persistence: Mapping[str, float]
    fitted: pd.Series
    residuals: pd.Series
    set_aside_days: pd.DatetimeIndex
    columns: tuple[str, ...] = field(repr=False)
    known: pd.DataFrame = field(repr=False)
    matrix: FloatArray = field(repr=False)
    posterior: Posterior = field(repr=False)
    noise: NoiseScale = field(repr=False)
    rare_kwh_per_day: float = 0.0
    rare_variance_per_day: float = field(default=0.0, repr=False)
    step_days: float = field(default=1.0, repr=False)

    def expected(self, drivers: pd.DataFrame) -> pd.Series:
        """The model's value on each day of `drivers`: the sum of coefficient x driver."""
        values = self._design(drivers) @ self.posterior.coefficients + self.rare_kwh_per_day
        return pd.Series(values, index=drivers.index)

    def predicted_total(self, drivers: pd.DataFrame) -> StudentMixture:
        """Belief about the sum over the days of `drivers`, their own departures included."""
        return self.predicted_totals(drivers, [np.ones(len(drivers), dtype=bool)])[0]

    def predicted_totals(self, drivers: pd.DataFrame, groups: Sequence[BoolArray]) -> list[StudentMixture]:
        """The same of each group of these days; a group is True on its days."""
        matrix, chosen = self._design(drivers), np.array(groups, dtype=np.float64)
        times = days_since_epoch(pd.DatetimeIndex(drivers.index))
        scales = chosen * self.noise.on(drivers, matrix @ self.posterior.coefficients)
        if self.step_days > 1:
            times, step = np.unique(np.floor(times / self.step_days), return_inverse=True)
            days = [np.bincount(step, weights=group, minlength=len(times)) for group in chosen]
            scales = np.array(days) / self.step_days
        sums = np.stack([matrix[group].sum(axis=0) for group in groups])
        totals = self.posterior.predicted_totals(sums, scales, times)
        sizes = chosen.sum(axis=1)
        return [
            self._with_happenings(total, int(size), own=True)
            for total, size in zip(totals, sizes, strict=True)
        ]

    def mean_total(self, drivers: pd.DataFrame) -> StudentMixture:
        """Belief about the model's own sum over the days of `drivers`, without their departures."""
        total = self.posterior.mean_total(self._design(drivers).sum(axis=0))
        return self._with_happenings(total, len(drivers), own=False)

    def _with_happenings(self, total: StudentMixture, days: int, *, own: bool) -> StudentMixture:
        """Happenings as often as before (a compound Poisson count); `own`: those of these days as well."""
        variance = self.rare_variance_per_day * days * (days / self.n + (1.0 if own else 0.0))
        return total.moved(add=self.rare_kwh_per_day * days).widened(variance)

    def effect_total(self, term: str, drivers: pd.DataFrame) -> StudentMixture | None:
        """Belief about one term's share of the total over `drivers`; None when the form lacks it."""
        if term not in self.columns:
            return None
        alone = np.array([name == term for name in self.columns])
        return self.posterior.mean_total(self._design(drivers).sum(axis=0) * alone)

    def published_intervals(self, drivers: pd.DataFrame, confidence: float) -> tuple[PublishedInterval, ...]:
        """What the published formulas give for the total over `drivers`, on this model's own form."""
        free = [
            n
            for n, name in enumerate(self.columns)
            if not name.startswith(("season:", "year:", "weeks:", "twilight")) and self.matrix[:, n].any()
        ]
        later, later_times = self._design(drivers), days_since_epoch(pd.DatetimeIndex(drivers.index))
        if self.step_days > 1:
            later, later_times, _ = self._by_step(later, later_times)
        index = pd.DatetimeIndex(self.fitted.index)
        return published_intervals(
            (self.fitted + self.residuals).to_numpy(dtype=np.float64),
            self.matrix[:, free],
            days_since_epoch(index) / self.step_days,
            later[:, free],
            later_times,
            step_days=self.step_days,
            confidence=confidence,
        )

    def range_findings(self, drivers: pd.DataFrame) -> tuple[Finding, ...]:
        """Drivers of other days that leave the range this model has seen."""
        return tuple(range_findings(self.known, drivers, self.columns))

    def beyond_weather(self, drivers: pd.DataFrame) -> pd.Series:
        """What the model expects of each day for the degrees colder or warmer than any day it has seen."""
        if "temperature_c" not in drivers or not any(c.startswith(("heat:", "cool:")) for c in self.columns):
            return pd.Series(0.0, index=drivers.index)
        seen = self.known["temperature_c"]
        within = drivers.assign(temperature_c=drivers["temperature_c"].clip(seen.min(), seen.max()))
        return self.expected(drivers) - self.expected(within)

    def unknown_share(self, drivers: pd.DataFrame) -> float:
        """Share of days on which a driver of the form is not known and its usual value is taken."""
        return float((~np.isfinite(design(drivers, self.columns)).all(axis=1)).mean())

    def _by_step(self, matrix: FloatArray, times: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Rows, times and days of spans as long as a bill, cut from the days."""
        steps, code = np.unique(np.floor(times / self.step_days), return_inverse=True)
        rows = np.zeros((len(steps), matrix.shape[1]))
        np.add.at(rows, code, matrix)
        return rows, steps, np.bincount(code).astype(np.float64)

    def _design(self, drivers: pd.DataFrame) -> FloatArray:
        return completed(design(drivers, self.columns), drivers, self.known, self.columns)


def completed(
    matrix: FloatArray, drivers: pd.DataFrame, known: pd.DataFrame, columns: tuple[str, ...]
) -> FloatArray:
    """`matrix` with unknown drivers at their mean over known days of the same kind, or over all."""
    if np.isfinite(matrix).all():
        return matrix
    table = pd.DataFrame(design(known, columns), index=known.index)
    by_kind = table.groupby(known["day_type"].to_numpy()).mean()
    usual = by_kind.reindex(drivers["day_type"].to_numpy()).to_numpy()
    usual = np.where(np.isfinite(usual), usual, table.mean().to_numpy())
    return np.where(np.isfinite(matrix), matrix, usual)


def days_since_epoch(index: pd.DatetimeIndex) -> FloatArray:
    return np.asarray((index - pd.Timestamp("1970-01-01")) / pd.Timedelta(days=1), dtype=np.float64)
