"""How the days' departures from a model hang together in time.

A departure is taken as the sum of three parts of shares that add up to one: a persistent part whose
correlation falls as `persistence ** steps`, a slow part with a memory of months, and a part that is
new every day. Times are steps (days for daily data), so that gaps need no filling.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

# Grid over which the unknown noise is averaged: persistence a step with its weight before the data
# speak, and the shares of the variance. The weights were chosen on simulated sites (tests/benchmarks).
PERSISTENCES = {
    0.25: 1.0, 0.45: 1.0, 0.6: 1.0, 0.7: 1.0, 0.8: 1.0, 0.87: 1.0, 0.92: 1.0, 0.955: 0.6, 0.98: 0.3,
}  # fmt: skip
PERSISTENT_SHARES = (0.12, 0.3, 0.5, 0.7, 0.86, 1.0)
SLOW_PERSISTENCE = 0.99  # a memory of 100 steps
# Most meters show little of the slow part, yet a year of days cannot rule out a few per cent of it.
SLOW_SHARES = {0.0: 0.65, 0.01: 0.15, 0.03: 0.10, 0.1: 0.06, 0.3: 0.04}


@dataclass(frozen=True)
class NoiseGrid:
    """The combinations tried; arrays of one length. `log_prior` need not be normalised."""

    persistence: FloatArray
    persistent_share: FloatArray
    slow_share: FloatArray
    log_prior: FloatArray
    slow_persistence: float = SLOW_PERSISTENCE

    @property
    def new_share(self) -> FloatArray:
        """Share of the variance that is new every day."""
        return np.clip(1.0 - self.persistent_share - self.slow_share, 0.0, None)

    def __len__(self) -> int:
        return len(self.persistence)


@lru_cache(maxsize=1)
def noise_grid() -> NoiseGrid:
    """Every persistence with every share, and none; the slow share is taken off the top."""
    rows = [(0.0, 0.0, slow, prior) for slow, prior in SLOW_SHARES.items()]
    for persistence, weight in PERSISTENCES.items():
        for share in PERSISTENT_SHARES:
            rows += [
                (persistence, share * (1 - slow), slow, prior * weight / len(PERSISTENT_SHARES))
                for slow, prior in SLOW_SHARES.items()
            ]
    table = np.array(rows)
    return NoiseGrid(table[:, 0], table[:, 1], table[:, 2], np.log(table[:, 3]))


@dataclass(frozen=True)
class Whitened:
    """Columns made independent under each noise of a grid.

    `rows` (n, grid, columns) have unit variance and no correlation when a column is such noise;
    `log_determinant` (grid) is that of the correlation matrix.
    """

    rows: FloatArray
    log_determinant: FloatArray


def whiten(columns: FloatArray, times: FloatArray, grid: NoiseGrid) -> Whitened:
    """Prediction-error decomposition of `columns` (n, k) at rising `times`, for the whole grid at once.

    Source: the Kalman filter's innovations (Harvey 1989, Forecasting, Structural Time Series Models
    and the Kalman Filter, section 3.4; from memory), exact for this covariance.
    """
    n, k = columns.shape
    size = len(grid)
    share_p, share_s, share_n = grid.persistent_share, grid.slow_share, grid.new_share
    state_p, state_s = np.zeros((size, k)), np.zeros((size, k))
    var_p, var_s, var_ps = share_p.copy(), share_s.copy(), np.zeros(size)
    rows = np.empty((n, size, k))
    log_determinant = np.zeros(size)
    keeps = {step: grid.persistence**step for step in np.unique(np.diff(times))}
    for t in range(n):
        if t:
            step = times[t] - times[t - 1]
            keep_p, keep_s = keeps[step], grid.slow_persistence**step
            state_p *= keep_p[:, None]
            state_s *= keep_s
            var_p = keep_p**2 * (var_p - share_p) + share_p
            var_s = keep_s**2 * (var_s - share_s) + share_s
            var_ps = keep_p * keep_s * var_ps
        spread = var_p + var_s + 2 * var_ps + share_n
        gain_p, gain_s = (var_p + var_ps) / spread, (var_ps + var_s) / spread
        surprise = columns[t] - state_p - state_s
        rows[t] = surprise / np.sqrt(spread)[:, None]
        log_determinant += np.log(spread)
        state_p += gain_p[:, None] * surprise
        state_s += gain_s[:, None] * surprise
        var_p = var_p - gain_p**2 * spread
        var_s = var_s - gain_s**2 * spread
        var_ps = var_ps - gain_p * gain_s * spread
    return Whitened(rows, log_determinant)


def variance_of_sum(weights: FloatArray, times: FloatArray, grid: NoiseGrid) -> FloatArray:
    """Variance of sum(weights * noise) at rising `times`, for each noise of the grid of unit variance.

    `weights` (..., n) may hold several sums, the result (..., grid) then has a row for each.
    """
    values, place = np.unique(grid.persistence, return_inverse=True)
    decay = np.append(values, grid.slow_persistence)
    carried = np.zeros((*weights.shape[:-1], len(decay)))
    total = np.zeros_like(carried)
    for t in range(1, len(times)):
        carried = (carried + weights[..., t - 1, None]) * decay ** (times[t] - times[t - 1])
        total += 2 * weights[..., t, None] * carried
    square = np.sum(weights**2, axis=-1)[..., None]
    slow = grid.slow_share * total[..., -1:]
    return np.asarray(square + grid.persistent_share * total[..., :-1][..., place] + slow)
