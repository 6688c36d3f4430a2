"""Steps and slopes in the residuals of the expectation, with false alarms kept rare.

The statistic of a step at any day is the fall in weighted squares it brings over the long-run
variance (AR(1)), the sup-F idea of Andrews 1993 (Econometrica 61(4)) with autocorrelation allowed
for. The limit stands for one look at the whole past, repeated every month for a year: it is far
above the 1 % point of one look (about 13 for one parameter; from memory of Andrews' table 1).
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from mv.drift.cusum import tabular_cusum
from mv.drift.expectation import Design, Fit, FloatArray, robust_fit

Shape = Literal["all days", "open days", "closed days"]
STEP_LIMIT = 30.0  # squared long-run deviations a step must gain; set by trial on quiet years, no source
SLOPE_LIMIT = 30.0  # the same for a slope; no source
LEAST_SHARE = 0.05  # of mean daily energy; smaller steps are not reported; common practice, no source
FIRST_DAYS = 14  # days before a step that tell what was usual; common practice, no source
LAST_DAYS = 7  # days after a step that make it one; common practice, no source
CUSUM_ALLOWANCE, CUSUM_LIMIT = 0.5, 8.0  # long-run deviations: k for a shift of one, h by trial; no source
SUN_TERMS = ("sun_open_hours", "sun_motion_hours")  # drivers that daylight dimming answers to
FEWEST_FOR_SUN = 40  # days after a step for its own answer to the sun; common practice, no source
MOST_STEPS = 4  # steps looked for in a period; common practice, no source


@dataclass(frozen=True)
class Step:
    """A change of level: index of the first changed day, kWh a day on the days of its shape."""

    at: int
    shape: Shape
    kwh_a_day: float
    error_kwh_a_day: float
    statistic: float


@dataclass(frozen=True)
class Search:
    """The steps found in order of time, the fit with them, and a slope if one is left."""

    steps: tuple[Step, ...]
    fit: Fit
    expected_before: FloatArray
    slope_kwh_a_year: float
    slope_error: float
    slope_statistic: float

    @property
    def slope_wins(self) -> bool:
        """True where a straight line tells the period better than the steps do."""
        return self.slope_statistic >= SLOPE_LIMIT


def search(plan: Design) -> Search:
    """Adds one step at a time as long as each is sure and large enough to matter."""
    steps: list[Step] = []
    terms = plan.terms
    fit = robust_fit(terms, plan.energy, plan.days)
    while len(steps) < MOST_STEPS:
        step = _best_step(plan, terms, steps)
        if step is None:
            break
        steps.append(step)
        terms = _with_steps(plan, steps)
        fit = robust_fit(terms, plan.energy, plan.days)
    size = plan.terms.shape[1]
    steps = [_restated(step, fit, terms, size + i) for i, step in enumerate(steps)]
    expected = plan.terms @ fit.coefficients[:size]
    slope = _slope(plan, plan.terms, against=fit if steps else None)
    return Search(tuple(sorted(steps, key=lambda s: s.at)), fit, expected, *slope)


def _with_steps(plan: Design, steps: list[Step]) -> FloatArray:
    """The expectation's terms, the steps, and last what each changed in the answer to the sun.

    A daylight control that dies does not only lift the level: the sun no longer matters. The sun is
    centred on the days after the step, so that the step stays the mean change.
    """
    columns = [plan.terms, *(_column(plan, step.at, step.shape)[:, None] for step in steps)]
    for name in SUN_TERMS:
        if name in plan.names:
            sun = plan.terms[:, plan.names.index(name)]
            for step in steps:
                after = _column(plan, step.at, step.shape) > 0
                if after.sum() >= FEWEST_FOR_SUN:
                    columns.append(np.where(after, sun - sun[after].mean(), 0.0)[:, None])
    return np.hstack(columns)


def _column(plan: Design, at: int, shape: Shape) -> FloatArray:
    column = np.zeros(len(plan.energy))
    column[at:] = _shape(plan, shape)[at:]
    return column


def _shape(plan: Design, shape: Shape) -> FloatArray:
    if shape == "all days":
        return np.ones(len(plan.energy))
    return (plan.is_open if shape == "open days" else ~plan.is_open).astype(np.float64)


def _shapes(plan: Design) -> tuple[Shape, ...]:
    share = float(np.mean(plan.is_open))
    return ("all days", "open days", "closed days") if 0.1 < share < 0.9 else ("all days",)


def _best_step(plan: Design, terms: FloatArray, known: list[Step]) -> Step | None:
    n = len(plan.energy)
    if n < FIRST_DAYS + 2 * LAST_DAYS + terms.shape[1]:
        return None
    best: Step | None = None
    for shape in _shapes(plan):
        at, statistic, size, error = _scan(plan, terms, shape)
        if best is None or statistic > best.statistic:
            best = Step(at, shape, size, error, statistic)
    if best is None or best.statistic < STEP_LIMIT:
        return None
    share = float(np.mean(_shape(plan, best.shape)))
    if abs(best.kwh_a_day) * share < LEAST_SHARE * float(np.mean(plan.energy)):
        return None
    if any(abs(best.at - s.at) < LAST_DAYS for s in known) or not _alarmed(plan, terms, best):
        return None
    return best


def _alarmed(plan: Design, terms: FloatArray, step: Step) -> bool:
    """True where the running chart, started afresh at the step, raises an alarm of its own.

    The expectation is that of the days before and after with the step taken out; deviations are in
    long-run units, so that wandering residuals do not add up to an alarm.
    """
    column = _column(plan, step.at, step.shape)
    fit = robust_fit(np.column_stack([terms, column]), plan.energy, plan.days)
    with_step = fit.residuals + step.kwh_a_day * column
    chart = tabular_cusum(
        with_step[step.at :] / fit.long_run_noise,
        target=0.0,
        allowance=CUSUM_ALLOWANCE,
        limit=CUSUM_LIMIT,
    )
    return chart.first_alarm is not None


def _scan(plan: Design, terms: FloatArray, shape: Shape) -> tuple[int, float, float, float]:
    """Best day for a step of a shape, its statistic, size and standard error."""
    n = len(plan.energy)
    steps = np.tril(np.ones((n, n))) * _shape(plan, shape)[:, None]
    window = slice(FIRST_DAYS, n - LAST_DAYS + 1)
    weights = np.ones(n)
    for _ in range(3):
        root = np.sqrt(weights)
        basis, _ = np.linalg.qr(terms * root[:, None])
        weighted = steps[:, window] * root[:, None]
        left = weighted - basis @ (basis.T @ weighted)
        y = plan.energy * root
        y = y - basis @ (basis.T @ y)
        power = np.maximum((left**2).sum(axis=0), 1e-9)
        size = left.T @ y / power
        gain = np.where(power > 1.0, size**2 * power, 0.0)
        at = int(np.argmax(gain))
        both = np.column_stack([terms, steps[:, window][:, at]])
        fit = robust_fit(both, plan.energy, plan.days)
        weights = fit.weights
    error = fit.long_run_noise / float(np.sqrt(power[at]))
    return at + FIRST_DAYS, float(gain[at]) / fit.long_run_noise**2, float(size[at]), error


def _restated(step: Step, fit: Fit, terms: FloatArray, column: int) -> Step:
    """The step with its size from the joint fit."""
    cross = np.linalg.pinv((terms * fit.weights[:, None]).T @ terms)
    error = fit.long_run_noise * float(np.sqrt(max(cross[column, column], 0.0)))
    return Step(step.at, step.shape, float(fit.coefficients[column]), error, step.statistic)


def _slope(plan: Design, terms: FloatArray, *, against: Fit | None) -> tuple[float, float, float]:
    """kWh a day gained over a year by a straight line, its error and statistic.

    Against steps, the line counts only where it leaves less unexplained than they do.
    """
    elapsed = (plan.days - plan.days[0]) / np.timedelta64(1, "D")
    years = np.asarray(elapsed, dtype=np.float64) / 365.25
    both = np.column_stack([terms, years - years.mean()])
    fit = robust_fit(both, plan.energy, plan.days)
    cross = np.linalg.pinv((both * fit.weights[:, None]).T @ both)
    error = fit.long_run_noise * float(np.sqrt(max(cross[-1, -1], 1e-18)))
    size = float(fit.coefficients[-1])
    small = abs(size) * float(years[-1]) < LEAST_SHARE * float(np.mean(plan.energy))
    worse = against is not None and fit.noise > against.noise
    return size, error, 0.0 if small or worse else (size / error) ** 2
