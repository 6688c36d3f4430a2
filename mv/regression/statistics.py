"""Goodness of fit, one published equation a function.

Guideline 14 is ASHRAE Guideline 14 (2002, 2014), whose definitions are quoted from memory; p counts
every fitted parameter, the intercept included.
"""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


def cv_rmse(actual: FloatArray, modelled: FloatArray, parameters: int) -> float:
    """CV(RMSE) as a fraction: sqrt(sum (y - m)^2 / (n - p)) / mean(y). Guideline 14 (from memory).

    NaN where n <= p or the mean is zero.
    """
    free, mean = len(actual) - parameters, float(np.mean(actual)) if len(actual) else 0.0
    if free <= 0 or mean == 0.0:
        return float("nan")
    return float(np.sqrt(np.sum((actual - modelled) ** 2) / free) / mean)


def nmbe(actual: FloatArray, modelled: FloatArray, parameters: int) -> float:
    """NMBE as a fraction: sum(y - m) / ((n - p) mean(y)); positive when the model is too low.

    Guideline 14 (from memory). NaN where n <= p or the mean is zero.
    """
    free, mean = len(actual) - parameters, float(np.mean(actual)) if len(actual) else 0.0
    if free <= 0 or mean == 0.0:
        return float("nan")
    return float(np.sum(actual - modelled) / (free * mean))


def net_bias(actual: FloatArray, modelled: FloatArray) -> float:
    """Net determination bias as a fraction: sum(y - m) / sum(y). Guideline 14 (from memory)."""
    total = float(np.sum(actual))
    return float("nan") if total == 0.0 else float(np.sum(actual - modelled) / total)


def r_squared(actual: FloatArray, modelled: FloatArray, *, has_intercept: bool = True) -> float:
    """1 - SSE/SST; SST about the mean with an intercept, about zero without. NaN where SST is 0."""
    centre = float(np.mean(actual)) if has_intercept else 0.0
    total = float(np.sum((actual - centre) ** 2))
    return float("nan") if total <= 0.0 else float(1.0 - np.sum((actual - modelled) ** 2) / total)


def lag1_autocorrelation(residuals: FloatArray) -> float:
    """sum e_t e_(t-1) / sum e_t^2: the Yule-Walker estimator, the one of several that we report.

    NaNs mark days without a residual: a product counts only where both days are there. NaN where
    there are fewer than three residuals or all are zero.
    """
    kept = residuals[np.isfinite(residuals)]
    square = float(np.sum(kept**2))
    if len(kept) < 3 or square == 0.0:
        return float("nan")
    products = residuals[1:] * residuals[:-1]
    pairs = np.isfinite(products)
    if not pairs.any():
        return float("nan")
    share = pairs.sum() / (len(kept) - 1)
    return float(np.sum(products[pairs]) / square / share)


def durbin_watson(residuals: FloatArray) -> float:
    """sum (e_t - e_(t-1))^2 / sum e_t^2 (Durbin & Watson 1950); near 2 without autocorrelation."""
    square = float(np.sum(residuals**2))
    if len(residuals) < 2 or square == 0.0:
        return float("nan")
    return float(np.sum(np.diff(residuals) ** 2) / square)
