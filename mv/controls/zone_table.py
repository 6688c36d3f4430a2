"""A zone's intervals as plain arrays: level, clock, sun and motion side by side."""

from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.clock import local_days, period_bounds
from mv.base.series import MeterSeries, MotionLog
from mv.base.study_records import Span
from mv.controls.motion_age import (
    MotionRuns,
    ages,
    minutes_since,
    motion_runs,
    unbelievable_spans,
)

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]

SPIKE_RATIO = 1.5  # times the 99.5th percentile: not a lamp any more; common practice, no source
COARSE_STEP = 0.03  # level; a meter's step that hides a setting's levels; common practice, no source
WIDER_MINUTES = (5.0, 10.0, 15.0)  # intervals that still show a hold time; common practice, no source
RARE_SHARE = 0.001  # of motions, shorter than which may be faults of the log; no source
LONGEST_DELAY_MINUTES = 0.75  # by which a log holds back the end of motion; longer is its stamps; no source
SAME_VALUE = 5e-6  # level; closer values are one reading's, written in other ways; no source
ALIVE_LEVEL = 0.10  # fraction of full: lamps do something, so somebody or something is there


@dataclass(frozen=True)
class ZoneTable:
    """Equal-length arrays, one row an interval of the reporting period.

    `level` is power as a fraction of the connected load (of the plateau where the load is not
    known); NaN where nothing usable was read. `age` is minutes since the last motion at the
    interval's start, `age_max` the longest within it; NaN where motion is not known.
    """

    minutes: float
    start: FloatArray
    level: FloatArray
    is_open: BoolArray
    sun: FloatArray
    day: IntArray
    hour: FloatArray
    month: IntArray
    age: FloatArray
    age_max: FloatArray

    def __len__(self) -> int:
        return len(self.start)

    @property
    def end(self) -> float:
        """Minutes at which the last interval ends."""
        return float(self.start[-1]) + self.minutes

    def part(self, rows: slice) -> "ZoneTable":
        """The same columns for a run of rows."""
        columns = {
            item.name: getattr(self, item.name)[rows] for item in fields(self) if item.name != "minutes"
        }
        return ZoneTable(minutes=self.minutes, **columns)


@dataclass(frozen=True)
class ZoneRecord:
    """The table with what belongs to it: motion runs, what one level is worth, what was odd."""

    table: ZoneTable
    runs: MotionRuns | None
    full_kw: float
    load_known: bool
    step_level: float
    remarks: tuple[str, ...]
    stamp_minutes: float = 0.0
    shortest_motion_minutes: float = 0.0


def zone_record(
    meter: MeterSeries,
    motion: MotionLog | None,
    conditions: pd.DataFrame,
    *,
    reporting: Span,
    timezone: str,
    connected_kw: float | None,
    as_read: bool = False,
) -> ZoneRecord:
    """Cut the reporting period out of the meter and put motion beside it.

    A meter of coarse steps is read over longer intervals, unless `as_read`.
    """
    first, after = period_bounds(reporting.first, reporting.last, timezone)
    inside = (meter.energy_kwh.index >= first) & (meter.energy_kwh.index < after)
    kw = meter.power_kw[inside].to_numpy(dtype=np.float64, copy=True)
    kw[meter.estimated[inside].to_numpy(dtype=bool)] = np.nan
    index = pd.DatetimeIndex(meter.energy_kwh.index[inside])
    top = _top(kw)
    kw[kw > SPIKE_RATIO * top] = np.nan
    full_kw = connected_kw if connected_kw else top
    at = conditions.reindex(index)
    level = kw / full_kw if full_kw > 0 else np.full(len(kw), np.nan)
    start = minutes_since(index, first)
    minutes, rows = meter.interval_minutes, np.arange(len(start))
    if not as_read:
        minutes, rows, level = _coarse_enough(minutes, start, level)
    start, index, at = start[rows], index[rows], at.iloc[rows]
    runs = None if motion is None else motion_runs(motion, first)
    day = pd.DatetimeIndex(at["local_day"]) if "local_day" in at else local_days(index, timezone)
    age, age_max, remarks = _motion_columns(runs, start, minutes, level, top, full_kw)
    table = ZoneTable(
        minutes=minutes,
        start=start,
        level=level,
        is_open=at["is_open"].to_numpy(dtype=bool),
        sun=at["sun_elevation_deg"].to_numpy(dtype=np.float64),
        day=day.to_numpy().astype("datetime64[D]").astype(np.int64),
        hour=at["local_hour"].to_numpy(dtype=np.float64),
        month=(day.year * 12 + day.month - 1).to_numpy(dtype=np.int64),
        age=age,
        age_max=age_max,
    )
    known = bool(connected_kw) and full_kw > 0
    return ZoneRecord(
        table, runs, full_kw, known, _resolution(level), remarks, _stamp_step(runs), shortest_motion(runs)
    )


def _coarse_enough(
    minutes: float, start: FloatArray, level: FloatArray
) -> tuple[float, IntArray, FloatArray]:
    """Interval, rows kept and their mean level: a meter of coarse steps is read over longer intervals.

    One pulse in a short interval may be a tenth of the lamps; over several its step is as many
    times smaller. An interval with a reading missing is missing.
    """
    step = _resolution(level)
    wider = [wide for wide in WIDER_MINUTES if wide > minutes and wide % minutes == 0]
    if step <= COARSE_STEP or not wider:
        return minutes, np.arange(len(start)), level
    wanted = (wide for wide in wider if step * minutes / wide <= COARSE_STEP)
    wide = next(wanted, wider[-1])
    block = np.floor(start / wide + 1e-9).astype(np.int64)
    first, size = np.unique(block, return_index=True, return_counts=True)[1:]
    mean = np.add.reduceat(level, first) / size
    mean[size < round(wide / minutes)] = np.nan
    return wide, first, mean


def _top(kw: FloatArray) -> float:
    good = kw[np.isfinite(kw)]
    return float(np.quantile(good, 0.995)) if len(good) else 0.0


def _stamp_step(runs: MotionRuns | None) -> float:
    """Minutes to which the motion log's stamps are rounded: 5, 1, or finer (0)."""
    if runs is None or not len(runs.start):
        return 0.0
    stamps = np.concatenate((runs.start, runs.end))
    for step in (15.0, 5.0, 1.0):
        if np.mean(np.abs(stamps / step - np.round(stamps / step)) < 1e-6) > 0.95:
            return step
    return 0.0


def shortest_motion(runs: MotionRuns | None) -> float:
    """Minutes of the shortest motion of the log, where that is no more than its delay may be."""
    lasted = np.zeros(0) if runs is None else runs.end - runs.start
    lasted = lasted[lasted > 0.0]
    shortest = float(np.quantile(lasted, RARE_SHARE)) if len(lasted) else 0.0
    return shortest if shortest <= LONGEST_DELAY_MINUTES else 0.0


def _resolution(level: FloatArray) -> float:
    """The meter's smallest step as a level: the least gap between values that recur.

    Values that differ by the last digits of their arithmetic are one.
    """
    good = level[np.isfinite(level)]
    if len(good) < 50:
        return 0.0
    values, counts = np.unique(np.round(good, 7), return_counts=True)
    often = values[counts >= 3]
    covered = counts[counts >= 3].sum() / len(good)
    gaps = np.diff(often)
    gaps = gaps[gaps > SAME_VALUE]
    if not len(gaps) or covered < 0.9:
        return 0.0
    return float(np.min(gaps))


def _motion_columns(
    runs: MotionRuns | None,
    start: FloatArray,
    minutes: float,
    level: FloatArray,
    top_kw: float,
    full_kw: float,
) -> tuple[FloatArray, FloatArray, tuple[str, ...]]:
    if runs is None:
        nothing = np.full(len(start), np.nan)
        return nothing, nothing.copy(), ()
    age, age_max = ages(runs, start, minutes)
    remarks = []
    top_level = top_kw / full_kw if full_kw > 0 else 1.0
    for begin, end, kind in unbelievable_spans(runs):
        rows = (start + minutes > begin) & (start < end)
        lit = rows & (level > ALIVE_LEVEL * top_level)
        if kind == "silent" and (not rows.any() or _mostly_steady(level[rows], top_level)):
            continue
        if kind == "stuck" or lit.any():
            age[rows], age_max[rows] = np.nan, np.nan
            days = (end - begin) / 1440
            remarks.append(f"the motion log is {kind} for {days:.0f} days and is left out there")
    return age, age_max, tuple(remarks)


def _mostly_steady(level: FloatArray, top_level: float) -> bool:
    """Dark all the time, or lit all the time: silence then agrees with an empty, fixed zone."""
    good = level[np.isfinite(level)]
    if not len(good):
        return True
    lit = float(np.mean(good > ALIVE_LEVEL * top_level))
    return lit < 0.02 or float(np.quantile(good, 0.95) - np.quantile(good, 0.05)) < 0.1 * top_level
