"""Least squares against NIST's certified values.

Source: NIST Statistical Reference Datasets, linear regression (Norris, Longley, NoInt1, NoInt2,
Wampler1-5, Pontius), https://www.itl.nist.gov/div898/strd/; data columns as kept in folder 15 of the
open data, certified values as quoted there and in statsmodels' and GLM test suites.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from mv.regression import durbin_watson, least_squares, net_bias


def _columns(datasets: Path, name: str) -> dict[str, np.ndarray]:
    path = datasets / "15_nist_reference" / f"strd_{name}.csv"
    with path.open(encoding="utf-8-sig", newline="") as stream:
        rows = list(csv.reader(stream))
    names = [cell.strip().lower() for cell in rows[0]]
    table = np.array([[float(cell) for cell in row] for row in rows[1:] if row])
    return dict(zip(names, table.T, strict=True))


def _powers(x: np.ndarray, degree: int) -> np.ndarray:
    return np.vander(x, degree + 1, increasing=True)


def test_norris(datasets: Path) -> None:
    data = _columns(datasets, "norris")
    fit = least_squares(data["y"], _powers(data["x"], 1))
    np.testing.assert_allclose(fit.coefficients, [-0.262323073774029, 1.00211681802045], rtol=1e-10)
    np.testing.assert_allclose(fit.standard_errors, [0.232818234301152, 0.429796848199937e-03], rtol=1e-10)
    assert np.sqrt(fit.residual_variance) == pytest.approx(0.884796396144373, rel=1e-10)
    assert fit.r2 == pytest.approx(0.999993745883712, abs=1e-12)
    assert abs(net_bias(data["y"], fit.fitted)) < 1e-12
    assert durbin_watson(fit.residuals) == pytest.approx(1.2715090, abs=1e-6)  # recomputed, not NIST's


def test_longley(datasets: Path) -> None:
    data = _columns(datasets, "longley")
    y = data.pop("y") if "y" in data else data.pop("totemp")
    fit = least_squares(y, np.column_stack([np.ones(len(y)), *data.values()]))
    certified = [
        -3482258.63459582, 15.0618722713733, -0.0358191792925910, -2.02022980381683,
        -1.03322686717359, -0.0511041056535807, 1829.15146461355,
    ]  # fmt: skip
    errors = [
        890420.383607373, 84.9149257747669, 0.0334910077722432, 0.488399681651699,
        0.214274163161675, 0.226073200069370, 455.478499142212,
    ]  # fmt: skip
    np.testing.assert_allclose(fit.coefficients, certified, rtol=1e-9)
    np.testing.assert_allclose(fit.standard_errors, errors, rtol=1e-9)
    assert np.sqrt(fit.residual_variance) == pytest.approx(304.854073561965, rel=1e-9)
    assert fit.r2 == pytest.approx(0.995479004577296, abs=1e-10)
    assert durbin_watson(fit.residuals) == pytest.approx(2.559488, abs=1e-6)


@pytest.mark.parametrize(
    ("name", "slope", "error", "deviation", "r2"),
    [
        ("noint1", 2.07438016528926, 0.0165289256198347, 3.56753034006338, 0.999365492298663),
        ("noint2", 0.727272727272727, 0.0420827318078432, 0.369274472937998, 0.993348115299335),
    ],
)
def test_without_an_intercept_r2_is_about_zero(
    datasets: Path, name: str, slope: float, error: float, deviation: float, r2: float
) -> None:
    data = _columns(datasets, name)
    fit = least_squares(data["y"], data["x"][:, None])
    assert fit.coefficients[0] == pytest.approx(slope, rel=1e-10)
    assert fit.standard_errors[0] == pytest.approx(error, rel=1e-10)
    assert np.sqrt(fit.residual_variance) == pytest.approx(deviation, rel=1e-10)
    assert fit.r2 == pytest.approx(r2, rel=1e-10)


def test_pontius(datasets: Path) -> None:
    data = _columns(datasets, "pontius")
    fit = least_squares(data["y"], _powers(data["x"], 2))
    certified = [0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14]
    errors = [0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16]
    np.testing.assert_allclose(fit.coefficients, certified, rtol=1e-8)
    np.testing.assert_allclose(fit.standard_errors, errors, rtol=1e-8)


@pytest.mark.parametrize(("name", "tolerance"), [("wampler1", 1e-8), ("wampler3", 1e-8)])
def test_wampler_polynomials(datasets: Path, name: str, tolerance: float) -> None:
    data = _columns(datasets, name)
    fit = least_squares(data["y"], _powers(data["x"], 5))
    np.testing.assert_allclose(fit.coefficients, np.ones(6), rtol=tolerance)


def test_wampler2_coefficients_fall_by_ten(datasets: Path) -> None:
    data = _columns(datasets, "wampler2")
    fit = least_squares(data["y"], _powers(data["x"], 5))
    np.testing.assert_allclose(fit.coefficients, 10.0 ** -np.arange(6), rtol=1e-8)


@pytest.mark.parametrize(
    ("factor", "tolerance", "r2"),
    [(1, 1e-8, 0.99999555902582), (100, 1e-7, 0.957478440825662), (10_000, 1e-5, 0.00224668921574940)],
)
def test_wampler_3_to_5_standard_errors_grow_with_the_noise(
    datasets: Path, factor: float, tolerance: float, r2: float
) -> None:
    """Wampler4 and 5 are Wampler1 plus 100 and 10,000 times the noise of Wampler3."""
    one, three = _columns(datasets, "wampler1"), _columns(datasets, "wampler3")
    y = one["y"] + factor * (three["y"] - one["y"])
    fit = least_squares(y, _powers(one["x"], 5))
    errors = [
        2152.32624678170, 2363.55173469681, 779.343524331583,
        101.475507550350, 5.64566512170752, 0.112324854679312,
    ]  # fmt: skip
    np.testing.assert_allclose(fit.coefficients, np.ones(6), rtol=tolerance)
    np.testing.assert_allclose(fit.standard_errors, factor * np.array(errors), rtol=1e-8)
    assert fit.r2 == pytest.approx(r2, rel=1e-8)
