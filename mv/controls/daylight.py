"""Do the lamps answer to daylight? Told from lamps that are wholly on while the sun is up."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from mv.controls.daily import NO_DAYS, BoolArray, Daily, FloatArray
from mv.controls.month_record import MonthView

RESPONSE = 0.04  # fraction of the level without sun by which lamps fall; common practice, no source
NOISE_SHARE = 1.5  # of the fall without sun, which a fall under it must exceed; common practice, no source
MOST_NOISE = 0.5  # of the level; lamps that vary by more without sun hide what they do under it; no source
NEAR_TOP = 0.85  # of the highest level known: lamps that are not dimmed; common practice, no source
LEAST_DEPTH = 0.02  # mean fall on such a day: a coarse meter's lowest readings alone are none; no source
OFTEN = 0.30  # share of sunny-enough days with a response that shows a live control; no source
SELDOM = 0.10  # share at or below which it is not seen to work; no source
USUAL_SCATTER = 0.8  # quantile of differences between days that follow each other; no source
FEWEST_NIGHTS = 10  # days with lamps on without sun that tell how they vary; common practice, no source
FEWEST_DARK = 2  # days of a month that show lamps on without sun; common practice, no source
FEWEST_DAYS = 5  # days with lamps wholly on under the sun; common practice, no source
HIGH_SUN_DEG = 20.0  # elevation that any daylit zone answers to; common practice, no source


@dataclass(frozen=True)
class Response:
    """By day: `depth` = mean fall under the sun, `answers` = a clear fall, `sun` = its elevation,
    `level` = lamps on under the sun, `top` = the highest level the month or the dark shows,
    `without_sun` = what lamps showed without sun that month, else last before it; NaN if never."""

    day: np.ndarray
    depth: FloatArray
    answers: BoolArray
    sun: FloatArray
    level: FloatArray
    top: FloatArray
    without_sun: FloatArray

    def __len__(self) -> int:
        return len(self.day)

    def part(self, rows: slice | BoolArray) -> "Response":
        """Some of the days."""
        return Response(
            self.day[rows],
            self.depth[rows],
            self.answers[rows],
            self.sun[rows],
            self.level[rows],
            self.top[rows],
            self.without_sun[rows],
        )


def daily_response(views: list[MonthView]) -> Response:
    """Fall of wholly-on lamps under the sun below their own level without sun, a day.

    A month without dark hours borrows the level from the months before it, else after it.
    """
    scatter = night_scatter(views)
    later = None
    borrowed: list[float | None] = []
    for view in reversed(views):
        own = view.dark_level
        borrowed.append(own if own is not None else later)
        answer = month_answer(view, scatter)
        if answer is not None and own is not None:
            later = own if answer else None
    parts = [_month_response(v, level, scatter) for v, level in zip(views, reversed(borrowed), strict=True)]
    known = pd.Series([_median_dark(view) for view in views], dtype=np.float64).ffill().to_numpy()
    without_sun: FloatArray = np.repeat(known, [len(part) for part in parts])
    return Response(
        np.concatenate([part.day for part in parts]),
        np.concatenate([part.depth for part in parts]),
        np.concatenate([part.answers for part in parts]),
        np.concatenate([part.sun for part in parts]),
        np.concatenate([part.level for part in parts]),
        np.concatenate([part.top for part in parts]),
        without_sun,
    )


def _month_response(view: MonthView, dark_level: float | None, scatter: float) -> Response:
    bright, low, sun = (view.daily[name] for name in ("bright", "bright_low", "bright_sun"))
    common = np.intersect1d(np.intersect1d(bright.day, low.day), sun.day)
    reference, noise = _reference(view, common, dark_level, scatter)
    if reference is None or noise > MOST_NOISE:
        common = common[:0]
        reference = np.ones(0)
    lit = reference > 0.0  # a day without light shows no answer to the sun
    common, reference = common[lit], reference[lit]
    mean, deep, elevation = (_at(series, common) for series in (bright, low, sun))
    depth = 1.0 - mean / reference
    answers = (1.0 - deep / reference > max(RESPONSE, noise)) & (depth > LEAST_DEPTH)
    any_on = view.daily["on_any"]
    own = len(view.daily["dark"]) >= FEWEST_DARK or dark_level is None  # no level of other months
    if own and _full_on_stepped(common, deep, answers, any_on, view.daily["dark"].day):
        answers = np.zeros_like(answers)
    top = float(np.max(any_on.value)) if len(any_on) else 0.0
    highest = np.full(len(common), max(top, view.dark_level or 0.0))
    without_sun = np.full(len(common), _median_dark(view))
    return Response(common, depth, answers, elevation, mean, highest, without_sun)


def _full_on_stepped(
    days: np.ndarray, deep: FloatArray, answers: BoolArray, any_on: Daily, dark: np.ndarray
) -> bool:
    """True where the month only parts into days at one level and days at another, before and after.

    Lamps that burn at one level all day, and from some day on at a higher one, were reset where no `dark`
    day shows them higher before: the month's highest level is no measure of the days before.
    """
    if not answers.any() or answers.all():
        return False
    lower, higher = days[answers], days[~answers]
    if lower.max() > higher.min() and higher.max() > lower.min():
        return False
    if ((dark >= lower.min()) & (dark <= lower.max())).any():
        return False
    own = np.interp(lower, any_on.day, any_on.value)
    steady = own - deep[answers] <= RESPONSE * own
    level = deep[answers]
    return bool(steady.all() and np.ptp(level) <= RESPONSE * float(np.median(level)))


def _median_dark(view: MonthView) -> float:
    dark = view.daily["dark"]
    return float(np.median(dark.value)) if len(dark) >= FEWEST_DARK else float("nan")


def _at(series: Daily, days: np.ndarray) -> FloatArray:
    return series.value[np.searchsorted(series.day, days)]


def _reference(
    view: MonthView, days: np.ndarray, dark_level: float | None, scatter: float
) -> tuple[FloatArray | None, float]:
    """Level without sun on (or nearest to) each day, and how far its own low readings fall.

    A month without dark hours is held to its own highest days: what lamps vary by from night to night
    in other months (`scatter`) is then no fall under the sun.
    """
    dark, any_on = view.daily["dark"], view.daily["on_any"]
    if len(dark) >= FEWEST_DARK:
        nearest = np.abs(dark.day[None, :] - days[:, None]).argmin(axis=1) if len(days) else days
        return dark.value[nearest.astype(int)], NOISE_SHARE * _dark_fall(view)
    if not len(any_on):
        return None, 0.0
    noise = NOISE_SHARE * scatter
    if dark_level is not None:
        top = float(np.quantile(any_on.value, 0.9))
        return np.full(len(days), top if top > 1.02 * dark_level else dark_level), noise
    low_sun = view.daily.get("low_sun", NO_DAYS)
    if len(low_sun) >= 3 and len(days):
        nearest = np.abs(low_sun.day[None, :] - days[:, None]).argmin(axis=1)
        return low_sun.value[nearest], noise
    return np.full(len(days), float(np.quantile(any_on.value, 0.9))), noise


def night_scatter(views: list[MonthView]) -> float:
    """How far lamps without sun differ from one day to the next, as a fraction; 0 where too few show it.

    By differences, so that a level that was changed does not count.
    """
    nights = [view.daily["dark"] for view in views if len(view.daily["dark"]) >= FEWEST_DARK]
    if sum(len(dark) for dark in nights) < FEWEST_NIGHTS:
        return 0.0
    apart = [np.diff(dark.value) / max(float(np.median(dark.value)), 1e-9) for dark in nights]
    return usual_scatter(np.concatenate(apart))


def usual_scatter(differences: FloatArray) -> float:
    """How far days that follow each other mostly differ, of their differences; 0 without any."""
    return float(np.quantile(np.abs(differences), USUAL_SCATTER)) if len(differences) else 0.0


def _dark_fall(view: MonthView) -> float:
    """How far the month's low readings without sun fall below its level without sun, as a fraction."""
    dark, low = view.daily["dark"], view.daily.get("dark_low")
    if low is None or len(low) < FEWEST_DARK or len(dark) < FEWEST_DARK:
        return 0.0
    return max(float(np.median(1.0 - low.value / np.median(dark.value))), 0.0)


def unsteady_without_sun(view: MonthView) -> float | None:
    """How far a month's lamps without sun fall below their level; None in a month without dark hours."""
    return NOISE_SHARE * _dark_fall(view) if len(view.daily["dark"]) >= FEWEST_DARK else None


def steady_without_sun(months: list[float]) -> bool:
    """True where months with dark opening hours were seen, and their readings held steady then."""
    return bool(months) and float(np.median(months)) <= RESPONSE


def month_answer(view: MonthView, scatter: float = 0.0) -> bool | None:
    """Whether the month shows a response; None where it does not say. `scatter`: of nights, in all months."""
    response = _month_response(view, view.dark_level, scatter)
    if len(response) < FEWEST_DAYS:
        return None
    share = float(response.answers.mean())
    if share >= OFTEN:
        return True
    high = float(response.sun.max()) >= HIGH_SUN_DEG
    compared = view.dark_level is not None or len(view.daily.get("low_sun", NO_DAYS)) >= 3
    full = burns_full(response, response)
    return False if share <= SELDOM and high and compared and full else None


def burns_full(now: Response, known: Response) -> bool:
    """True where lamps under the sun are near the highest level known: not dimmed as far as they go."""
    return float(np.median(now.level)) >= NEAR_TOP * float(np.quantile(known.top, 0.9))


def dims_in(views: list[MonthView]) -> bool:
    """True where lamps ever answer to daylight, so that levels must be read without sun."""
    scatter = night_scatter(views)
    answers = [answer for view in views if (answer := month_answer(view, scatter)) is not None]
    return sum(answers) >= (2 if len(answers) > 2 else 1)
