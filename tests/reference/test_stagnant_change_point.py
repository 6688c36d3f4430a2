"""A continuous two-line fit on the stagnant-band data.

Source: Bacon & Watts 1971, Biometrika 58:525 (29 rows as in the BUGS examples, vol. 2). Least-squares
values calculated; the posterior means printed there (break 0.026, slopes -0.418 and -1.014) enclose them.
"""

import numpy as np
import pytest

from mv.regression import two_lines

X = np.array([-1.39, -1.39, -1.08, -1.08, -0.94, -0.80, -0.63, -0.63, -0.25, -0.25, -0.12, -0.12, 0.01,
              0.11, 0.11, 0.11, 0.25, 0.25, 0.34, 0.34, 0.44, 0.59, 0.70, 0.70, 0.85, 0.85, 0.99, 0.99,
              1.19])  # fmt: skip
Y = np.array([1.12, 1.12, 0.99, 1.03, 0.92, 0.90, 0.81, 0.83, 0.65, 0.67, 0.60, 0.59, 0.51, 0.44, 0.43,
              0.43, 0.33, 0.30, 0.25, 0.24, 0.13, -0.01, -0.13, -0.14, -0.30, -0.33, -0.46, -0.43,
              -0.65])  # fmt: skip


def test_all_29_rows() -> None:
    fit = two_lines(X, Y)
    assert fit.change == pytest.approx(0.0359120, abs=1e-6)
    assert fit.level == pytest.approx(0.529503, abs=1e-6)
    assert fit.slope_below == pytest.approx(-0.422077, abs=1e-6)
    assert fit.slope_above == pytest.approx(-1.016593, abs=1e-6)
    assert fit.residual_square_sum == pytest.approx(0.00938136, rel=1e-5)


def test_the_28_rows_of_another_package() -> None:
    keep = np.ones(29, dtype=bool)
    keep[13] = False  # 0.11, 0.44
    fit = two_lines(X[keep], Y[keep])
    assert fit.change == pytest.approx(0.0411058, abs=1e-6)
    assert fit.slope_above == pytest.approx(-1.020568, abs=1e-6)
    assert fit.residual_square_sum == pytest.approx(0.00914020, rel=1e-5)
