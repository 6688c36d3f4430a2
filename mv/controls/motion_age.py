"""How long ago motion last was, and how long lights with a given hold time would have burnt."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.series import MotionLog

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

SURE_ON_AGE = 3.0  # minutes without motion within which any control keeps lamps on; no source
SILENT_HOURS = 72.0  # a log without any change for so long may be dead; common practice, no source
STUCK_HOURS = 24.0  # motion said to go on without a break for so long; common practice, no source


@dataclass(frozen=True)
class MotionRuns:
    """Spans of motion [start, end) in minutes since `origin`, and the stretches the log covers."""

    origin: pd.Timestamp
    start: FloatArray
    end: FloatArray
    known_from: float
    known_to: float

    def cut(self, first: float, last: float) -> "MotionRuns":
        """The runs that touch [first, last)."""
        keep = slice(
            int(np.searchsorted(self.end, first, side="right")),
            int(np.searchsorted(self.start, last)),
        )
        return MotionRuns(
            self.origin,
            self.start[keep],
            self.end[keep],
            max(self.known_from, first),
            min(self.known_to, last),
        )

    def told_until(self, last: float) -> "MotionRuns":
        """The runs as a log that was fetched at `last` holds them: it ends with its last change.

        What came after is known only to a later log, and must not alter what an earlier one said.
        """
        changes = np.concatenate((self.start[self.start <= last], self.end[self.end <= last]))
        known_to = min(float(changes.max()) if len(changes) else self.known_from, self.known_to)
        begun = self.start <= known_to
        return MotionRuns(
            self.origin, self.start[begun], np.minimum(self.end[begun], known_to), self.known_from, known_to
        )


def minutes_since(index: pd.DatetimeIndex, origin: pd.Timestamp) -> FloatArray:
    """Each stamp as minutes after `origin`."""
    minutes = (index - origin) / pd.Timedelta(minutes=1)
    return np.asarray(minutes, dtype=np.float64)


def motion_runs(motion: MotionLog, origin: pd.Timestamp) -> MotionRuns:
    """The log's changes as spans of motion; repeated states are merged."""
    changes = motion.state.dropna()
    stamps = pd.DatetimeIndex(changes.index)
    at = minutes_since(stamps, origin)
    on = changes.to_numpy() > 0
    new = np.ones(len(on), dtype=bool)
    new[1:] = on[1:] != on[:-1]
    at, on = at[new], on[new]
    bounds = minutes_since(pd.DatetimeIndex([motion.known_from, motion.known_to]), origin)
    start, end = at[on], at[~on]
    if len(end) and (not len(start) or end[0] < start[0]):
        start = np.concatenate(([bounds[0]], start))
    if len(start) > len(end):
        end = np.concatenate((end, [max(bounds[1], start[-1])]))
    return MotionRuns(origin, start, end, float(bounds[0]), float(bounds[1]))


def ages(runs: MotionRuns, start: FloatArray, minutes: float) -> tuple[FloatArray, FloatArray]:
    """Minutes since the last motion at each interval's start, and the longest within it.

    0 while motion goes on. Unknown (NaN) before the first run and outside the log.
    """
    at_start = _age_at(runs, start)
    at_end = _age_at(runs, start + minutes)
    longest = np.fmax(at_start, at_end)
    if len(runs.start) > 1:
        gap_end, gap = runs.start[1:], runs.start[1:] - runs.end[:-1]
        where = np.searchsorted(start, gap_end, side="right") - 1
        inside = (where >= 0) & (gap_end < start[np.maximum(where, 0)] + minutes)
        np.maximum.at(longest, where[inside], gap[inside])
    return at_start, longest


def _age_at(runs: MotionRuns, moments: FloatArray) -> FloatArray:
    last = np.searchsorted(runs.start, moments, side="right") - 1
    known = (last >= 0) & (moments >= runs.known_from) & (moments <= runs.known_to)
    if not len(runs.start):
        return np.full(len(moments), np.nan)
    age = np.maximum(moments - runs.end[np.maximum(last, 0)], 0.0)
    return np.where(known, age, np.nan)


def lit_minutes(runs: MotionRuns, moments: FloatArray, hold: float) -> FloatArray:
    """Minutes, up to each moment, within `hold` minutes of motion.

    Motion that begins before a hold has run out carries it on, so holds never overlap.
    """
    if not len(runs.start):
        return np.zeros(len(moments))
    end = runs.end + hold
    end[:-1] = np.minimum(end[:-1], runs.start[1:])
    knots = np.empty(2 * len(end))
    knots[0::2], knots[1::2] = runs.start, end
    lit = np.cumsum(end - runs.start)
    total = np.empty_like(knots)
    total[0::2], total[1::2] = np.concatenate(([0.0], lit[:-1])), lit
    return np.asarray(np.interp(moments, knots, total))


def motion_share(runs: MotionRuns, start: FloatArray, minutes: float, hold: float) -> FloatArray:
    """Fraction of each interval in which lamps with that hold time are on."""
    lit = lit_minutes(runs, start + minutes, hold) - lit_minutes(runs, start, hold)
    return np.asarray(lit / minutes)


def unbelievable_spans(runs: MotionRuns) -> list[tuple[float, float, str]]:
    """Stretches in which the log itself is in doubt: silent for days, or stuck on."""
    spans = []
    if len(runs.start):
        gaps = np.concatenate((runs.start[1:], [runs.known_to])) - runs.end
        for at in np.flatnonzero(gaps > SILENT_HOURS * 60):
            spans.append((float(runs.end[at]), float(runs.end[at] + gaps[at]), "silent"))
        for at in np.flatnonzero(runs.end - runs.start > STUCK_HOURS * 60):
            spans.append((float(runs.start[at]), float(runs.end[at]), "stuck"))
    return spans
