"""Shortcuts of linear algebra against the plain least squares that they stand for."""

import numpy as np
import pandas as pd
import pytest

from mv.regression import expected_by_hour
from mv.regression.forms import Form
from mv.regression.hourly import HOURS_OF_WEEK
from mv.regression.selection import BLOCKS, try_form

RNG = np.random.default_rng(11)


@pytest.mark.parametrize("alone", [False, True])
def test_errors_on_days_left_out_are_those_of_refitted_models(alone: bool) -> None:
    n = 203
    matrix = np.column_stack([np.ones(n), RNG.normal(10, 2, n), RNG.normal(0, 1, n)])
    if alone:
        matrix[:, 2] = np.arange(n) < 9  # known in the first block alone: the other days do not carry it
    y = matrix @ [4.0, 0.7, -2.0] + RNG.normal(0, 1, n)
    trial = try_form(Form(("every day", "hours_open", "x")), y, matrix)
    assert trial is not None
    wanted = []
    for block in np.array_split(np.arange(n), BLOCKS):
        kept = np.delete(np.arange(n), block)
        fitted = np.linalg.lstsq(matrix[kept], y[kept], rcond=None)[0]
        wanted.append(np.mean((y[block] - matrix[block] @ fitted) ** 2))
    assert trial.block_errors == pytest.approx(wanted, rel=1e-9)


def test_a_form_whose_columns_depend_on_one_another_is_not_tried() -> None:
    x = RNG.normal(0, 1, 100)
    assert try_form(Form(("a", "b", "c")), x, np.column_stack([x, np.ones(100), 2 * x + 3])) is None
    assert try_form(Form(("a", "b")), x, np.column_stack([np.ones(100), np.zeros(100)])) is None


def test_the_hourly_expectation_is_that_of_one_large_least_squares() -> None:
    n = 24 * 7 * 20
    index = pd.date_range("2023-01-02", periods=n, freq="h", tz="UTC")
    hours = pd.DataFrame(
        {
            "local_day": index.tz_localize(None).normalize(),
            "hour_of_week": np.arange(n) % HOURS_OF_WEEK,
            "is_holiday": False,
            "open_share": 1.0,
            "dark_share": RNG.uniform(0, 1, n),
            "sunlight": RNG.uniform(0, 1, n),
            "occupied_share": np.nan,
            "people": RNG.poisson(20, n).astype(float),
            "motion_share": np.nan,
        },
        index=index,
    )
    energy = pd.Series(
        10 + RNG.normal(0, 1, n) + 0.2 * hours["people"] + 3 * hours["dark_share"], index=index
    )
    energy.iloc[100:150] = np.nan
    levels = np.eye(HOURS_OF_WEEK)[hours["hour_of_week"]]
    matrix = np.column_stack([levels, hours[["dark_share", "sunlight", "people"]]])
    usable = energy.notna().to_numpy()
    expected = np.empty(n)
    for block in np.array_split(np.arange(n), BLOCKS):
        kept = usable.copy()
        kept[block] = False
        expected[block] = matrix[block] @ _barely_shrunk(matrix[kept], energy[kept].to_numpy())
    whole = _barely_shrunk(matrix[usable], energy[usable].to_numpy())
    sums = expected_by_hour(energy, hours, [hours])
    assert sums is not None
    wanted = [pd.Series(x).groupby(np.arange(n) // 24).sum() for x in (expected, matrix @ whole)]
    for found, exact in zip(sums, wanted, strict=True):
        assert found.to_numpy() == pytest.approx(exact.to_numpy(), rel=1e-9)


def _barely_shrunk(matrix: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Ridge regression by its full normal equations, a millionth of their mean diagonal added."""
    normal = matrix.T @ matrix
    ridge = 1e-6 * np.trace(normal) / len(normal)
    return np.linalg.solve(normal + ridge * np.eye(len(normal)), matrix.T @ y)
