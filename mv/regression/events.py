"""Stretches of days that a model cannot explain: candidates for non-routine events.

A search for changes of level in the residuals, with a penalty that grows with the days' persistence:
with the penalty meant for independent noise, every persistent meter rings the alarm.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.estimate import Estimate
from mv.base.step_changes import segment_starts
from mv.regression.fitted import FittedModel
from mv.regression.published import student_t

FloatArray = npt.NDArray[np.float64]

Span = tuple[int, int]

SHORTEST_DAYS = 5  # a working week; single days are named by the fit itself
WINDOW_DAYS = 42  # persistence is taken within windows of this or a quarter: a change must not feed it
PENALTY = 3.0  # times log(n) long-run variances: at most 5 % false alarms, see tests/regression
MOST_PERSISTENT = 0.97
SMALLEST_SHARE = 0.02  # of the mean day's energy; less is of no use to anyone (common practice, no source)


@dataclass(frozen=True, slots=True)
class EventCandidate:
    """Days `first` to `last` (both included) whose level departs from the model.

    `kwh_per_day` and `total_kwh` are positive where more was used than the model says. `lasting`:
    it runs to the end of the period. Not confirmed: only a person knows what happened.
    """

    first: pd.Timestamp
    last: pd.Timestamp
    kwh_per_day: Estimate
    total_kwh: Estimate
    lasting: bool


def level_changes(values: FloatArray, *, penalty: float = PENALTY) -> list[int]:
    """Places at which the mean of `values` changes, by penalised least squares.

    Exact, by optimal partitioning (Jackson et al. 2005, IEEE Signal Processing Letters 12:105; from
    memory), each stretch at least five values long. The penalty is `penalty` log(n) times the long-run
    variance, that of AR(1) noise with the persistence seen within 42-day windows. Fewer than 15 values
    have no change that can be told.
    """
    return list(_level_changes(values.tobytes(), penalty))


@lru_cache(maxsize=16)
def _level_changes(value_bytes: bytes, penalty: float) -> tuple[int, ...]:
    """Remembered: a model's stretches are asked for when it is fitted and when it is reported."""
    values = np.frombuffer(value_bytes)
    if len(values) < 3 * SHORTEST_DAYS or float(np.std(values)) == 0.0:
        return ()
    cost = penalty * np.log(len(values)) * long_run_variance(values)
    return tuple(segment_starts(values, penalty=cost, min_length=SHORTEST_DAYS)[1:])


def long_run_variance(values: FloatArray) -> float:
    """Variance of a mean times its length, for AR(1) noise: s2 (1 + r) / (1 - r).

    r and s2 are medians over windows of 42 values (a quarter of them, if fewer), r corrected for its
    bias (1 + 3 r) / n (Kendall 1954; from memory) and the variance for its window's mean.
    """
    width = max(min(WINDOW_DAYS, len(values) // 4), min(15, len(values)))
    windows = [values[i : i + width] for i in range(0, len(values) - width + 1, max(width // 2, 1))]
    found = [_persistence(window) for window in windows]
    r = float(np.clip(np.median([one for one, _ in found]), 0.0, MOST_PERSISTENT))
    inner = float(np.median([variance for _, variance in found]))
    lost = (1 + r) / ((1 - r) * width)  # share of the variance that a window's own mean takes away
    variance = inner / max(1 - lost, 0.1)
    return variance * (1 + r) / (1 - r)


def _persistence(window: FloatArray) -> tuple[float, float]:
    apart = window - window.mean()
    square = float(apart @ apart)
    if square == 0.0:
        return 0.0, 0.0
    raw = float(apart[1:] @ apart[:-1]) / square
    n = len(window)
    return (raw * n + 1) / max(n - 3, 1), square / (n - 1)


def event_candidates(model: FittedModel, *, confidence: float) -> tuple[EventCandidate, ...]:
    """Unexplained stretches among the days a model was fitted to, the largest first.

    The longest stretch is taken as the usual level; another is a candidate when its distance from it
    exceeds its half-width and 2 % of a day's energy. Days within a known [[event]] are modelled or
    set aside already. Bills are too few, and too long, for such a search: they have no candidates.
    """
    if model.step_days > 1:
        return ()
    values = model.residuals.to_numpy(dtype=np.float64)
    places = [0, *level_changes(values), len(values)]
    if len(places) == 2:
        return ()
    spans = list(pairwise(places))
    usual = max(spans, key=lambda span: span[1] - span[0])
    flat = np.concatenate([values[a:b] - values[a:b].mean() for a, b in spans])
    spread = long_run_variance(flat)
    least = SMALLEST_SHARE * abs(float((model.fitted + model.residuals).mean()))
    found = [
        candidate
        for span in spans
        if span != usual and (candidate := _sized(model, span, usual, spread, confidence, least)) is not None
    ]
    return tuple(sorted(found, key=lambda c: -abs(float(c.total_kwh.estimate))))


def _sized(
    model: FittedModel,
    span: tuple[int, int],
    usual: tuple[int, int],
    spread: float,
    confidence: float,
    least: float,
) -> EventCandidate | None:
    values = model.residuals.to_numpy(dtype=np.float64)
    size = float(values[slice(*span)].mean() - values[slice(*usual)].mean())
    days, others = span[1] - span[0], usual[1] - usual[0]
    error = float(np.sqrt(spread * (1 / days + 1 / others)))
    half = student_t(confidence, max(days + others - 2, 1)) * error
    if abs(size) <= max(half, least):
        return None
    per_day = Estimate(size, size - half, size + half, confidence, error)
    index = model.residuals.index
    return EventCandidate(
        pd.Timestamp(index[span[0]]),
        pd.Timestamp(index[span[1] - 1]),
        per_day,
        per_day.scaled(float(days)),
        span[1] == len(values),
    )
