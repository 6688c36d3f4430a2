"""Prediction limits and a sum of predictions on the Toluca data.

Source: Kutner, Nachtsheim, Neter & Li 2005, Applied Linear Statistical Models, 5th ed., chapters 1-2
(lot size and work hours; data as in CRAN package ALSM). The book prints 332.2-506.6 for one new lot
of 100 and 365.2-473.5 for the mean of three; the sum of six is calculated from its section 6.7.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from mv.regression import cv_rmse, durbin_watson, least_squares
from mv.regression.noise import NoiseGrid
from mv.regression.posterior import posterior
from mv.regression.published import exact_least_squares, student_t

X = np.array([80, 30, 50, 90, 70, 60, 120, 80, 100, 50, 40, 70, 90, 20, 110, 100, 30, 50, 90, 110,
              30, 90, 40, 80, 70.0])  # fmt: skip
Y = np.array([399, 121, 221, 376, 361, 224, 546, 352, 353, 157, 160, 252, 389, 113, 435, 420, 212,
              268, 377, 421, 273, 468, 244, 342, 323.0])  # fmt: skip
DESIGN = np.column_stack([np.ones(25), X])
WHITE = NoiseGrid(np.zeros(1), np.zeros(1), np.zeros(1), np.zeros(1))
SIX = np.column_stack([np.ones(6), [20.0, 50, 65, 80, 100, 120]])


def test_fit_of_the_book() -> None:
    fit = least_squares(Y, DESIGN)
    np.testing.assert_allclose(fit.coefficients, [62.365859, 3.570202], atol=1e-6)
    np.testing.assert_allclose(fit.standard_errors, [26.177434, 0.346972], atol=1e-6)
    assert fit.residual_variance == pytest.approx(2383.715617, abs=1e-6)
    assert fit.r2 == pytest.approx(0.821533, abs=1e-6)
    assert cv_rmse(Y, fit.fitted, 2) == pytest.approx(0.156345, abs=1e-6)
    assert durbin_watson(fit.residuals) == pytest.approx(1.431790, abs=1e-6)


def test_ninety_per_cent_limits_of_one_new_lot() -> None:
    half = exact_least_squares(Y, DESIGN, np.array([[1.0, 100.0]]), 0.90)
    assert 419.38606 - half == pytest.approx(332.207, abs=0.001)
    assert 419.38606 + half == pytest.approx(506.565, abs=0.001)


def test_ninety_per_cent_limits_of_the_mean_of_three_new_lots() -> None:
    half = exact_least_squares(Y, DESIGN, np.tile([1.0, 100.0], (3, 1)), 0.90) / 3
    assert 419.38606 - half == pytest.approx(365.236, abs=0.001)
    assert 419.38606 + half == pytest.approx(473.537, abs=0.001)


def test_a_sum_of_six_carries_the_covariance_of_the_coefficients() -> None:
    error = exact_least_squares(Y, DESIGN, SIX, 0.90) / student_t(0.90, 23)
    assert error == pytest.approx(133.273898, abs=1e-4)  # not 119.592 (none) nor 125.092 (one by one)


def test_our_own_belief_agrees_where_days_are_known_to_be_independent() -> None:
    belief = posterior(Y, DESIGN, np.arange(25.0), np.ones(25), [(np.zeros(2), 1.0)], grid=WHITE)
    total = belief.predicted_total(SIX.sum(axis=0), np.ones(6), np.arange(100.0, 106.0))
    assert total.mean == pytest.approx(1927.233030, abs=1e-5)
    assert total.scale[0] == pytest.approx(133.273898, abs=1e-4)
    lot = belief.mean_total(np.array([1.0, 100.0])).estimate(0.90)
    assert lot.low == pytest.approx(394.925, abs=0.001)
    assert lot.high == pytest.approx(443.847, abs=0.001)


def test_the_data_are_those_of_the_check_file() -> None:
    path = Path(__file__).resolve().parents[3] / "shared" / "check-data.json"
    if not path.is_file():
        pytest.skip(f"the check data are not at {path}")
    data = json.loads(path.read_text(encoding="utf-8"))["toluca"]
    assert data["x"] == X.tolist()
    assert data["y"] == Y.tolist()
