"""How the days' departures from a model hang together in time.

A departure is taken as the sum of three parts of shares that add up to one: a persistent part whose
correlation falls as `persistence ** steps`, a slow part with a memory of months, and a part that is
new every day. Times are steps (days for daily data), so that gaps need no filling.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache

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


@dataclass(frozen=True, eq=False)
class NoiseGrid:
    """The combinations tried; arrays of one length. `log_prior` need not be normalised."""

    persistence: FloatArray
    persistent_share: FloatArray
    slow_share: FloatArray
    log_prior: FloatArray
    slow_persistence: float = SLOW_PERSISTENCE

    @cached_property
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
    if (grid.persistent_share == 1.0).all():
        return _first_order(columns, times, grid)
    n, k = columns.shape
    steps = np.append(np.diff(times), 0.0)
    keeps = _keeps(steps, grid)
    gain, spread = _gains(steps.tobytes(), grid)
    spread_out = {step: np.repeat(keep[:, :, None], k, axis=2) for step, keep in keeps.items()}
    state = np.zeros((2, len(grid), k))  # the persistent and the slow part, as foretold
    told = np.empty_like(state)
    rows = np.empty((n, len(grid), k))
    for t, step in enumerate(steps):
        surprise = rows[t]
        np.subtract(columns[t], state[0], out=surprise)
        surprise -= state[1]
        np.multiply(surprise, gain[t, :, :, None], out=told)
        state += told
        state *= spread_out[step]
    rows /= np.sqrt(spread)[:, :, None]
    return Whitened(rows, np.log(spread).sum(axis=0))


def _first_order(columns: FloatArray, times: FloatArray, grid: NoiseGrid) -> Whitened:
    """The same where all noise persists: only the time before foretells (Prais & Winsten 1954)."""
    keep = grid.persistence ** np.diff(times)[:, None]
    spread = 1.0 - keep**2
    rows = np.repeat(columns[:, None, :], len(grid), axis=1)
    rows[1:] -= keep[:, :, None] * columns[:-1, None, :]
    rows[1:] /= np.sqrt(spread)[:, :, None]
    return Whitened(rows, np.log(spread).sum(axis=0))


def _keeps(steps: FloatArray, grid: NoiseGrid) -> dict[float, FloatArray]:
    """What is left of the persistent and the slow part (2, grid) after each length of step."""
    decay = np.stack([grid.persistence, np.full(len(grid), grid.slow_persistence)])
    return {float(step): decay**step for step in np.unique(steps)}


@lru_cache(maxsize=4)
def _gains(step_bytes: bytes, grid: NoiseGrid) -> tuple[FloatArray, FloatArray]:
    """The filter's gains (n, 2, grid) of both lasting parts and the surprise's variance (n, grid).

    They depend on the times alone, and are remembered: meters of a study have mostly the same days.
    """
    steps = np.frombuffer(step_bytes)
    keeps = _keeps(steps, grid)
    own = np.stack([grid.persistent_share, grid.slow_share, np.zeros(len(grid))])
    squares = {step: np.concatenate([keep**2, [keep[0] * keep[1]]]) for step, keep in keeps.items()}
    fresh = {step: own * (1 - square) for step, square in squares.items()}
    variance = own.copy()  # of the persistent part, of the slow one, and their covariance
    gain, spread = np.empty((len(steps), 2, len(grid))), np.empty((len(steps), len(grid)))
    for t, step in enumerate(steps):
        shared = variance[:2] + variance[2]
        np.add(shared[0], shared[1], out=spread[t])
        spread[t] += grid.new_share
        np.divide(shared, spread[t], out=gain[t])
        variance[:2] -= shared * gain[t]
        variance[2] -= shared[0] * gain[t, 1]
        variance *= squares[step]
        variance += fresh[step]
    return gain, spread


def variance_of_sum(weights: FloatArray, times: FloatArray, grid: NoiseGrid) -> FloatArray:
    """Variance of sum(weights * noise) at rising `times`, for each noise of the grid of unit variance.

    `weights` (..., n) may hold several sums, the result (..., grid) then has a row for each.
    """
    values, place = np.unique(grid.persistence, return_inverse=True)
    decay = np.append(values, grid.slow_persistence)
    by_time = np.moveaxis(weights, -1, 0)[..., None]
    steps = np.diff(times)
    keeps = {step: decay**step for step in np.unique(steps)}
    carried = np.zeros((*weights.shape[:-1], len(decay)))
    total = np.zeros_like(carried)
    for t, step in enumerate(steps):
        carried += by_time[t]
        carried *= keeps[step]
        total += by_time[t + 1] * carried
    total *= 2
    square = np.sum(weights**2, axis=-1)[..., None]
    slow = grid.slow_share * total[..., -1:]
    return np.asarray(square + grid.persistent_share * total[..., :-1][..., place] + slow)
