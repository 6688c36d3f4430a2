"""Durbin-Watson on the growth-of-money data.

Source: Hetzel 1981, in Krämer & Sonnberger 1986, table 6.7 (CRAN package lmtest, `growthofmoney`).
"""

import numpy as np
import pytest

from mv.regression import durbin_watson, least_squares

Y = np.array([0, 1, 1, 2.5, -6, 4.5, -0.5, -1, 0.5, -1.5, -0.25, -0.75, 0, 0.75, 0, 0, 0.5, 0.25, 0])
X = np.array([-0.4, -1, 1.1, 5.8, -4.4, -1.6, 1.6, -1.4, 4.4, 0, -0.7, 0.1, 0.65, -1.4, 2.8, 2.15,
              -0.85, -1.65, -2.55])  # fmt: skip


@pytest.mark.parametrize(
    ("rows", "line", "statistic"),
    [
        (np.arange(19), (0.007322, 0.324858), 2.9046),
        (np.delete(np.arange(19), [4, 5]), (0.05673, 0.17752), 1.5019),
    ],
)
def test_line_and_statistic(rows: np.ndarray, line: tuple[float, float], statistic: float) -> None:
    fit = least_squares(Y[rows], np.column_stack([np.ones(len(rows)), X[rows]]))
    np.testing.assert_allclose(fit.coefficients, line, atol=5e-6)
    assert durbin_watson(fit.residuals) == pytest.approx(statistic, abs=5e-5)
