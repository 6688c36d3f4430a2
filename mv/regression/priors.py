"""What is known before the fit: how large a term can physically be, and which days are noisier."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.regression.forms import Form

FloatArray = npt.NDArray[np.float64]

# Standard deviation of a daylight term before the data speak, as a share of the mean power while
# open: people who switch by hand leave most lights on by day (common practice, no source).
DAYLIGHT_SHARE_OF_POWER = 0.20
# Standard deviation of a season that the drivers do not explain, as a share of an open day's energy
# (chosen on simulated and measured sites, see tests/benchmarks).
SEASON_SHARE = 0.005
USUAL_OPEN_HOURS = 12.0  # where opening hours are not known (common practice, no source)
LEAST_DAYS_FOR_SCALE = 10
LEAST_SCALE = 0.2  # of the larger scale: no kind of day is taken as free of noise


@dataclass(frozen=True)
class NoiseScale:
    """Relative size of a day's departures: by open or closed, and by a power of the expected use."""

    by_open: Mapping[bool, float]
    power: float
    usual: float

    def on(self, drivers: pd.DataFrame, expected: FloatArray) -> FloatArray:
        """The scale on each day, given what the model expects of it."""
        opened = drivers["is_open_day"].to_numpy(dtype=bool)
        group = np.where(opened, self.by_open[True], self.by_open[False])
        return np.asarray(group * _relative(expected, self.usual) ** self.power)


def _relative(expected: FloatArray, usual: float) -> FloatArray:
    return np.maximum(expected / usual, LEAST_SCALE) if usual > 0 else np.ones(len(expected))


def noise_scale(y: FloatArray, matrix: FloatArray, drivers: pd.DataFrame) -> NoiseScale:
    """How departures grow with use: the power 0, 1/2 or 1, with or without a split by open and closed
    days, under which independent normal departures are likeliest (the split must gain 3 in log
    likelihood, to pay for its parameter).
    """
    expected = matrix @ np.linalg.lstsq(matrix, y, rcond=None)[0]
    residual = y - expected
    opened = drivers["is_open_day"].to_numpy(dtype=bool)
    usual = float(np.mean(expected))
    best, found = -np.inf, NoiseScale({True: 1.0, False: 1.0}, 0.0, usual)
    for power in (0.0, 0.5, 1.0):
        relative = _relative(expected, usual) ** power
        for by_open, cost in ((_whole(), 0.0), (_split(residual / relative, opened), 3.0)):
            scale = np.where(opened, by_open[True], by_open[False]) * relative
            spread = float(np.mean((residual / scale) ** 2))
            if spread <= 0:
                continue
            gain = -0.5 * len(y) * np.log(spread) - float(np.log(scale).sum()) - cost
            if gain > best + 1e-9:
                best, found = gain, NoiseScale(by_open, power, usual)
    return found


def _whole() -> Mapping[bool, float]:
    return {True: 1.0, False: 1.0}


def _split(residual: FloatArray, opened: npt.NDArray[np.bool_]) -> Mapping[bool, float]:
    if min(opened.sum(), (~opened).sum()) < LEAST_DAYS_FOR_SCALE:
        return _whole()
    spread = {True: float(np.std(residual[opened])), False: float(np.std(residual[~opened]))}
    largest = max(spread.values())
    if largest <= 0:
        return _whole()
    return {key: max(value / largest, LEAST_SCALE) for key, value in spread.items()}


def prior_precision(
    y: FloatArray, matrix: FloatArray, drivers: pd.DataFrame, form: Form, scales: FloatArray
) -> FloatArray:
    """Noise variance over prior variance for each shrunk term; 0 for those that are free."""
    residual = (y - matrix @ np.linalg.lstsq(matrix, y, rcond=None)[0]) / scales
    free = max(len(y) - matrix.shape[1], 1)
    variance = float(residual @ residual) / free
    opened = drivers["is_open_day"].to_numpy(dtype=bool)
    open_day = abs(float(np.mean(y[opened] if opened.any() else y)))
    hours = drivers["hours_open"].to_numpy(dtype=np.float64)[opened]
    usual = float(np.nanmean(hours)) if np.isfinite(hours).any() else USUAL_OPEN_HOURS
    power = open_day / max(usual, 1.0)
    precision = []
    for term in (*form.terms, *form.shrunk):
        size = SEASON_SHARE * open_day if term.startswith("season") else DAYLIGHT_SHARE_OF_POWER * power
        precision.append(variance / size**2 if term in form.shrunk and size > 0 else 0.0)
    return np.array(precision)
