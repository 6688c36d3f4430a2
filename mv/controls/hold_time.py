"""Hold time from the area under the load after the last motion.

After motion ends at t0 lamps stay at their level P_high for the hold time H and then fall to
P_low. Whatever the metering interval, the sum of (P - P_low) / (P_high - P_low) x minutes from t0
until the next motion is H: whole intervals are enough, no edge need be resolved. Both levels are
taken beside the event, so trim, daylight and failed lamps cancel. Own derivation.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mv.controls.motion_age import BoolArray, FloatArray, MotionRuns, lit_minutes
from mv.controls.plateau import lower_plateau, upper_plateau
from mv.controls.zone_table import ZoneTable

IntArray = npt.NDArray[np.int64]

COARSEST_MINUTES = 20.0  # a coarser grid swallows usual hold times; common practice, no source
WINDOW_MINUTES = 120.0  # longest hold looked for; common practice, no source
LEAST_DROP = 0.08  # level; a smaller fall is not told from noise; common practice, no source
STEADY_SHARE = 0.15  # of the fall: two readings so close are both "low"
SURE_AGE = 3.0  # minutes without motion within which any control keeps lamps on; no source


@dataclass(frozen=True)
class HoldEvents:
    """One value an event: local day, minutes of hold, and windows in which lamps never fell."""

    day: IntArray
    minutes: FloatArray
    at: FloatArray
    undropped_day: IntArray
    undropped_minutes: FloatArray


def joined_events(parts: list[HoldEvents]) -> HoldEvents:
    """The months' events one after another."""
    return HoldEvents(
        np.concatenate([part.day for part in parts]),
        np.concatenate([part.minutes for part in parts]),
        np.concatenate([part.at for part in parts]),
        np.concatenate([part.undropped_day for part in parts]),
        np.concatenate([part.undropped_minutes for part in parts]),
    )


@dataclass(frozen=True)
class _Windows:
    """Candidate gaps in motion with the rows they cover: `first` holds the end of motion."""

    ended: FloatArray
    first: IntArray
    last: IntArray


def hold_events(table: ZoneTable, runs: MotionRuns, *, safe_age: float) -> HoldEvents:
    """Every usable gap in the motion of the table's span.

    `safe_age`: minutes without motion for which the lamps are surely still on.
    """
    windows = _windows(table, runs)
    empty = np.zeros(0)
    nothing = HoldEvents(empty.astype(np.int64), empty, empty, empty.astype(np.int64), empty)
    if not len(windows.ended):
        return nothing
    high, high_sure = _high_before(table, windows, safe_age)
    low, low_sure = _low_at_end(table, windows, high)
    lit_before = _lit_from_interval_start(runs, windows.ended, table.start[windows.first], safe_age)
    usable = lit_before & high_sure & np.isfinite(high) & np.isfinite(low)
    drop = high - low
    span = table.start[windows.last] + table.minutes - windows.ended
    fell = usable & (drop >= np.maximum(LEAST_DROP, 0.1 * high)) & low_sure
    total = np.concatenate(([0.0], np.cumsum(table.level)))
    with np.errstate(divide="ignore", invalid="ignore"):
        rows = windows.last - windows.first + 1
        area = (total[windows.last + 1] - total[windows.first] - rows * low) / drop * table.minutes
    minutes = area - (windows.ended - table.start[windows.first])
    fell &= (minutes > -table.minutes) & (minutes <= span)
    stayed = usable & (np.abs(drop) < LEAST_DROP) & (span >= 20.0)
    day = table.day[windows.first]
    return HoldEvents(day[fell], minutes[fell], windows.ended[fell], day[stayed], span[stayed])


def _windows(table: ZoneTable, runs: MotionRuns) -> _Windows:
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
    broken = _next_break(table)
    inside = (first >= 1) & (first < n)
    last = np.minimum(last, broken[np.clip(first, 0, n - 1)])
    row = np.clip(first, 0, n - 1)
    keep = inside & (last >= first + (1 if step > 5 else 2))
    keep &= np.isfinite(table.age_max[row]) & (ended < table.start[row] + step)
    return _Windows(ended[keep], first[keep].astype(np.int64), last[keep].astype(np.int64))


def _next_break(table: ZoneTable) -> IntArray:
    """Last row of the run of good, adjoining rows of the same opening state, for each row."""
    n = len(table)
    bad = ~np.isfinite(table.level)
    cut = np.ones(n, dtype=bool)
    cut[:-1] = (
        (table.is_open[1:] != table.is_open[:-1]) | bad[1:] | (np.diff(table.start) > 1.5 * table.minutes)
    )
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
        sure = known
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


def _lit_from_interval_start(
    runs: MotionRuns, ended: FloatArray, start: FloatArray, safe_age: float
) -> BoolArray:
    """True where no gap in motion longer than `safe_age` lies between interval start and end."""
    covered = lit_minutes(runs, ended, safe_age) - lit_minutes(runs, start, safe_age)
    return np.asarray(covered >= (ended - start) - 0.02)


def switch_on_lags(table: ZoneTable, runs: MotionRuns, *, rested: float) -> FloatArray:
    """Minutes from the start of motion to the rise of the load, after at least `rested` minutes.

    The same area rule: late switching, or a meter clock that runs behind, leaves a deficit.
    """
    if len(runs.start) < 2:
        return np.zeros(0)
    began, gap = runs.start[1:], runs.start[1:] - runs.end[:-1]
    until = runs.end[1:]
    row = np.searchsorted(table.start, began, side="right") - 1
    n, step = len(table), table.minutes
    reach = 1 if step > 5 else max(3, int(np.ceil(10 / step)) if step < 5 else 2)
    keep = (gap >= rested) & (row >= 2) & (row + reach + 1 < n)
    row, began, until = row[keep], began[keep], until[keep]
    if not len(row):
        return np.zeros(0)
    window = np.stack([table.level[row + ahead] for ahead in range(-1, reach + 1)])
    low, high = table.level[row - 2], table.level[row + reach]
    longest = np.stack([table.age_max[row + ahead] for ahead in range(1, reach + 1)]).max(axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        lit = ((window - low) / (high - low)).sum(axis=0) * step
    sure = (high - low >= 2 * LEAST_DROP) & np.isfinite(lit) & (longest <= SURE_AGE)
    sure &= table.start[row + reach] - table.start[row - 2] < (reach + 2.5) * step
    lag = table.start[row + reach] + step - began - lit
    return np.asarray(lag[sure & (np.abs(lag) <= 2 * step + 5)])


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
