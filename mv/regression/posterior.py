"""Least squares whose uncertainty is averaged over noise of unknown persistence.

The coefficients are those of (shrunk) least squares, which keep the model's total over the baseline
equal to the meter's whatever the noise. What is not known is how the departures hang together: every
noise of a grid gets a weight by its restricted likelihood, and every quantity is a mixture over them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mv.base.mixture import StudentMixture
from mv.regression.noise import NoiseGrid, noise_grid, variance_of_sum, whiten

FloatArray = npt.NDArray[np.float64]

# Noise variance over the prior variance of a level that all departures share, where it is put aside.
LEVEL_PRECISION = 0.1


@dataclass(frozen=True)
class Posterior:
    """Coefficients (p), and what is believed of their error under each noise of the grid.

    `covariance` (grid, p, p) for unit noise variance, `variance` (grid) of the noise; `carry_persistent`
    and `carry_slow` (grid, p): the coefficients' covariance with the persistent and the slow part
    of the noise at the last baseline time, for unit noise variance.
    """

    grid: NoiseGrid
    weight: FloatArray
    coefficients: FloatArray
    covariance: FloatArray
    variance: FloatArray
    carry_persistent: FloatArray
    carry_slow: FloatArray
    last_time: float
    freedom: int

    @property
    def mean_covariance(self) -> FloatArray:
        """Covariance of the coefficients, averaged over the noise."""
        return np.asarray(np.einsum("g,g,gij->ij", self.weight, self.variance, self.covariance))

    def noise_summary(self) -> dict[str, float]:
        """Mean correlation of departures at 1, 7 and 30 steps, as believed."""
        return {f"{lag}": float(self.weight @ self._correlation(lag)) for lag in (1, 7, 30)}

    def _correlation(self, lag: float) -> FloatArray:
        persistent = self.grid.persistent_share * self.grid.persistence**lag
        return np.asarray(persistent + self.grid.slow_share * self.grid.slow_persistence**lag)

    def mean_total(self, columns_sum: FloatArray) -> StudentMixture:
        """Belief about columns_sum @ coefficients: the model's mean, no day's own departure."""
        spread = np.einsum("i,gij,j->g", columns_sum, self.covariance, columns_sum)
        return self._mixture(columns_sum, spread)

    def predicted_total(
        self, columns_sum: FloatArray, noise_weights: FloatArray, times: FloatArray
    ) -> StudentMixture:
        """Belief about the sum of other days, their own departures included; see `predicted_totals`."""
        return self.predicted_totals(columns_sum[None], noise_weights[None], times)[0]

    def predicted_totals(
        self, columns_sums: FloatArray, noise_weights: FloatArray, times: FloatArray
    ) -> list[StudentMixture]:
        """Beliefs about several sums over other days, their own departures included.

        A row of `columns_sums` (m, p) and of `noise_weights` (m, n) for each: the days' noise scales at
        rising `times`, 0 on days that are not in the sum. The error of the coefficients and departures
        after the baseline share what persists from it; days before its end are taken as independent
        of it.
        """
        lead = np.where(times > self.last_time, times - self.last_time, np.inf)
        values, place = np.unique(self.grid.persistence, return_inverse=True)
        reach = (noise_weights @ (values[:, None] ** lead).T)[:, place]
        slow = (noise_weights @ self.grid.slow_persistence**lead)[:, None]
        shared = reach * (columns_sums @ self.carry_persistent.T) + slow * (columns_sums @ self.carry_slow.T)
        own = variance_of_sum(noise_weights, times, self.grid)
        error = ((columns_sums @ self.covariance) * columns_sums).sum(axis=-1).T
        spreads = own + error - 2 * shared
        return [self._mixture(*pair) for pair in zip(columns_sums, spreads, strict=True)]

    def _mixture(self, columns_sum: FloatArray, spread: FloatArray) -> StudentMixture:
        centre = np.full(len(self.grid), float(columns_sum @ self.coefficients))
        scale = np.sqrt(np.clip(self.variance * spread, 0.0, None))
        return StudentMixture(self.weight, centre, scale, self.freedom)


def posterior(
    y: FloatArray,
    design: FloatArray,
    times: FloatArray,
    noise_scale: FloatArray,
    precisions: Sequence[tuple[FloatArray, float]],
    *,
    grid: NoiseGrid | None = None,
    level_aside: bool = False,
) -> Posterior:
    """Coefficients and noise given y (n), design (n, p) at rising `times` (steps).

    `noise_scale` (n) is each day's relative scale of noise. Each of `precisions` holds the noise
    variance over the prior variance of each coefficient (p; 0 for a free one, which costs a degree of
    freedom) and its weight before the data speak; the one with the most weight after them is used.
    With `level_aside` a level that all departures share, each at its scale, says nothing of their memory:
    where the scale differs from day to day it is a form that does not fit, not noise that lasts.
    """
    grid = noise_grid() if grid is None else grid
    seen = np.column_stack([design, noise_scale]) if level_aside else design
    moments, log_determinant = _moments(y, seen, times, noise_scale, grid)
    beliefs = [
        (_noise_belief(moments, log_determinant, len(y), _padded(precision, seen), grid), precision, prior)
        for precision, prior in precisions
    ]
    belief, precision, _ = max(beliefs, key=lambda entry: entry[0].evidence + np.log(entry[2]))
    weight, variance = belief.weight, belief.variance
    lasting = grid.persistent_share * (1 + grid.persistence) / (1 - grid.persistence) + grid.new_share
    shrink = np.diag(precision * float(weight @ lasting))
    gain = np.linalg.pinv(_scaled(design.T @ design + shrink), hermitian=True)
    size = np.sqrt(np.diag(design.T @ design + shrink))
    gain = gain / np.outer(size, size)
    weights = gain @ design.T
    covariance, carry_p, carry_s = _error_parts(weights * noise_scale, times, grid)
    covariance = covariance + (gain @ shrink @ gain)[None]
    return Posterior(
        grid=grid,
        weight=weight,
        coefficients=weights @ y,
        covariance=covariance,
        variance=variance,
        carry_persistent=carry_p,
        carry_slow=carry_s,
        last_time=float(times[-1]),
        freedom=int(len(y) - np.sum(precision == 0)),
    )


def _padded(precision: FloatArray, columns: FloatArray) -> FloatArray:
    """`precision`, with that of the level for each further column."""
    return np.append(precision, [LEVEL_PRECISION] * (columns.shape[1] - len(precision)))


def _scaled(normal: FloatArray) -> FloatArray:
    size = np.sqrt(np.diag(normal))
    return np.asarray(normal / np.outer(size, size))


def _error_parts(
    weights: FloatArray, times: FloatArray, grid: NoiseGrid
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Covariance of weights @ noise (p, n) under each noise, and its link to the last time's parts."""
    steps, apart = _steps_apart(times)
    values, place = np.unique(grid.persistence, return_inverse=True)
    by_value = np.stack([weights @ (value**steps)[apart] @ weights.T for value in values])
    to_last = np.stack([weights @ value ** (times[-1] - times) for value in values])
    slow = weights @ (grid.slow_persistence**steps)[apart] @ weights.T
    new = weights @ weights.T
    covariance = (
        grid.persistent_share[:, None, None] * by_value[place]
        + grid.slow_share[:, None, None] * slow
        + grid.new_share[:, None, None] * new
    )
    carry_p = grid.persistent_share[:, None] * to_last[place]
    carry_s = grid.slow_share[:, None] * (weights @ grid.slow_persistence ** (times[-1] - times))
    return covariance, carry_p, carry_s


def _steps_apart(times: FloatArray) -> tuple[FloatArray, npt.NDArray[np.int64]]:
    """The steps that lie between times, each once, and which of them lies between each pair (n, n)."""
    apart = np.abs(times[:, None] - times[None, :])
    whole = apart.astype(np.int64)
    if (whole == apart).all():  # days, as nearly always
        return np.arange(float(whole.max(initial=0)) + 1), whole
    steps, place = np.unique(apart, return_inverse=True)
    return steps, place.reshape(apart.shape)


@dataclass(frozen=True)
class _NoiseBelief:
    """Weight and variance of each noise, and the log of all weights' sum before scaling."""

    weight: FloatArray
    variance: FloatArray
    evidence: float


def _moments(
    y: FloatArray, design: FloatArray, times: FloatArray, noise_scale: FloatArray, grid: NoiseGrid
) -> tuple[FloatArray, FloatArray]:
    """Products of the whitened columns (grid, 1 + p, 1 + p), y first, and log determinants (grid)."""
    whitened = whiten(np.column_stack([y, design]) / noise_scale[:, None], times, grid)
    across = whitened.rows.transpose(1, 2, 0)
    return across @ across.transpose(0, 2, 1), whitened.log_determinant


def _noise_belief(
    moments: FloatArray,
    log_determinant: FloatArray,
    points: int,
    precision: FloatArray,
    grid: NoiseGrid,
) -> _NoiseBelief:
    """Weight and variance of each noise: restricted likelihood times the grid's prior.

    Source: Harville 1977 (restricted likelihood); Box & Tiao 1973 (averaging over it); from memory.
    """
    normal = moments[:, 1:, 1:] + np.diag(precision)
    size = np.sqrt(np.einsum("gii->gi", normal))
    scaled = normal / (size[:, :, None] * size[:, None, :])
    best = np.linalg.solve(scaled, (moments[:, 1:, 0] / size)[:, :, None])[:, :, 0] / size
    remainder = moments[:, 0, 0] - np.einsum("gi,gi->g", moments[:, 1:, 0], best)
    freedom = int(points - np.sum(precision == 0))
    floor = 1e-12 * max(float(moments[:, 0, 0].max()), np.finfo(float).tiny)
    variance = np.maximum(remainder, floor) / freedom
    log_normal = np.linalg.slogdet(scaled)[1] + 2 * np.log(size).sum(axis=1)
    log_weight = grid.log_prior - 0.5 * (log_determinant + log_normal + freedom * np.log(variance))
    log_weight = log_weight + 0.5 * float(np.log(precision[precision > 0]).sum())
    top = float(log_weight.max())
    weight = np.exp(log_weight - top)
    return _NoiseBelief(weight / weight.sum(), variance, top + float(np.log(weight.sum())))
