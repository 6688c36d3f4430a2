"""How long a sensor holds a zone as occupied, from its motion log."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.series import MotionLog

Floats = npt.NDArray[np.float64]
NS_PER_MINUTE = 60e9


@dataclass(frozen=True)
class MotionSpans:
    """Spans of motion in minutes since `origin`, ascending and apart."""

    origin: pd.Timestamp
    start: Floats
    end: Floats
    known_from: float
    known_to: float


def motion_spans(log: MotionLog, *, origin: pd.Timestamp, lag_minutes: float = 0.0) -> MotionSpans:
    """The log's spans of motion, `lag_minutes` later (a meter's clock behind the log's)."""
    if log.state.empty:
        nothing = np.zeros(0)
        ends = _minutes(pd.DatetimeIndex([log.known_from, log.known_to]), origin)
        return MotionSpans(origin, nothing, nothing, float(ends[0]), float(ends[1]))
    times = _minutes(pd.DatetimeIndex(log.state.index), origin) + lag_minutes
    state = log.state.to_numpy() > 0
    known_from, known_to = (
        float(value) + lag_minutes
        for value in _minutes(pd.DatetimeIndex([log.known_from, log.known_to]), origin)
    )
    rises = state & ~np.append(False, state[:-1])
    falls = ~state & np.append(False, state[:-1])
    start, end = times[rises], times[falls]
    if len(end) < len(start):
        end = np.append(end, max(known_to, float(start[-1])))
    return MotionSpans(origin, start, end, known_from, known_to)


def held_share(
    spans: MotionSpans, index: pd.DatetimeIndex, *, interval_minutes: float, hold_minutes: Floats
) -> Floats:
    """Share of each interval that the zone is held as occupied; NaN where the log knows nothing.

    `hold_minutes` is the time delay in force at the end of each span of motion. A span holds
    until its end plus the delay, or until the next one begins.
    """
    edges = _minutes(index, spans.origin)
    last = edges + interval_minutes
    starts, ends = _joined(spans.start, spans.end + hold_minutes)
    share = (_covered(starts, ends, last) - _covered(starts, ends, edges)) / interval_minutes
    longest = float(hold_minutes.max()) if len(hold_minutes) else 0.0
    known = (edges >= spans.known_from + longest) & (last <= spans.known_to)
    return np.where(known, np.clip(share, 0.0, 1.0), np.nan)


def _covered(starts: Floats, ends: Floats, at: Floats) -> Floats:
    """Minutes covered by the disjoint spans up to each moment."""
    if not len(starts):
        return np.zeros(len(at))
    points = np.column_stack([starts, ends]).ravel()
    total = np.column_stack([np.zeros(len(starts)), ends - starts]).ravel().cumsum()
    return np.asarray(np.interp(at, points, total), dtype=np.float64)


def _joined(starts: Floats, ends: Floats) -> tuple[Floats, Floats]:
    """The union of spans sorted by start."""
    if not len(starts):
        return starts, ends
    reach = np.maximum.accumulate(ends)
    first = np.append(True, starts[1:] > reach[:-1])
    last = np.append(first[1:], True)
    return starts[first], reach[last]


def _minutes(index: pd.DatetimeIndex, origin: pd.Timestamp) -> Floats:
    ns = index.tz_convert("UTC").as_unit("ns").asi8 - origin.tz_convert("UTC").as_unit("ns").value
    return np.asarray(ns / NS_PER_MINUTE, dtype=np.float64)
