"""Steps and slopes in the residuals of the expectation, with false alarms kept rare.

The statistic of a step at any day is the fall in weighted squares it brings over the long-run
variance (AR(1)), the sup-F idea of Andrews 1993 (Econometrica 61(4)) with autocorrelation allowed
for. The limit stands for one look at the whole past, repeated every month for a year: it is far
above the 1 % point of one look (about 13 for one parameter; from memory of Andrews' table 1).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from mv.drift.cusum import tabular_cusum
from mv.drift.expectation import Design, Fit, FloatArray, means_a_day, robust_fit
from mv.drift.shapes import Shape, change_columns, shapes

STEP_LIMIT = 36.0  # squared long-run deviations a step must gain; set by trial on quiet years, no source
YOUNG_LIMIT = 70.0  # the same in a step's first weeks, and for a change with the sun alone; no source
LESS_DAYS = 49  # days of less energy before it is told: people may be on holiday; no source
SLOPE_LIMIT = 36.0  # the same for a slope; no source
LEAST_SHARE = 0.04  # of mean daily energy; smaller steps are not reported; common practice, no source
FIRST_DAYS = 28  # days before a step that tell what was usual; common practice, no source
SUN_FIRST_DAYS = 60  # the same for the answer to the sun, which needs a part of a season; no source
LAST_DAYS = 7  # days after a step that make it one; common practice, no source
CUSUM_ALLOWANCE, CUSUM_LIMIT = 0.5, 8.0  # long-run deviations: k for a shift of one, h by trial; no source
MOST_STEPS = 4  # steps looked for in a period; common practice, no source
SURE = 4.0  # standard errors that a step must be away from none in the joint fit; no source
SLOPE_DAYS = 350  # days before a line is told: over less than a year it takes part of the season; no source
NEAR_DAYS = 28  # days on either side in which a step must show by itself; common practice, no source
CLEARER = 9.0  # squared deviations by which a day must be better than the one told; no source
SHOWN_NEAR = 0.5  # of its size that it must show there: a season bent wrongly shows little; no source
PARTLY = 0.25  # of a step that a day must show to be the one on which it began; no source


@dataclass(frozen=True)
class Step:
    """A change of level: index of its first day, its shape, kWh a day on the mean of all days since.

    `kwh_a_day` is what it changes on the days of its shape. `known`: its day came from elsewhere.
    """

    at: int
    shape: Shape
    kwh_a_day: float
    mean_kwh_a_day: float
    mean_error: float
    statistic: float
    known: bool = False


@dataclass(frozen=True)
class Search:
    """The changes in order of time, the fit with them, and a slope if one is left."""

    steps: tuple[Step, ...]
    fit: Fit
    expected_before: FloatArray
    slope_kwh_a_year: float
    slope_error: float
    slope_statistic: float

    @property
    def slope_wins(self) -> bool:
        """True where a straight line tells the period better than steps do."""
        return self.slope_statistic >= SLOPE_LIMIT


@dataclass(frozen=True)
class _Found:
    at: int
    shape: Shape
    size: float
    statistic: float
    known: bool = False


_Scanned = tuple[int, float, float]  # a step's first day, statistic and size


def search(plan: Design, known: Sequence[tuple[int, int, int]] = ()) -> Search:
    """Adds one step at a time as long as each is sure and large enough to matter.

    `known`: windows of days (index of the first, of the day told, and of the last) in each of which
    something is known to have changed; each is dated within its window, and steps are looked for in
    what these leave.
    """
    found = [_known_step(plan, first, told, last) for first, told, last in known]
    given = len(found)
    while True:
        terms = _with_changes(plan, found)
        fit = robust_fit(terms, plan.energy, plan.days)
        step = _best_step(plan, terms, found) if len(found) - given < MOST_STEPS else None
        spell = () if step is not None or found else _spell(plan, terms)
        if step is None and not spell:
            break
        found = _moved_best(plan, [*found, *([step] if step else spell)])
    expected = plan.terms @ fit.coefficients[: plan.terms.shape[1]]
    steps = sorted(_restated(plan, found, terms, fit), key=lambda s: s.at)
    slope = _slope(plan, found, given, fit)
    return Search(tuple(steps), fit, expected, *slope)


def _with_changes(plan: Design, found: Sequence[_Found]) -> FloatArray:
    return np.hstack([plan.terms, *(change_columns(plan, step.at) for step in found)])


def _moved_best(plan: Design, found: list[_Found]) -> list[_Found]:
    """Each step found here moved to its best day with the others given, as long as that stays apart."""
    result = list(found)
    for place, step in enumerate(found):
        others = result[:place] + result[place + 1 :]
        if step.known or not others:
            continue
        scan = _scan(
            plan,
            _with_changes(plan, others),
            shapes(plan)[step.shape],
            FIRST_DAYS,
            len(plan.energy) - LAST_DAYS,
        )
        if scan is not None and all(abs(scan[0] - s.at) >= LAST_DAYS for s in others):
            result[place] = _Found(scan[0], step.shape, scan[2], scan[1])
    return result


def _known_step(plan: Design, first: int, told: int, last: int) -> _Found:
    """The day within a window on which the energy changed most clearly; its last where none did.

    The day told stands unless the energy speaks clearly for another.
    """
    n = len(plan.energy)
    best = _Found(min(last, n - 1), "all days", 0.0, 0.0, known=True)
    for shape, each in shapes(plan).items():
        scan = _scan(plan, plan.terms, each, max(first, 2), min(last, n - 2))
        if scan is not None and scan[1] > max(best.statistic, STEP_LIMIT):
            best = _Found(scan[0], shape, scan[2], scan[1], known=True)
    if best.at == told or not max(first, 2) <= told <= min(last, n - 2):
        return best
    scan = _scan(plan, plan.terms, shapes(plan)[best.shape], told, told)
    stands = scan is not None and scan[1] >= best.statistic - CLEARER
    return replace(best, at=told, statistic=scan[1], size=scan[2]) if scan and stands else best


def _best_step(plan: Design, terms: FloatArray, known: Sequence[_Found]) -> _Found | None:
    n = len(plan.energy)
    if n < FIRST_DAYS + 2 * LAST_DAYS + terms.shape[1]:
        return None
    tried = []
    for shape, each in shapes(plan).items():
        first = SUN_FIRST_DAYS if shape == "with the sun" else FIRST_DAYS
        scan = _scan(plan, terms, each, first, n - LAST_DAYS)
        tried += [] if scan is None else [_Found(scan[0], shape, scan[2], scan[1])]
    for step in sorted(tried, key=lambda s: -s.statistic):
        if step.statistic < _limit(plan, step):
            continue
        each = shapes(plan)[step.shape]
        if abs(step.size) * float(np.mean(each)) < LEAST_SHARE * float(np.mean(plan.energy)):
            continue
        apart = all(abs(step.at - s.at) >= LAST_DAYS for s in known)
        if apart and _alarmed(plan, terms, step) and _sure_together(plan, [*known, step]):
            return step
    return None


def _spell(plan: Design, terms: FloatArray) -> tuple[_Found, ...]:
    """A step and the one that undid it, where neither stands out without the other."""
    n = len(plan.energy)
    if n < FIRST_DAYS + 2 * LAST_DAYS + terms.shape[1]:
        return ()
    for shape, each in shapes(plan).items():
        pair: tuple[_Found, ...] = ()
        begun = _scan(plan, terms, each, FIRST_DAYS, n - LAST_DAYS)
        for _ in range(2):
            if begun is None:
                break
            with_one = np.column_stack([terms, _column(each, begun[0])])
            over = _scan(plan, with_one, each, FIRST_DAYS, n - LAST_DAYS)
            if over is None:
                break
            with_other = np.column_stack([terms, _column(each, over[0])])
            earlier, begun = begun, _scan(plan, with_other, each, FIRST_DAYS, n - LAST_DAYS)
            if begun is None:
                break
            pair = _pair(plan, shape, begun, over)
            if pair or begun[0] == earlier[0]:  # settled: another round would find the same
                break
        if pair:
            return pair
    return ()


def _pair(plan: Design, shape: Shape, begun: _Scanned, over: _Scanned) -> tuple[_Found, ...]:
    """The two steps in order of time, where they are apart, opposed and sure; else none."""
    if abs(begun[0] - over[0]) < LAST_DAYS:
        return ()
    pair = sorted((_Found(at, shape, size, stat) for at, stat, size in (begun, over)), key=lambda s: s.at)
    sure = all(s.statistic >= YOUNG_LIMIT for s in pair) and pair[0].size * pair[1].size < 0
    return tuple(pair) if sure and all(_sure_together(plan, order) for order in (pair, pair[::-1])) else ()


def _limit(plan: Design, step: _Found) -> float:
    """What a step's statistic must reach: more while it is young, and where only the sun bears it out.

    Less energy for a few weeks is rather a holiday season than a fault, and waits longest.
    """
    age = len(plan.energy) - step.at
    if step.size < 0 and age < LESS_DAYS:
        return float("inf")
    return YOUNG_LIMIT if age < NEAR_DAYS or step.shape == "with the sun" else STEP_LIMIT


def _sure_together(plan: Design, found: Sequence[_Found]) -> bool:
    """True where the last change stays sure, and of its sign, when all it may alter is fitted at once."""
    terms = _with_changes(plan, found)
    fit = robust_fit(terms, plan.energy, plan.days)
    step = _restated(plan, found, terms, fit)[-1]
    if step.mean_kwh_a_day * found[-1].size <= 0 or abs(step.mean_kwh_a_day) < SURE * step.mean_error:
        return False
    width = change_columns(plan, found[-1].at).shape[1]
    return _shows_near(plan, found[-1], fit.residuals + terms[:, -width:] @ fit.coefficients[-width:])


def _shows_near(plan: Design, step: _Found, left: FloatArray) -> bool:
    """True where the weeks on either side of a step differ by a good part of it.

    `left`: what all else leaves of each day, the step itself not taken out.
    """
    each, at = shapes(plan)[step.shape], step.at
    weight = each * (plan.energy > 0)
    before, after = slice(max(at - NEAR_DAYS, 0), at), slice(at, at + NEAR_DAYS)
    if min(weight[before].sum(), weight[after].sum()) <= 0:
        return True
    means = [float(np.average(left[part], weights=weight[part])) for part in (before, after)]
    size = step.size * float(np.average(each[after], weights=weight[after]))
    return (means[1] - means[0]) / size >= SHOWN_NEAR if size else False


def _alarmed(plan: Design, terms: FloatArray, step: _Found) -> bool:
    """True where the running chart, started afresh at the step, raises an alarm of its own.

    The expectation is that of the days before and after with the step taken out; deviations are in
    long-run units, so that wandering residuals do not add up to an alarm.
    """
    column = _column(shapes(plan)[step.shape], step.at)
    fit = robust_fit(np.column_stack([terms, column]), plan.energy, plan.days)
    with_step = fit.residuals + step.size * column
    chart = tabular_cusum(
        with_step[step.at :] / fit.long_run_noise,
        target=0.0,
        allowance=CUSUM_ALLOWANCE,
        limit=CUSUM_LIMIT,
    )
    return chart.first_alarm is not None


def _column(each: FloatArray, at: int) -> FloatArray:
    return np.where(np.arange(len(each)) >= at, each, 0.0)


def _scan(plan: Design, terms: FloatArray, each: FloatArray, first: int, last: int) -> _Scanned | None:
    """Best day from first to last for a step of a shape, its statistic and size.

    Sums from the end give every day's step at once: S'y, S'S and the part the terms already hold.
    """
    if last < first:
        return None
    weights = np.ones(len(plan.energy))
    at, gain, size, fit = first, 0.0, 0.0, None
    for _ in range(3):
        root = np.sqrt(weights)
        basis, _ = np.linalg.qr(terms * root[:, None])
        y = plan.energy * root
        y = y - basis @ (basis.T @ y)
        step = each * root
        from_end = np.cumsum((basis * step[:, None])[::-1], axis=0)[::-1]
        power = np.cumsum((step**2)[::-1])[::-1] - (from_end**2).sum(axis=1)
        moment = np.cumsum((step * y)[::-1])[::-1]
        usable = power > 1e-3 * max(float(np.sum(step**2)), 1e-12)
        gains = np.where(usable, moment**2 / np.where(usable, power, 1.0), 0.0)[first : last + 1]
        former, at = at, first + int(np.argmax(gains))
        if not usable[at]:
            return None
        gain, size = float(gains[at - first]), float(moment[at] / power[at])
        if fit is not None and at == former:  # settled: the fit and its weights would be the same
            break
        fit = robust_fit(np.column_stack([terms, _column(each, at)]), plan.energy, plan.days)
        weights = fit.weights
    assert fit is not None
    return at, gain / fit.long_run_noise**2, size


def _restated(plan: Design, found: Sequence[_Found], terms: FloatArray, fit: Fit) -> list[Step]:
    """Every change with its mean a day from the joint fit, and the day on which it partly showed."""
    widths = [(step.at, change_columns(plan, step.at).shape[1]) for step in found]
    steps = []
    for step, (a_day, error) in zip(found, means_a_day(plan, widths, terms, fit), strict=True):
        each = shapes(plan)[step.shape]
        share = float(np.mean(each[step.at :])) if step.shape in ("open days", "closed days") else 1.0
        on_its_days = a_day / max(share, 0.05)
        at = _first_partly(plan, step.at, on_its_days, fit)
        steps.append(Step(at, step.shape, on_its_days, a_day, error, step.statistic, step.known))
    return steps


def _first_partly(plan: Design, at: int, size: float, fit: Fit) -> int:
    """The day before, where it already shows a part of the step: a change in the middle of a day."""
    before = at - 1
    if before < 1 or (plan.days[at] - plan.days[before]).days != 1 or size == 0:
        return at
    shown = float(fit.residuals[before]) / size
    sure = abs(float(fit.residuals[before])) > 3.0 * fit.noise
    return before if sure and PARTLY <= shown <= 1.5 else at


def _slope(plan: Design, found: Sequence[_Found], given: int, with_steps: Fit) -> tuple[float, float, float]:
    """kWh a day gained over a year by a straight line, its error and statistic.

    What is known to have changed stays in; against steps found here, the line counts only where it
    leaves less unexplained than they do.
    """
    terms = _with_changes(plan, found[:given])
    years = np.asarray((plan.days - plan.days[0]).days, dtype=np.float64) / 365.25
    both = np.column_stack([terms, years - years.mean()])
    fit = robust_fit(both, plan.energy, plan.days)
    cross = np.linalg.pinv((both * fit.weights[:, None]).T @ both)
    error = fit.long_run_noise * float(np.sqrt(max(cross[-1, -1], 1e-18)))
    size = float(fit.coefficients[-1])
    small = abs(size) * float(years[-1]) < LEAST_SHARE * float(np.mean(plan.energy))
    small |= float(years[-1]) < SLOPE_DAYS / 365.25
    worse = len(found) > given and fit.noise > with_steps.noise
    return size, error, 0.0 if small or worse else (size / error) ** 2
