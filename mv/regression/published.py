"""The published intervals of a total of savings, shown beside ours for reviewers, never in its place.

Each function returns a half-width in the unit of the total (kWh). n baseline points, p coefficients,
m reporting points, rho the lag-1 autocorrelation of the baseline's residuals.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from mv.regression.least_squares import least_squares
from mv.regression.noise import NoiseGrid
from mv.regression.posterior import posterior
from mv.regression.statistics import lag1_autocorrelation

FloatArray = npt.NDArray[np.float64]

REDDY_CLARIDGE_FACTOR = 1.26
# Sun & Baltazar 2013 (coefficients from memory): factor = a M^2 + b M + c over M reporting months.
DAILY_POLYNOMIAL = (-0.00024, 0.03535, 1.00286)
MONTHLY_POLYNOMIAL = (-0.00022, 0.03306, 0.94054)


@dataclass(frozen=True, slots=True)
class PublishedInterval:
    """A published method's half-width at the study's confidence; None where it cannot be computed."""

    method: str
    half_width: float | None
    source: str


@lru_cache(maxsize=256)
def student_t(confidence: float, freedom: float) -> float:
    """Two-sided Student t."""
    from scipy.special import stdtrit

    return float(stdtrit(freedom, 0.5 + confidence / 2))


def effective_points(n: float, rho: float) -> float:
    """n' = n (1 - rho) / (1 + rho). Guideline 14 annex B (from memory); rho in (-1, 1)."""
    return n * (1 - rho) / (1 + rho)


def month_factor(months: float, polynomial: tuple[float, float, float]) -> float:
    """Sun & Baltazar's replacement for 1.26, fitted for 1 to 12 months: held at the ends beyond."""
    a, b, c = polynomial
    held = min(max(months, 1.0), 12.0)
    return a * held**2 + b * held + c


def fractional_savings_uncertainty(
    cv: float, savings_fraction: float, n: int, m: int, p: int, *,
    rho: float = 0.0, confidence: float = 0.90, factor: float = REDDY_CLARIDGE_FACTOR,
) -> float:  # fmt: skip
    """Half-width over savings: t factor CV/F sqrt((n/n') (1 + 2/n') / m).

    Source: Reddy & Claridge 2000, HVAC&R Research; ASHRAE Guideline 14 annex B (from memory). `cv`
    with n - p; t has n - p degrees of freedom (n' - p is the other reading, under 1 % apart for a
    year of days). Known to be too narrow when residuals are autocorrelated.
    """
    effective = effective_points(n, rho)
    spread = (n / effective) * (1 + 2 / effective) / m
    return float(student_t(confidence, n - p) * factor * cv / savings_fraction * np.sqrt(spread))


def exact_least_squares(y: FloatArray, design: FloatArray, later: FloatArray, confidence: float) -> float:
    """t s sqrt(m + 1'X0 (X'X)^-1 X0'1): the total of m predictions under independent noise.

    Source: Kutner et al., Applied Linear Statistical Models, 5th ed., section 6.7 (from memory).
    """
    fit = least_squares(y, design)
    total = later.sum(axis=0)
    variance = fit.residual_variance * len(later) + total @ fit.covariance @ total
    return float(student_t(confidence, fit.freedom) * np.sqrt(variance))


def autocorrelation_consistent(
    y: FloatArray, design: FloatArray, later: FloatArray, confidence: float
) -> float:
    """Newey-West (1987) covariance of the coefficients and of the later days' sum, Bartlett weights.

    Bandwidth floor(4 (n/100)^(2/9)); no small-sample factor. From memory.
    """
    fit = least_squares(y, design)
    lags = int(np.floor(4 * (len(y) / 100) ** (2 / 9)))
    covariance = newey_west(design, fit.residuals, lags)
    long_run = float(newey_west(np.ones((len(y), 1)), fit.residuals, lags)[0, 0]) * len(y)
    total = later.sum(axis=0)
    variance = total @ covariance @ total + long_run * len(later)
    return float(student_t(confidence, fit.freedom) * np.sqrt(max(variance, 0.0)))


def newey_west(design: FloatArray, residuals: FloatArray, lags: int) -> FloatArray:
    """Covariance of least-squares coefficients: (X'X)^-1 S (X'X)^-1 with Bartlett weights to `lags`.

    Source: Newey & West 1987, Econometrica 55:703. No small-sample correction.
    """
    scores = design * residuals[:, None]
    middle = scores.T @ scores
    for lag in range(1, lags + 1):
        cross = scores[lag:].T @ scores[:-lag]
        middle += (1 - lag / (lags + 1)) * (cross + cross.T)
    bread = np.linalg.inv(design.T @ design)
    return np.asarray(bread @ middle @ bread)


def first_order_generalised(
    y: FloatArray, design: FloatArray, later: FloatArray,
    times: FloatArray, later_times: FloatArray, confidence: float,
) -> float:  # fmt: skip
    """Generalised least squares with one plugged-in AR(1) persistence (Prais & Winsten 1954)."""
    found = lag1_autocorrelation(least_squares(y, design).residuals)
    rho = float(np.clip(found, 0.0, 0.99)) if np.isfinite(found) else 0.0  # a fit without residuals
    one = NoiseGrid(np.array([rho]), np.array([1.0]), np.array([0.0]), np.array([0.0]))
    ones, none = np.ones(len(y)), np.zeros(design.shape[1])
    belief = posterior(y, design, times, ones, [(none, 1.0)], grid=one)
    total = belief.predicted_total(later.sum(axis=0), np.ones(len(later)), later_times)
    return float(student_t(confidence, belief.freedom) * total.scale[0])


def published_intervals(
    y: FloatArray, design: FloatArray, times: FloatArray,
    later: FloatArray, later_times: FloatArray, *, confidence: float, step_days: float = 1.0,
) -> tuple[PublishedInterval, ...]:  # fmt: skip
    """Every published half-width for the total over the `later` days."""
    fit = least_squares(y, design)
    n, p, m = len(y), design.shape[1], len(later)
    rmse = float(np.sqrt(fit.residual_variance))
    rho = lag1_autocorrelation(fit.residuals)
    rho = float(np.clip(rho, -0.99, 0.99)) if np.isfinite(rho) else 0.0
    months = float(later_times[-1] - later_times[0] + 1) * step_days / 30.44
    polynomial = DAILY_POLYNOMIAL if step_days < 15 else MONTHLY_POLYNOMIAL

    def guideline(rho: float, factor: float) -> float:  # CV/F of 1/m each: half-width in kWh
        return (
            rmse
            * m
            * fractional_savings_uncertainty(1.0, 1.0, n, m, p, rho=rho, confidence=confidence, factor=factor)
        )

    return (
        PublishedInterval("ordinary least squares", exact_least_squares(y, design, later, confidence),
                          "Kutner et al., Applied Linear Statistical Models, 5th ed. (from memory)"),
        PublishedInterval("Guideline 14, autocorrelated", guideline(rho, REDDY_CLARIDGE_FACTOR),
                          "Reddy & Claridge 2000; ASHRAE Guideline 14 annex B (from memory)"),
        PublishedInterval("Guideline 14, polynomial", guideline(rho, month_factor(months, polynomial)),
                          "Sun & Baltazar 2013, ASHRAE Trans. 119-1 (coefficients from memory)"),
        PublishedInterval("Newey-West", autocorrelation_consistent(y, design, later, confidence),
                          "Newey & West 1987, Econometrica 55:703 (from memory)"),
        PublishedInterval("AR(1) generalised least squares",
                          first_order_generalised(y, design, later, times, later_times, confidence),
                          "Prais & Winsten 1954 (from memory)"),
    )  # fmt: skip
