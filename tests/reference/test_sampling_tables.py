"""Sample sizes for cv 0.5 with finite populations, and achieved precision.

z = normal quantile, n0 = (z cv / e)^2, n = n0 N / (n0 + N), rounded up (IPMVP, FEMP and BPA
sampling practice, from memory; the table was worked out from these formulas, and its unlimited
column for 80/20, 90/20 and 90/10 is the Federal Energy Management Program's as remembered).
Student t: standard tables. Standard error: IPMVP 2012 appendix B example as printed at
enmanreg.org. Toluca readings: Kutner et al., Applied Linear Statistical Models, 5th ed.
"""

import math

import pytest

from mv.base.estimate import CannotSay
from mv.sampling import achieved_precision, sampling_plan, student_quantile, unlimited_sample

HEADS = ((0.80, 0.20), (0.90, 0.20), (0.80, 0.10), (0.90, 0.10), (0.95, 0.10), (0.95, 0.05))
TABLE = {
    10: (6, 7, 9, 9, 10, 10),
    20: (7, 10, 14, 16, 17, 20),
    50: (9, 13, 23, 29, 33, 45),
    100: (10, 15, 30, 41, 49, 80),
    200: (10, 16, 35, 51, 65, 132),
    500: (11, 17, 38, 60, 81, 218),
    1000: (11, 17, 40, 64, 88, 278),
    None: (11, 17, 42, 68, 97, 385),
}
UNROUNDED = (10.265, 16.910, 41.059, 67.639, 96.036, 384.146)


@pytest.mark.parametrize("population", list(TABLE))
@pytest.mark.parametrize("column", range(len(HEADS)))
def test_the_plan_gives_the_table(population: int | None, column: int) -> None:
    confidence, precision = HEADS[column]
    plan = sampling_plan(population, cv=0.5, precision=precision, confidence=confidence)
    assert plan.loggers == TABLE[population][column]


@pytest.mark.parametrize("column", range(len(HEADS)))
def test_the_unrounded_samples_of_an_unlimited_population(column: int) -> None:
    confidence, precision = HEADS[column]
    found = unlimited_sample(cv=0.5, precision=precision, confidence=confidence)
    assert found == pytest.approx(UNROUNDED[column], abs=5e-4)


def test_two_hundred_loggers_ask_for_50_54_before_rounding() -> None:
    assert sampling_plan(200).finite == pytest.approx(50.54, abs=5e-3)


@pytest.mark.parametrize(
    ("confidence", "precision", "cv", "loggers"), [(0.80, 0.20, 1.0, 42), (0.90, 0.10, 1.0, 271)]
)
def test_widely_spread_rooms_ask_for_many_loggers(
    confidence: float, precision: float, cv: float, loggers: int
) -> None:
    plan = sampling_plan(None, cv=cv, precision=precision, confidence=confidence)
    assert plan.loggers == loggers


@pytest.mark.parametrize(
    ("confidence", "degrees", "t"),
    [
        (0.90, 5, 2.0150),
        (0.90, 23, 1.7139),
        (0.90, 120, 1.6577),
        (0.95, 11, 2.2010),
        (0.95, 30, 2.0423),
        (0.80, 10, 1.3722),
        (0.68, 363, 0.9958),
    ],
)
def test_students_t_as_tabled(confidence: float, degrees: int, t: float) -> None:
    assert student_quantile(confidence, degrees=degrees) == pytest.approx(t, abs=5e-5)


def test_the_standard_error_of_24_readings_with_deviation_0_04423_is_0_00903() -> None:
    spread = 0.04423 * math.sqrt(23 / 24)
    readings = [1.0 + spread, 1.0 - spread] * 12
    reached = achieved_precision(readings)
    assert not isinstance(reached, CannotSay)
    assert reached.mean.standard_error == pytest.approx(0.00903, abs=5e-6)


def test_a_census_of_the_population_leaves_no_sampling_doubt() -> None:
    reached = achieved_precision([8.0, 12.0, 10.0, 30.0], population=4)
    assert not isinstance(reached, CannotSay)
    assert reached.relative_precision == 0.0 and reached.met
