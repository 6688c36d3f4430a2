"""A sample of loggers carried to all the places of their usage group."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.savings.combine import combine, residual_correlation

FloatArray = npt.NDArray[np.float64]

LEAST_LOGGERS = 2


@dataclass(frozen=True)
class Sample:
    """A usage group: `logged_kw` is each logger's connected load, of `places` places drawn at random."""

    name: str
    places: int
    connected_kw: float
    logged_kw: Mapping[str, float]

    @property
    def expansion(self) -> float:
        """The group's connected load over that of its loggers' places."""
        return self.connected_kw / sum(self.logged_kw.values())

    def among(self, known: Mapping[str, Answer]) -> "Sample":
        """The same group, carried from the loggers that have an answer."""
        kept = {m: kw for m, kw in self.logged_kw.items() if isinstance(known.get(m), Estimate)}
        return Sample(self.name, self.places, self.connected_kw, kept)


@dataclass(frozen=True, slots=True)
class PopulationUse:
    """A total of all places from a sample of loggers (kWh, or kW in a window).

    `total` holds the sampling error alone; `precision` is its half-width over the total.
    """

    total: Estimate
    per_connected_kw: float
    precision: float
    sampled: int
    places: int


@dataclass(frozen=True)
class Carried:
    """What the site proves with its samples carried, and each group's share of it, by group.

    `sampling` holds the groups' sampling error alone; `model_half_width` that of the loggers' models.
    """

    total: Answer
    groups: Mapping[str, Answer]
    sampling: Mapping[str, PopulationUse]
    model_half_width: Mapping[str, float]


def population_use(
    found: Sequence[float],
    connected_kw: Sequence[float],
    *,
    places: int,
    population_connected_kw: float,
    confidence: float,
) -> PopulationUse | CannotSay:
    """Ratio estimate: the sample's total for each connected kW, times the group's connected kW.

    `found` and `connected_kw` are by logger, of `places` drawn from at random. Variance of the ratio:
    (1 - n/N) sum((y - R x)^2) / ((n - 1) n xbar^2), Student t with n - 1 degrees of freedom (Cochran
    1977, Sampling Techniques, 3rd ed., section 6.4; from memory). A census (n = N) has no such error.
    """
    from scipy.special import stdtrit

    y, x = np.asarray(found, dtype=np.float64), np.asarray(connected_kw, dtype=np.float64)
    n = len(y)
    if n < min(LEAST_LOGGERS, places):
        return CannotSay("population", f"{n} of {places} places logged do not show how places differ")
    if (x <= 0).any() or places < n:
        return CannotSay("population", "a logger without connected load, or more loggers than places")
    ratio = float(y.sum() / x.sum())
    spread = float(np.sum((y - ratio * x) ** 2)) / max(n - 1, 1)
    error = population_connected_kw * float(np.sqrt((1 - n / places) * spread / n)) / float(x.mean())
    half = float(stdtrit(max(n - 1, 1), 0.5 + confidence / 2)) * error
    total = ratio * population_connected_kw
    return PopulationUse(
        Estimate(total, total - half, total + half, confidence, error),
        ratio,
        half / abs(total) if total else 0.0,
        n,
        places,
    )


def carried(
    answers: Mapping[str, Answer],
    residuals: Mapping[str, pd.Series],
    samples: Sequence[Sample],
    *,
    confidence: float,
    metering_half_widths: Mapping[str, float] | None = None,
    what: str = "avoided_kwh",
) -> Carried:
    """Sum over the site: loggers stand for their group by connected load, other meters for themselves.

    A logger without an answer leaves its group to the others. The loggers' model errors are carried
    and joined as meters' are; each group's sampling error comes on top. What the loggers' own errors
    add to their spread is not counted twice: of n of N places, 1 - n/N of their independent part is in
    the spread already (two-stage sampling: Cochran 1977, section 10.3; from memory).
    """
    groups = [sample.among(answers) for sample in samples]
    metering = dict(metering_half_widths or {})
    scaled, left = dict(answers), {meter for sample in samples for meter in sample.logged_kw}
    for group in groups:
        for meter in group.logged_kw:
            answer = answers[meter]
            assert isinstance(answer, Estimate)
            scaled[meter] = answer.scaled(group.expansion)
            metering[meter] = metering.get(meter, 0.0) * group.expansion
            left.discard(meter)
    for meter in left:
        del scaled[meter]
    found = {g.name: _of_group(g, answers, scaled, residuals, metering, confidence, what) for g in groups}
    silent = [f"{name}: {row.answer.why}" for name, row in found.items() if isinstance(row.answer, CannotSay)]
    whole = combine(scaled, residuals, metering_half_widths=metering, what=what)
    extra = float(np.sqrt(sum(row.extra_half_width**2 for row in found.values())))
    if silent:
        whole = CannotSay(what, "; ".join(silent))
    return Carried(
        total=_widened(whole, extra, confidence),
        groups={name: row.answer for name, row in found.items()},
        sampling={name: row.use for name, row in found.items() if isinstance(row.use, PopulationUse)},
        model_half_width={name: row.model_half_width for name, row in found.items()},
    )


@dataclass(frozen=True)
class _Group:
    answer: Answer
    use: PopulationUse | CannotSay
    model_half_width: float
    extra_half_width: float


def _of_group(
    group: Sample,
    answers: Mapping[str, Answer],
    scaled: Mapping[str, Answer],
    residuals: Mapping[str, pd.Series],
    metering: Mapping[str, float],
    confidence: float,
    what: str,
) -> _Group:
    """One group's total; its interval joins the loggers' models and the sampling."""
    meters = list(group.logged_kw)
    plain = [answers[meter] for meter in meters]
    use = population_use(
        [float(answer.estimate) for answer in plain if isinstance(answer, Estimate)],
        list(group.logged_kw.values()),
        places=group.places,
        population_connected_kw=group.connected_kw,
        confidence=confidence,
    )
    if isinstance(use, CannotSay):
        return _Group(CannotSay(what, f"{group.name}: {use.why}"), use, 0.0, 0.0)
    model = combine({m: scaled[m] for m in meters}, residuals, metering_half_widths=metering, what=what)
    assert isinstance(model, Estimate)
    own = np.array([_error(scaled[meter]) for meter in meters])
    counted = float(own @ own) * (1 - len(meters) / group.places) * _apart([residuals[m] for m in meters])
    error = use.total.standard_error or 0.0
    kept = float(np.sqrt(max(1 - counted / error**2, 0.0))) if error > 0 else 0.0
    extra = kept * _half_width(use.total)
    return _Group(_widened(model, extra, confidence), use, _half_width(model), extra)


def _apart(residuals: Sequence[pd.Series]) -> float:
    """The independent part of the loggers' errors: one less their mean correlation."""
    if len(residuals) < LEAST_LOGGERS:
        return 0.0
    matrix = residual_correlation(residuals)
    pairs = matrix[np.triu_indices(len(matrix), 1)]
    return float(1.0 - max(pairs.mean(), 0.0))


def _error(answer: Answer) -> float:
    assert isinstance(answer, Estimate)
    return answer.standard_error or 0.0


def _half_width(answer: Answer) -> float:
    assert isinstance(answer, Estimate)
    return 0.0 if answer.low is None or answer.high is None else (answer.high - answer.low) / 2


def _widened(answer: Answer, extra_half_width: float, confidence: float) -> Answer:
    from scipy.special import ndtri

    if isinstance(answer, CannotSay) or answer.low is None or answer.high is None:
        return answer
    centre = float(answer.estimate)
    error = extra_half_width / float(ndtri(0.5 + confidence / 2))
    return Estimate(
        centre,
        centre - float(np.hypot(centre - answer.low, extra_half_width)),
        centre + float(np.hypot(answer.high - centre, extra_half_width)),
        answer.confidence,
        float(np.hypot(answer.standard_error or 0.0, error)),
    )
