"""Ordinary least squares by statsmodels, with the questions asked first that it does not ask."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class LeastSquares:
    """An ordinary least-squares fit; `covariance` is that of independent equal noise."""

    coefficients: FloatArray
    standard_errors: FloatArray
    covariance: FloatArray
    fitted: FloatArray
    residuals: FloatArray
    residual_variance: float
    r2: float
    freedom: int


def independent_columns(design: FloatArray, *, tolerance: float = 1e-9) -> list[int]:
    """Columns, first come first kept, that are not a combination of those before.

    `tolerance` is the share of a column's length that must be new (Gram-Schmidt, done twice).
    """
    kept: list[int] = []
    basis = np.empty((design.shape[0], 0))
    for number in range(design.shape[1]):
        column = design[:, number].astype(np.float64)
        length = float(np.linalg.norm(column))
        for _ in range(2):
            column = column - basis @ (basis.T @ column)
        rest = float(np.linalg.norm(column))
        if length > 0 and rest > tolerance * length:
            kept.append(number)
            basis = np.column_stack([basis, column / rest])
    return kept


def least_squares(y: FloatArray, design: FloatArray) -> LeastSquares:
    """Minimise |y - design b|^2. `design` (n x p) holds its own intercept, if any.

    R2 is about the mean when the columns contain a constant, about zero otherwise. Raises ValueError
    for NaN, for n < p, or when columns depend on one another: choose with `independent_columns`.
    """
    from statsmodels.regression.linear_model import OLS

    n, p = design.shape
    if not (np.isfinite(y).all() and np.isfinite(design).all()):
        raise ValueError("least squares needs finite values: leave out days with a gap first")
    if n < p:
        raise ValueError(f"{n} points cannot fit {p} coefficients")
    result = OLS(y, design).fit(method="pinv")
    if int(np.linalg.matrix_rank(design / np.linalg.norm(design, axis=0))) < p:
        raise ValueError("the columns depend on one another")
    free = n - p
    residuals = np.asarray(result.resid, dtype=np.float64)
    return LeastSquares(
        coefficients=np.asarray(result.params, dtype=np.float64),
        standard_errors=np.asarray(result.bse, dtype=np.float64) if free else np.full(p, np.nan),
        covariance=np.asarray(result.cov_params(), dtype=np.float64) if free else np.full((p, p), np.nan),
        fitted=np.asarray(result.fittedvalues, dtype=np.float64),
        residuals=residuals,
        residual_variance=float(residuals @ residuals / free) if free else float("nan"),
        r2=float(result.rsquared) if np.sum((y - y.mean()) ** 2) > 0 else float("nan"),
        freedom=free,
    )
