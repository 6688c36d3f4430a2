"""Is the answer to daylight alive, and since when: the verdict from the days' response."""

from dataclasses import dataclass

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.base.step_changes import segment_starts
from mv.controls.daily import BoolArray
from mv.controls.daylight import (
    FEWEST_DAYS,
    HIGH_SUN_DEG,
    LEAST_DEPTH,
    NEAR_TOP,
    OFTEN,
    SELDOM,
    Response,
    burns_full,
    usual_scatter,
)
from mv.controls.verdicts import STALE_DAYS, cannot_tell, day_date

RUN_PENALTY = 2.5  # squared-error units a run of days must gain; common practice, no source
SIDE_DAYS = 14  # either side of a change, within which the season hardly moves; no source
SIDE_DEGREES = 6.0  # difference of sun elevation that still compares; common practice, no source
CLEAR_OF_SCATTER = 2.0  # of what days differ by once lamps burn alike, which the falls must exceed; no source
SURE = 1e-3  # chance of so many days without response had the control been alive; no source


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


def _burns_full(response: Response, agreed_full: float | None) -> bool:
    """True where lamps under the sun are near the highest level known. Lamps never seen without sun may
    always be dimmed: the level agreed is then the one known."""
    if not np.isfinite(response.without_sun).any() and agreed_full is not None:
        return bool(np.median(response.level) >= NEAR_TOP * agreed_full)
    return burns_full(response, response)


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


def daylight_state(
    response: Response,
    *,
    agreed_full: float | None = None,
    last_day: int | None = None,
    agreed: bool = True,
) -> DaylightState:
    """The latest state, and when it began. `agreed_full`: the full-on level agreed, as a level;
    `last_day`: of the record. Lamps that never answered, and were not `agreed` to, are taken to go on so."""
    state = _state_seen(response, agreed_full)
    if state.alive is False and state.changed_on is None and not agreed:
        return state
    if state.alive is None or last_day is None or last_day - int(response.day[-1]) <= STALE_DAYS:
        return state
    seen = f"was last seen on {day_date(int(response.day[-1]))}, as {'alive' if state.alive else 'dead'}"
    return DaylightState(None, None, f"an answer to daylight {seen}; what it is now does not show")


def _state_seen(response: Response, agreed_full: float | None) -> DaylightState:
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
    if not _burns_full(response, agreed_full) and not _as_without_sun(response, agreed_full):
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
    if not _surely_changed(before, after) or not burns_full(after, before) or not _alike(after, before):
        return None
    day = int(after.day[0])
    return DaylightState(False, day, f"lamps that fell with the sun have burnt alike since {day_date(day)}")


def _alike(after: Response, before: Response) -> bool:
    """True where days differ by less than they used to fall: else the falls were not the sun's doing."""
    fall = float(np.median(before.depth[before.answers]))
    return fall > CLEAR_OF_SCATTER * usual_scatter(np.diff(after.depth))


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
