"""The published shortcut for savings uncertainty, and the figures of fit.

Source: Reddy & Claridge 2000 and ASHRAE Guideline 14 annex B for the formula (from memory); Sun &
Baltazar 2013 for the polynomial (coefficients from memory). The values are calculated from them
independently; they fix n - p, the two-sided t and the sign, on which users of the formula slip.
"""

import numpy as np
import pytest

from mv.regression import cv_rmse, nmbe
from mv.regression.published import (
    DAILY_POLYNOMIAL,
    MONTHLY_POLYNOMIAL,
    effective_points,
    fractional_savings_uncertainty,
    month_factor,
)

# cv, savings fraction, n, m, p, rho, confidence, fractional savings uncertainty
CASES = [
    (0.10, 0.10, 12, 12, 2, 0.0, 0.90, 0.712069),
    (0.05, 0.10, 12, 12, 2, 0.0, 0.90, 0.356034),
    (0.05, 0.10, 12, 12, 2, 0.0, 0.68, 0.205556),
    (0.20, 0.10, 12, 12, 2, 0.0, 0.68, 0.822225),
    (0.10, 0.10, 365, 365, 3, 0.0, 0.90, 0.109056),
    (0.10, 0.10, 365, 365, 3, 0.6, 0.90, 0.219888),
    (0.10, 0.10, 365, 90, 3, 0.6, 0.90, 0.442820),
    (0.20, 0.05, 8760, 8760, 40, 0.0, 0.90, 0.088593),
    (0.20, 0.05, 8760, 8760, 40, 0.9, 0.90, 0.386962),
]


@pytest.mark.parametrize(("cv", "fraction", "n", "m", "p", "rho", "confidence", "expected"), CASES)
def test_fractional_savings_uncertainty(
    cv: float, fraction: float, n: int, m: int, p: int, rho: float, confidence: float, expected: float
) -> None:
    ours = fractional_savings_uncertainty(cv, fraction, n, m, p, rho=rho, confidence=confidence)
    assert ours == pytest.approx(expected, abs=1e-5)


def test_effective_points_of_a_year_at_0_6() -> None:
    assert effective_points(365, 0.6) == pytest.approx(91.25)


@pytest.mark.parametrize(
    ("months", "polynomial", "factor"),
    [(12, DAILY_POLYNOMIAL, 1.39250), (3, DAILY_POLYNOMIAL, 1.10675), (12, MONTHLY_POLYNOMIAL, 1.30558)],
)
def test_month_factor(months: float, polynomial: tuple[float, float, float], factor: float) -> None:
    assert month_factor(months, polynomial) == pytest.approx(factor, abs=5e-6)


def test_the_polynomial_in_the_formula() -> None:
    ours = fractional_savings_uncertainty(
        0.10, 0.10, 365, 365, 3, rho=0.6, factor=month_factor(12, DAILY_POLYNOMIAL)
    )
    assert ours == pytest.approx(0.2430115, abs=1e-6)


def test_cv_rmse_and_nmbe_divide_by_n_less_p() -> None:
    y = np.array([100, 110, 120, 130, 140, 150.0])
    modelled = np.array([102, 108, 123, 128, 139, 153.0])
    assert cv_rmse(y, modelled, 2) == pytest.approx(0.0222710575, abs=1e-9)
    assert nmbe(y, modelled, 2) == pytest.approx(-0.0060, abs=1e-9)
