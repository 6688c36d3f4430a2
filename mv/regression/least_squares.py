"""Ordinary least squares by singular values, with the questions asked first that a solver does not ask."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

LEAST_NEW_SHARE = 1e-9  # of a column's length that those before it do not hold


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


def independent_columns(design: FloatArray, *, tolerance: float = LEAST_NEW_SHARE) -> list[int]:
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
    n, p = design.shape
    if not (np.isfinite(y).all() and np.isfinite(design).all()):
        raise ValueError("least squares needs finite values: leave out days with a gap first")
    if n < p:
        raise ValueError(f"{n} points cannot fit {p} coefficients")
    size = np.linalg.norm(design, axis=0)
    if (size == 0).any() or int(np.linalg.matrix_rank(design / size)) < p:
        raise ValueError("the columns depend on one another")
    left, singular, right = np.linalg.svd(design / size, full_matrices=False)  # unit columns: watts and
    inverse = right.T / singular  # hours differ by 1e6
    free = n - p
    coefficients = inverse @ (left.T @ y) / size
    fitted = design @ coefficients
    residuals = y - fitted
    variance = float(residuals @ residuals / free) if free else float("nan")
    covariance = variance * (inverse @ inverse.T) / np.outer(size, size)
    return LeastSquares(
        coefficients=coefficients,
        standard_errors=np.sqrt(np.diag(covariance)),
        covariance=covariance,
        fitted=fitted,
        residuals=residuals,
        residual_variance=variance,
        r2=_r2(y, residuals, _has_constant(design)),
        freedom=free,
    )


def _has_constant(design: FloatArray) -> bool:
    """Whether some combination of the columns is a constant."""
    ones = np.ones(len(design))
    scaled = design / np.linalg.norm(design, axis=0)
    return bool(np.allclose(scaled @ np.linalg.lstsq(scaled, ones, rcond=None)[0], ones, atol=1e-8))


def _r2(y: FloatArray, residuals: FloatArray, has_constant: bool) -> float:
    apart = y - y.mean() if has_constant else y
    square = float(apart @ apart)
    return float(1 - residuals @ residuals / square) if square > 0 else float("nan")
