"""Hold time from the area under the load after the last motion.

After motion ends at t0 lamps stay at their level P_high for the hold time H and then fall to
P_low. Whatever the metering interval, the sum of (P - P_low) / (P_high - P_low) x minutes from t0
until the next motion is H: whole intervals are enough, no edge need be resolved. Both levels are
taken beside the event, so trim, daylight and failed lamps cancel. Own derivation. On a fine grid the
readings just before and after the fall do the same more sharply (`fall_edge`). Where several
sensors hold parts of the zone the load falls in steps; the last step then tells H, on a coarse grid
only to the interval it lies in, and many events together narrow it.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mv.controls.fall_edge import fall_edges
from mv.controls.motion_age import BoolArray, FloatArray, MotionRuns, lit_minutes
from mv.controls.plateau import lower_plateau, upper_plateau
from mv.controls.restless import RESTED_MINUTES, restlessness
from mv.controls.zone_table import ZoneTable

IntArray = npt.NDArray[np.int64]

COARSEST_MINUTES = 20.0  # a coarser grid swallows usual hold times; common practice, no source
WINDOW_MINUTES = 120.0  # longest hold looked for; common practice, no source
LEAST_DROP = 0.08  # level; a smaller fall is not told from noise; common practice, no source
STEADY_SHARE = 0.15  # of the fall: two readings so close are both "low"
LEAST_STEP = 0.012  # level; the fall of one sensor's part of the lamps; common practice, no source
LEAST_PART = 0.006  # level; the same where it lasts for part of an interval only; no source
ALIKE_SHARE = 0.05  # of a part's level by which two readings of it alone may differ; no source
STEPPED_SHARE = 0.2  # of events that fall in steps, for a zone of several sensors; no source
EARLIER_MINUTES = 1.5  # of a fall before the last step, more than lamps that fade show; no source
FEWEST_AGREEING = 6  # events that must agree on a hold time; common practice, no source
AGREEING_SHARE = 0.35  # of events that must agree on a hold time; common practice, no source
FEWEST_FOR_STEPS = 6  # events to judge that; common practice, no source
MARGIN_MINUTES = 75.0  # by which a schedule may be wider than the hours; common practice, no source
FEWEST_EVENTS = 8  # gaps in motion for a hold time; common practice, no source
REST_ROOM = 0.025  # level either side of that of long vacancy; common practice, no source


@dataclass(frozen=True)
class HoldEvents:
    """One value an event: local day, minutes of hold and its half-width, moment, level fallen to;
    and windows in which lamps never fell, with their level. `several`: the zone's lamps fall in
    steps, as several sensors make them. `variance`: of the moments of falling, square minutes.
    """

    day: IntArray
    minutes: FloatArray
    half: FloatArray
    at: FloatArray
    undropped_day: IntArray
    undropped_minutes: FloatArray
    undropped_level: FloatArray
    fallen_level: FloatArray
    variance: FloatArray
    several: bool = False


_NO_DAYS = np.zeros(0, dtype=np.int64)
_NO_VALUES = np.zeros(0)
NO_EVENTS = HoldEvents(
    _NO_DAYS, _NO_VALUES, _NO_VALUES, _NO_VALUES, _NO_DAYS, _NO_VALUES, _NO_VALUES, _NO_VALUES, _NO_VALUES
)


def joined_events(parts: list[HoldEvents]) -> HoldEvents:
    """The months' events one after another; `several` as most of them have it."""
    return HoldEvents(
        np.concatenate([part.day for part in parts]),
        np.concatenate([part.minutes for part in parts]),
        np.concatenate([part.half for part in parts]),
        np.concatenate([part.at for part in parts]),
        np.concatenate([part.undropped_day for part in parts]),
        np.concatenate([part.undropped_minutes for part in parts]),
        np.concatenate([part.undropped_level for part in parts]),
        np.concatenate([part.fallen_level for part in parts]),
        np.concatenate([part.variance for part in parts]),
        sum(len(part.day) * (2 * part.several - 1) for part in parts) > 0,
    )


@dataclass(frozen=True)
class _Windows:
    """Candidate gaps in motion with the rows they cover: `first` holds the end of motion."""

    ended: FloatArray
    first: IntArray
    last: IntArray


def hold_events(
    table: ZoneTable,
    runs: MotionRuns,
    *,
    safe_age: float,
    step_level: float = 0.0,
    together: bool | None = None,
) -> HoldEvents:
    """Every usable gap in the motion of the table's span.

    `safe_age`: minutes without motion for which the lamps are surely still on. `step_level`: the
    meter's own step, as a level. `together`: whether all lamps go on and off as one, where known.
    """
    windows = _windows(table, runs, apart=_margin_matters(table))
    if not len(windows.ended):
        return NO_EVENTS
    high, high_sure = _high_before(table, windows, safe_age)
    low, low_sure = _low_at_end(table, windows, high)
    lit_before = _lit_from_interval_start(runs, windows.ended, table.start[windows.first], safe_age)
    usable = lit_before & high_sure & np.isfinite(high) & np.isfinite(low)
    drop = high - low
    span = table.start[windows.last] + table.minutes - windows.ended
    fell = usable & (drop >= np.maximum(LEAST_DROP, 0.1 * high)) & low_sure
    minutes = _area_minutes(table, windows, low, drop)
    fell &= (minutes > -table.minutes) & (minutes <= span)
    stayed = usable & (np.abs(drop) < LEAST_DROP) & (span >= 20.0)
    day = table.day[windows.first]
    undropped = day[stayed], span[stayed], high[stayed]
    restless = restlessness(table, step_level)
    ends, steps_at, alone = _last_fall(table, windows, low, low_sure, step_level + restless)
    early = minutes < steps_at - EARLIER_MINUTES
    stepped = fell.sum() >= FEWEST_FOR_STEPS and float(np.mean(early[fell])) > STEPPED_SHARE
    if not (stepped if together is None else not together):
        half = np.zeros(int(fell.sum()))
        sharp, variance = _sharpened(table, windows, minutes, fell, high, low, safe_age, step_level)
        return HoldEvents(day[fell], sharp, half, windows.ended[fell], *undropped, low[fell], variance)
    seen = np.isfinite(ends) & (ends <= span) & _at_rest(table, windows.last, low, REST_ROOM + restless)
    if table.minutes <= 5 and (seen & alone).sum() >= FEWEST_EVENTS:
        seen &= alone
    half = np.full(int(seen.sum()), 0.5 * table.minutes if table.minutes > 5 else 0.0)
    value = steps_at[seen] + 0.5 * table.minutes if table.minutes > 5 else ends[seen]
    ended, unknown = windows.ended[seen], np.full(len(half), np.nan)
    return HoldEvents(day[seen], value, half, ended, *undropped, low[seen], unknown, several=True)


def _sharpened(
    table: ZoneTable,
    windows: _Windows,
    minutes: FloatArray,
    fell: BoolArray,
    high: FloatArray,
    low: FloatArray,
    safe_age: float,
    step_level: float,
) -> tuple[FloatArray, FloatArray]:
    """Minutes of the events that fell, by the readings beside the fall where they tell; its variance."""
    if table.minutes > 5:
        return minutes[fell], np.full(int(fell.sum()), np.nan)
    ended, first, last = windows.ended[fell], windows.first[fell], windows.last[fell]
    surely_on = np.asarray(table.age_max <= safe_age)
    found = fall_edges(
        table.level,
        table.start,
        table.minutes,
        ended,
        first,
        last,
        high=high[fell],
        low=low[fell],
        surely_on=surely_on,
        step_level=step_level,
    )
    return np.where(np.isfinite(found.minutes), found.minutes, minutes[fell]), found.variance


def _area_minutes(table: ZoneTable, windows: _Windows, low: FloatArray, drop: FloatArray) -> FloatArray:
    """Minutes at the full level that the energy above the low one amounts to, from motion's end."""
    total = np.concatenate(([0.0], np.cumsum(np.nan_to_num(table.level))))
    rows = windows.last - windows.first + 1
    with np.errstate(divide="ignore", invalid="ignore"):
        area = (total[windows.last + 1] - total[windows.first] - rows * low) / drop * table.minutes
    return np.asarray(area - (windows.ended - table.start[windows.first]))


def _last_fall(
    table: ZoneTable, windows: _Windows, low: FloatArray, low_sure: BoolArray, step_level: float
) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Minutes from motion's end to the last fall of the load, and to the start of its interval; and
    whether the part that fell last was alone for an interval before, so that its own level shows.

    Where several sensors each hold a part of the lamps, the part that saw the last motion is the
    last to fall, and it falls when the hold time is over. NaN where nothing falls.
    """
    level, step = table.level, table.minutes
    ends, begins = np.full(len(low), np.nan), np.full(len(low), np.nan)
    alone = np.zeros(len(low), dtype=np.bool_)
    for i in np.flatnonzero(low_sure & np.isfinite(low)):
        first, last = windows.first[i], windows.last[i]
        above = level[first : last + 1] - low[i]
        room = max(LEAST_STEP, 0.03 * float(above[0])) if step <= 5 else LEAST_PART
        lit = np.flatnonzero(above > room + 1.3 * step_level)
        if not len(lit) or above[: lit[-1] + 1].max() < LEAST_DROP / 2:
            continue
        at = int(lit[-1])
        full = above[at - 1] if at > 0 and above[at - 1] > room else above[at]
        share = min(float(above[at] / full), 1.0)
        begins[i] = table.start[first + at] - windows.ended[i]
        ends[i] = begins[i] + share * step
        alone[i] = at > 1 and abs(float(above[at - 2]) - full) <= ALIKE_SHARE * full
    return ends, begins, alone


def _margin_matters(table: ZoneTable) -> float:
    """Minutes beside opening hours to keep apart, where lamps rest at another level then."""
    calm = (table.age >= 45.0) & np.isfinite(table.level)
    opened, closed = table.level[calm & table.is_open], table.level[calm & ~table.is_open]
    if len(opened) < 5 or len(closed) < 5:
        return 0.0
    return MARGIN_MINUTES if abs(float(np.median(opened) - np.median(closed))) > 0.03 else 0.0


def _windows(table: ZoneTable, runs: MotionRuns, *, apart: float) -> _Windows:
    """Gaps of at least two whole intervals, cut where hours change or readings fail."""
    n, step = len(table), table.minutes
    if len(runs.start) < 2 or n < 4:
        nothing = np.zeros(0, dtype=np.int64)
        return _Windows(np.zeros(0), nothing, nothing)
    ended, until = runs.end, np.append(runs.start[1:], runs.known_to)
    first = np.searchsorted(table.start, ended, side="right") - 1
    longest = int(np.ceil(WINDOW_MINUTES / step))
    last = np.searchsorted(table.start + step, until, side="right") - 1
    last = np.minimum(last, first + longest)
    broken = _next_break(table, apart)
    inside = (first >= 1) & (first < n)
    last = np.minimum(last, broken[np.clip(first, 0, n - 1)])
    row = np.clip(first, 0, n - 1)
    keep = inside & (last >= first + (1 if step > 5 else 2))
    keep &= np.isfinite(table.age_max[row]) & (ended < table.start[row] + step)
    return _Windows(ended[keep], first[keep].astype(np.int64), last[keep].astype(np.int64))


def _next_break(table: ZoneTable, apart: float) -> IntArray:
    """Last row of the run of good, adjoining rows of the same opening state, for each row.

    Closed rows within `apart` minutes of opening hours are a state of their own: a schedule is
    often set somewhat wider than the hours.
    """
    n = len(table)
    bad = ~np.isfinite(table.level)
    state = table.is_open.astype(np.int8)
    if apart > 0:
        change = np.flatnonzero(np.diff(state) != 0) + 1
        if len(change):
            near = np.searchsorted(change, np.arange(n))
            rows = apart / table.minutes
            after = np.arange(n) - change[np.maximum(near - 1, 0)]
            before = change[np.minimum(near, len(change) - 1)] - np.arange(n)
            beside = ((near > 0) & (after < rows)) | ((near < len(change)) & (before <= rows))
            state[(state == 0) & beside] = 2
    cut = np.ones(n, dtype=bool)
    cut[:-1] = (state[1:] != state[:-1]) | bad[1:] | (np.diff(table.start) > 1.5 * table.minutes)
    ends = np.flatnonzero(cut)
    return np.asarray(ends[np.searchsorted(ends, np.arange(n))], dtype=np.int64)


def _high_before(table: ZoneTable, windows: _Windows, safe_age: float) -> tuple[FloatArray, BoolArray]:
    """Level of the lamps as motion ended, and whether they surely were wholly on."""
    level, first = table.level, windows.first
    before = level[first - 1]
    sure = table.age_max[first - 1] <= safe_age
    if table.minutes <= 5:
        near = np.stack([level[np.maximum(first - back, 0)] for back in (1, 2, 3)])
        ages = np.stack([table.age_max[np.maximum(first - back, 0)] for back in (1, 2, 3)])
        near = np.where(ages <= safe_age, near, np.nan)
        known = np.isfinite(near).any(axis=0)
        before = np.where(known, np.nanmedian(np.where(known, near, 0.0), axis=0), before)
        sure = np.asarray(known)
    top = upper_plateau(level[table.age_max <= safe_age], least_share=0.05)
    best = np.fmax(np.fmax(level[first - 1], level[first]), level[np.minimum(first + 1, len(level) - 1)])
    if top is not None:
        full = ~sure & (best >= 0.95 * top.level)
        before, sure = np.where(full, best, before), np.asarray(sure | full)
    return before, sure


def _low_at_end(table: ZoneTable, windows: _Windows, high: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Level at the end of the gap, and whether the fall was surely over by then."""
    level, last = table.level, windows.last
    end, earlier = level[last], level[last - 1]
    room = np.maximum(STEADY_SHARE * (high - np.fmin(end, earlier)), 0.01)
    steady = np.asarray((np.abs(end - earlier) <= room) & (last - 1 > windows.first))
    low = np.where(steady, 0.5 * (end + earlier), end)
    if table.minutes > 5:
        for state in (True, False):
            rest = lower_plateau(level[(table.is_open == state) & (table.age >= 45.0)], least_share=0.1)
            if rest is not None:
                near = (table.is_open[last] == state) & (np.abs(end - rest.level) <= 0.03)
                steady = np.asarray(steady | near)
    return low, steady


def _at_rest(table: ZoneTable, last: IntArray, low: FloatArray, room: float) -> BoolArray:
    """True where the gap ends at the level of long vacancy: no part of the lamps is held any more."""
    rest = np.full(len(low), np.nan)
    for state in (True, False):
        rows = (table.is_open == state) & (table.age >= RESTED_MINUTES) & np.isfinite(table.level)
        dwelt = lower_plateau(table.level[rows], least_share=0.1)
        if dwelt is not None:
            rest[table.is_open[last] == state] = dwelt.level
    return np.asarray(np.abs(low - rest) <= room)


def _lit_from_interval_start(
    runs: MotionRuns, ended: FloatArray, start: FloatArray, safe_age: float
) -> BoolArray:
    """True where no gap in motion longer than `safe_age` lies between interval start and end."""
    covered = lit_minutes(runs, ended, safe_age) - lit_minutes(runs, start, safe_age)
    return np.asarray(covered >= (ended - start) - 0.02)


def typical_hold(minutes: FloatArray, half: FloatArray) -> tuple[float | None, float]:
    """The hold time most events agree on with their spread; None where they do not agree."""
    if len(minutes) < FEWEST_EVENTS:
        return None, 0.0
    if float(np.median(half)) > 0:
        return _voted(minutes, half)
    mode = half_sample_mode(minutes)
    near = minutes[np.abs(minutes - mode) <= max(2.5, 0.1 * abs(mode))]
    if mode < 0 or len(near) < max(FEWEST_AGREEING, AGREEING_SHARE * len(minutes)):
        return None, 0.0
    return float(np.median(near)), float(np.std(near))


def _voted(minutes: FloatArray, half: FloatArray) -> tuple[float | None, float]:
    """The hold time that lies within most events' intervals, and half the span that nearly does."""
    grid = np.arange(0.0, WINDOW_MINUTES, 0.25)
    votes = (np.abs(grid[:, None] - minutes[None, :]) <= half[None, :] + 0.25).sum(axis=1)
    best = int(votes.max())
    if best < max(FEWEST_EVENTS, 0.5 * len(minutes)):
        return None, 0.0
    close = grid[votes >= best - max(1.0, 0.5 * np.sqrt(best))]
    top = grid[votes == best]
    return float(np.median(top)), float(max(np.ptp(close) / 2.0, 0.25))


def half_sample_mode(values: FloatArray) -> float:
    """Mode by repeated halving (Bickel and Fruhwirth 2006; from memory): robust to one-sided tails."""
    part = np.sort(values)
    while len(part) > 3:
        half = (len(part) + 1) // 2
        width = part[half - 1 :] - part[: len(part) - half + 1]
        best = width.min()
        ties = np.flatnonzero(width <= best + 1e-9)
        at = int(ties[len(ties) // 2])
        part = part[at : at + half]
    return float(np.median(part))
