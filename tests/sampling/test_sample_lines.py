"""The sampling plan in words, and what it refuses."""

import pytest

from mv.base.errors import InputError
from mv.base.estimate import CannotSay
from mv.sampling import achieved_precision, sample_lines, sampling_plan


def test_the_lines_name_the_count_the_basis_and_the_caution() -> None:
    text = "\n".join(sample_lines(200))
    assert "Loggers needed: 51 of 200" in text
    assert "10% precision at 90% confidence" in text
    assert "Caution" in text and "local electrical code" in text


def test_readings_bring_the_precision_reached_and_a_new_plan() -> None:
    text = "\n".join(sample_lines(200, readings=[10.0, 12.0, 9.0, 14.0, 8.0]))
    assert "not met; asked 10%" in text and "the plan asks for 14 loggers" in text
    even = "\n".join(sample_lines(200, readings=[10.0, 10.1, 9.9, 10.0]))
    assert "(met; asked 10%)" in even and "asks for" not in even


def test_too_few_readings_are_said_to_be_too_few() -> None:
    text = "\n".join(sample_lines(20, readings=[3.0]))
    assert "cannot say; it takes two readings or more" in text
    assert isinstance(achieved_precision([]), CannotSay)
    assert isinstance(achieved_precision([0.0, 0.0]), CannotSay)


@pytest.mark.parametrize(
    ("population", "options"),
    [
        (0, {}),
        (-3, {}),
        (10, {"cv": -0.1}),
        (10, {"precision": 0.0}),
        (10, {"precision": 10.0}),
        (10, {"confidence": 1.0}),
        (10, {"confidence": 90.0}),
        (10, {"precision": float("nan")}),
        (10, {"cv": float("inf")}),
    ],
)
def test_figures_that_cannot_be_meant_are_refused(population: int, options: dict[str, float]) -> None:
    with pytest.raises(InputError):
        sampling_plan(population, **options)


def test_more_readings_than_the_population_are_refused() -> None:
    with pytest.raises(InputError, match="3 readings from a population of 2"):
        achieved_precision([1.0, 2.0, 3.0], population=2)


def test_at_least_one_logger_and_never_more_than_there_are() -> None:
    assert sampling_plan(5, cv=0.0).loggers == 1
    assert sampling_plan(3, cv=2.0, precision=0.01).loggers == 3
