"""Autocorrelation-consistent covariance on Greene's investment data.

Source: Greene, Econometric Analysis, 2nd ed., table 15.1 (data as in CRAN package sandwich,
`Investment`); Newey-West lag 4 without prewhitening as that package prints it.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from mv.regression import lag1_autocorrelation, least_squares
from mv.regression.published import effective_points, newey_west

CHECK = Path(__file__).resolve().parents[3] / "shared" / "check-data.json"


@pytest.fixture(scope="module")
def data() -> tuple[np.ndarray, np.ndarray]:
    """Real investment, and constant, real GNP and real interest; 19 years."""
    if not CHECK.is_file():
        pytest.skip(f"the check data are not at {CHECK}")
    raw = {k: np.array(v) for k, v in json.loads(CHECK.read_text("utf-8"))["greene_investment_raw"].items()}
    price = raw["Price"]
    interest = raw["Interest"][1:] - 100 * np.diff(price) / price[:-1]
    y = (raw["Investment"] / price)[1:]
    return y, np.column_stack([np.ones(19), (raw["GNP"] / price)[1:], interest])


def test_least_squares_of_the_table(data: tuple[np.ndarray, np.ndarray]) -> None:
    fit = least_squares(*data)
    np.testing.assert_allclose(fit.coefficients, [-12.53360, 0.16914, -1.00144], atol=6e-6)
    np.testing.assert_allclose(fit.standard_errors, [24.91527, 0.02057, 2.36875], atol=6e-6)
    assert fit.r2 == pytest.approx(0.8141, abs=5e-5)


def test_newey_west_with_four_lags(data: tuple[np.ndarray, np.ndarray]) -> None:
    y, design = data
    covariance = newey_west(design, least_squares(y, design).residuals, 4)
    np.testing.assert_allclose(np.diag(covariance), [359.4170681, 2.805888e-4, 11.171472998], rtol=1e-6)
    assert covariance[0, 1] == pytest.approx(-0.3115505, rel=1e-6)


def test_our_lag_1_autocorrelation_is_the_yule_walker_one(data: tuple[np.ndarray, np.ndarray]) -> None:
    """Calculated: 0.222000 by sum e e-1 / sum e^2, and n' 12.10; other estimators give up to 0.34."""
    rho = lag1_autocorrelation(least_squares(*data).residuals)
    assert rho == pytest.approx(0.222000, abs=1e-6)
    assert effective_points(19, rho) == pytest.approx(12.10, abs=0.005)
