"""Do the lamps answer to daylight? Told from lamps that are wholly on while the sun is up."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from mv.base.estimate import CannotSay, Estimate
from mv.base.setting_records import SettingFinding
from mv.base.step_changes import segment_starts
from mv.controls.daily import NO_DAYS, BoolArray, Daily, FloatArray
from mv.controls.month_record import MonthView
from mv.controls.verdicts import cannot_tell, day_date

RESPONSE = 0.04  # fraction of the level without sun by which lamps fall; common practice, no source
NEAR_TOP = 0.85  # of the highest level known: lamps that are not dimmed; common practice, no source
LEAST_DEPTH = 0.02  # mean fall on such a day: a coarse meter's lowest readings alone are none; no source
OFTEN = 0.30  # share of sunny-enough days with a response that shows a live control; no source
SELDOM = 0.10  # share at or below which it is not seen to work; no source
FEWEST_DARK = 2  # days of a month that show lamps on without sun; common practice, no source
FEWEST_DAYS = 5  # days with lamps wholly on under the sun; common practice, no source
HIGH_SUN_DEG = 20.0  # elevation that any daylit zone answers to; common practice, no source
RUN_PENALTY = 2.5  # squared-error units a run of days must gain; common practice, no source
SIDE_DAYS = 14  # either side of a change, within which the season hardly moves; no source
SIDE_DEGREES = 6.0  # difference of sun elevation that still compares; common practice, no source
SURE = 1e-3  # chance of so many days without response had the control been alive; no source


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
    later = None
    borrowed: list[float | None] = []
    for view in reversed(views):
        own = view.dark_level
        borrowed.append(own if own is not None else later)
        answer = month_answer(view)
        if answer is not None and own is not None:
            later = own if answer else None
    parts = [_month_response(v, level) for v, level in zip(views, reversed(borrowed), strict=True)]
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


def _month_response(view: MonthView, dark_level: float | None) -> Response:
    bright, low, sun = (view.daily[name] for name in ("bright", "bright_low", "bright_sun"))
    common = np.intersect1d(np.intersect1d(bright.day, low.day), sun.day)
    reference, noise = _reference(view, common, dark_level)
    if reference is None:
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
    view: MonthView, days: np.ndarray, dark_level: float | None
) -> tuple[FloatArray | None, float]:
    """Level without sun on (or nearest to) each day, and how far its own low readings fall."""
    dark, any_on = view.daily["dark"], view.daily["on_any"]
    if len(dark) >= FEWEST_DARK:
        nearest = np.abs(dark.day[None, :] - days[:, None]).argmin(axis=1) if len(days) else days
        low = view.daily.get("dark_low")
        fall = 0.0
        if low is not None and len(low) >= 2:
            fall = float(np.median(1.0 - low.value / np.median(dark.value)))
        return dark.value[nearest.astype(int)], 1.5 * max(fall, 0.0)
    if not len(any_on):
        return None, 0.0
    if dark_level is not None:
        top = float(np.quantile(any_on.value, 0.9))
        return np.full(len(days), top if top > 1.02 * dark_level else dark_level), 0.0
    low_sun = view.daily.get("low_sun", NO_DAYS)
    if len(low_sun) >= 3 and len(days):
        nearest = np.abs(low_sun.day[None, :] - days[:, None]).argmin(axis=1)
        return low_sun.value[nearest], 0.0
    return np.full(len(days), float(np.quantile(any_on.value, 0.9))), 0.0


def month_answer(view: MonthView) -> bool | None:
    """Whether the month shows a response; None where it does not say."""
    response = _month_response(view, view.dark_level)
    if len(response) < FEWEST_DAYS:
        return None
    share = float(response.answers.mean())
    if share >= OFTEN:
        return True
    high = float(response.sun.max()) >= HIGH_SUN_DEG
    compared = view.dark_level is not None or len(view.daily.get("low_sun", NO_DAYS)) >= 3
    full = _burns_full(response, response)
    return False if share <= SELDOM and high and compared and full else None


def _burns_full(now: Response, known: Response) -> bool:
    """True where lamps under the sun are near the highest level known: not dimmed as far as they go."""
    return float(np.median(now.level)) >= NEAR_TOP * float(np.quantile(known.top, 0.9))


def _as_without_sun(response: Response, agreed_full: float | None) -> bool:
    """True where lamps under the sun burn as they did without it by then, or at the level agreed.

    A full-on level that was changed later does not matter then.
    """
    without = np.where(np.isfinite(response.without_sun), response.without_sun, agreed_full or np.nan)
    known = np.isfinite(without)
    if known.sum() < max(FEWEST_DAYS, 0.5 * len(response)):
        return False
    fallen = 1.0 - response.level[known] / without[known]
    return float(np.median(fallen)) <= LEAST_DEPTH


def runs_of_response(response: Response) -> list[int]:
    """Starts of the runs of days with a common rate of response."""
    return segment_starts(
        response.answers.astype(np.float64), penalty=RUN_PENALTY, min_length=min(4, max(len(response), 1))
    )


@dataclass(frozen=True, slots=True)
class DaylightState:
    """Alive now or not; `changed_on` is the first day of the present state, None if never other."""

    alive: bool | None
    changed_on: int | None
    why: str


def daylight_state(response: Response, *, agreed_full: float | None = None) -> DaylightState:
    """The latest state, and when it began. `agreed_full`: the full-on level agreed, as a level."""
    if len(response) < FEWEST_DAYS:
        return DaylightState(None, None, "lamps were too seldom wholly on under the sun to see a response")
    dead_from = _dead_from(response)
    if dead_from is not None:
        return dead_from
    share = float(response.answers.mean())
    days = f"{100 * share:.0f} %"
    alive_from = _alive_from(response)
    if alive_from is not None:
        return alive_from
    if share >= OFTEN or _recent_answers(response):
        return DaylightState(True, None, f"lamps fall with the sun on {days} of days with lamps wholly on")
    if share > SELDOM:
        why = f"lamps fall with the sun on {days} of days: neither clearly alive nor dead"
        return DaylightState(None, None, why)
    if float(np.quantile(response.sun, 0.9)) < HIGH_SUN_DEG:
        why = f"the sun was hardly ever above {HIGH_SUN_DEG:.0f} degrees while lamps were wholly on"
        return DaylightState(None, None, why)
    if not _burns_full(response, response) and not _as_without_sun(response, agreed_full):
        why = (
            "lamps hardly ever fall with the sun, but under it they burn well below the highest level known: "
            "a dimming that never lets go is not excluded"
        )
        return DaylightState(None, None, why)
    return DaylightState(False, None, "lamps that are wholly on burn alike with and without sun")


def _recent_answers(response: Response) -> bool:
    """A share that is middling over the year but alive whenever the sun was high."""
    high = response.sun >= max(HIGH_SUN_DEG, float(np.quantile(response.sun, 0.6)))
    return bool(high.sum() >= FEWEST_DAYS and response.answers[high].mean() >= OFTEN)


def _dead_from(response: Response) -> DaylightState | None:
    """The last run if it shows no response at sun heights that used to bring one."""
    start = _last_run(response, response.answers)
    if start == 0 or start >= len(response):
        return None
    before, after = response.part(slice(0, start)), response.part(slice(start, None))
    if after.answers.mean() > SELDOM or not before.answers.any():
        return None
    if not _surely_changed(before, after) or not _burns_full(after, before):
        return None
    day = int(after.day[0])
    return DaylightState(False, day, f"lamps that fell with the sun have burnt alike since {day_date(day)}")


def _alive_from(response: Response) -> DaylightState | None:
    """The last run if it answers at sun heights that used to bring no response."""
    start = _last_run(response, ~response.answers)
    if start == 0 or start >= len(response):
        return None
    before, after = response.part(slice(0, start)), response.part(slice(start, None))
    rate = float(after.answers.mean())
    if before.answers.mean() > SELDOM or rate < OFTEN or len(after) < FEWEST_DAYS:
        return None
    if not _surely_changed(_reversed(after), _reversed(before)):
        return None
    day = int(after.day[0])
    return DaylightState(True, day, f"lamps that burnt alike have fallen with the sun since {day_date(day)}")


def _reversed(response: Response) -> Response:
    """The same days, the last first."""
    return response.part(slice(None, None, -1))


def _surely_changed(answering: Response, silent: Response) -> bool:
    """True where silence cannot be the season's: at the same height of the sun, or side by side.

    `answering` runs up to `silent`. Overcast days come in spells: side by side, two count as one.
    """
    floor = float(np.quantile(answering.sun[answering.answers], 0.3))
    rate = float(answering.answers[answering.sun >= floor].mean())
    comparable = int((silent.sun >= floor).sum())
    if rate >= OFTEN and comparable >= 4 and (1.0 - min(rate, 0.95)) ** comparable <= SURE:
        return True
    last, first = answering.part(slice(-SIDE_DAYS, None)), silent.part(slice(0, SIDE_DAYS))
    rate = float(last.answers.mean())
    near = np.abs(first.sun - float(np.mean(last.sun))) <= SIDE_DEGREES
    days = int(near.sum())
    return days >= 4 and (1.0 - min(rate, 0.95)) ** (days / 2.0) <= SURE


def _last_run(response: Response, state: BoolArray) -> int:
    """Start of the last stretch in which `state` is rare, by runs of days joined while it stays so."""
    starts = runs_of_response(response)
    ends = [*starts[1:], len(response)]
    at = len(starts)
    while at > 0 and state[starts[at - 1] : ends[at - 1]].mean() <= SELDOM:
        at -= 1
    return starts[at] if at < len(starts) else len(response)


def daylight_finding(
    zone: str, agreed: bool | None, state: DaylightState, confidence: float
) -> SettingFinding:
    """The verdict on daylight dimming."""
    if state.alive is None:
        return cannot_tell(zone, "daylight_dimming", agreed, state.why)
    observed = Estimate(state.alive, None, None, confidence)
    if state.alive == agreed or (agreed is None and state.changed_on is None):
        return SettingFinding(zone, "daylight_dimming", agreed, observed, "kept", None, state.why)
    since = None if state.changed_on is None else day_date(state.changed_on)
    why = state.why if since else f"{state.why}; it was never seen as agreed"
    earlier = Estimate(not state.alive, None, None, confidence) if since else None
    return SettingFinding(zone, "daylight_dimming", agreed, observed, "moved", since, why, None, earlier)


def dims_in(views: list[MonthView]) -> bool:
    """True where lamps ever answer to daylight, so that levels must be read without sun."""
    answers = [answer for answer in map(month_answer, views) if answer is not None]
    return sum(answers) >= (2 if len(answers) > 2 else 1)


def monthly_depth(view: MonthView) -> CannotSay | float:
    """Mean fall of wholly-on lamps under the sun in the month, as a fraction."""
    response = _month_response(view, view.dark_level)
    if len(response) < FEWEST_DAYS:
        return CannotSay("daylight response", "too few days with lamps wholly on under the sun")
    return float(np.mean(response.depth))
