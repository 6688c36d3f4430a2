"""Regression with noise whose persistence is not known: averaged over, not plugged in."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mv.base.mixture import StudentMixture
from mv.regression.noise import (
    NoiseGrid,
    carried_forward,
    noise_grid,
    variance_of_sum,
    whiten,
)

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Posterior:
    """What is believed of the coefficients under each noise of the grid, and of the noise.

    `coefficients` (grid, p), `covariance` (grid, p, p) for unit noise variance, `variance` (grid);
    `carry` (grid, p): the columns' persistent and slow remainders at the last baseline time.
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
    def mean_coefficients(self) -> FloatArray:
        """Coefficients averaged over the noise."""
        return np.asarray(self.weight @ self.coefficients)

    @property
    def mean_covariance(self) -> FloatArray:
        """Covariance of the coefficients, the spread over the noise included."""
        within = np.einsum("g,g,gij->ij", self.weight, self.variance, self.covariance)
        apart = self.coefficients - self.mean_coefficients
        return np.asarray(within + np.einsum("g,gi,gj->ij", self.weight, apart, apart))

    def noise_summary(self) -> dict[str, float]:
        """Mean correlation of departures at 1, 7 and 30 steps, as believed."""
        return {f"{lag}": float(self.weight @ self._correlation(lag)) for lag in (1, 7, 30)}

    def _correlation(self, lag: float) -> FloatArray:
        persistent = self.grid.persistent_share * self.grid.persistence**lag
        return np.asarray(persistent + self.grid.slow_share * self.grid.slow_persistence**lag)

    def mean_total(self, columns_sum: FloatArray) -> StudentMixture:
        """Belief about columns_sum @ coefficients: the model's mean, no day's own departure."""
        spread = np.einsum("i,gij,j->g", columns_sum, self.covariance, columns_sum)
        scale = np.sqrt(np.clip(self.variance * spread, 0.0, None))
        return StudentMixture(self.weight, self.coefficients @ columns_sum, scale, self.freedom)

    def predicted_total(
        self, columns_sum: FloatArray, noise_weights: FloatArray, times: FloatArray
    ) -> StudentMixture:
        """Belief about the sum of future days, their own departures included.

        `noise_weights` are the days' noise scales. The error of the coefficients and the later
        departures share what persists from the baseline; the centre stays the model's own.
        """
        later = times > self.last_time
        lead = np.where(later, times - self.last_time, 0.0)
        part_p, part_s = carried_forward(noise_weights * later, lead, self.grid)
        shared = part_p[:, None] * self.carry_persistent + part_s[:, None] * self.carry_slow
        own = variance_of_sum(noise_weights, times, self.grid)
        through = np.einsum("gij,j->gi", self.covariance, columns_sum)
        spread = own + through @ columns_sum - 2 * np.einsum("gi,gi->g", through, shared)
        scale = np.sqrt(np.clip(self.variance * spread, 0.0, None))
        return StudentMixture(self.weight, self.coefficients @ columns_sum, scale, self.freedom)


def posterior(
    y: FloatArray,
    design: FloatArray,
    times: FloatArray,
    noise_scale: FloatArray,
    precision: FloatArray,
    *,
    grid: NoiseGrid | None = None,
) -> Posterior:
    """Coefficients and noise given y (n), design (n, p) at rising `times` (steps).

    `noise_scale` (n) is each day's relative scale of noise; `precision` (p) the prior precision of
    each coefficient in units of 1/noise variance, 0 for none. The noise's weights are the restricted
    (residual) likelihood times the grid's prior; flat coefficients cost a degree of freedom each.
    Source: Harville 1977 (restricted likelihood); Box & Tiao 1973 (averaging over it); from memory.
    """
    grid = grid or noise_grid()
    whitened = whiten(np.column_stack([y, design]) / noise_scale[:, None], times, grid)
    moments = np.einsum("tgi,tgj->gij", whitened.rows, whitened.rows, optimize=True)
    normal = moments[:, 1:, 1:] + np.diag(precision)
    size = np.sqrt(np.einsum("gii->gi", normal))
    scaled = normal / (size[:, :, None] * size[:, None, :])
    inverse = np.linalg.inv(scaled) / (size[:, :, None] * size[:, None, :])
    coefficients = np.einsum("gij,gj->gi", inverse, moments[:, 1:, 0])
    remainder = moments[:, 0, 0] - np.einsum("gi,gi->g", moments[:, 1:, 0], coefficients)
    freedom = int(len(y) - np.sum(precision == 0))
    floor = 1e-12 * max(float(moments[:, 0, 0].max()), np.finfo(float).tiny)
    variance = np.maximum(remainder, floor) / freedom
    log_normal = np.linalg.slogdet(scaled)[1] + 2 * np.log(size).sum(axis=1)
    log_likelihood = -0.5 * (whitened.log_determinant + log_normal + freedom * np.log(variance))
    log_weight = log_likelihood + grid.log_prior
    weight = np.exp(log_weight - log_weight.max())
    return Posterior(
        grid=grid,
        weight=weight / weight.sum(),
        coefficients=coefficients,
        covariance=inverse,
        variance=variance,
        carry_persistent=whitened.persistent[:, 1:],
        carry_slow=whitened.slow[:, 1:],
        last_time=float(times[-1]),
        freedom=freedom,
    )
