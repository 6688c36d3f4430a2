"""The small records that every stage shares."""

from pathlib import Path

import numpy as np
import pytest

from mv.base.clock import hours_in_day, local_midnight, period_bounds
from mv.base.errors import InputError, OutputError, StudyError, joined
from mv.base.estimate import Estimate
from mv.base.files import write_whole
from mv.base.ledger import Ledger
from mv.base.locking import held
from mv.base.meter_accuracy import meter_accuracy


def ledger(read: int, used: int, aside: dict[str, int]) -> Ledger:
    return Ledger("m", read, used, aside, 0, None, None, None, None, {})


def test_a_ledger_that_does_not_balance_cannot_be_made() -> None:
    assert ledger(10, 7, {"gap": 3}).rows_used == 7
    with pytest.raises(AssertionError, match="do not balance"):
        ledger(10, 7, {"gap": 2})


def test_an_estimate_never_carries_a_number_that_is_none() -> None:
    with pytest.raises(ValueError, match="CannotSay"):
        Estimate(float("nan"), 0.0, 1.0, 0.9)
    with pytest.raises(ValueError, match="confidence"):
        Estimate(1.0, 0.0, 2.0, 90)


def test_scaling_by_a_negative_factor_swaps_the_ends() -> None:
    scaled = Estimate(2.0, 1.0, 4.0, 0.9, standard_error=0.5).scaled(-3.0)
    assert (scaled.estimate, scaled.low, scaled.high, scaled.standard_error) == (-6, -12, -3, 1.5)


def test_an_error_says_where_what_and_the_remedy() -> None:
    error = StudyError("is wrong", file="a.csv", place="line 3", value="x", remedy="Mend it.")
    assert str(error) == "a.csv, line 3: is wrong (found: 'x'). Mend it."
    assert str(joined([error])) == str(error)
    assert str(joined([error, error])).startswith("2 things are wrong:\n  1. a.csv")
    assert isinstance(joined([error, error]), InputError)


def test_a_long_value_is_shortened_in_a_message() -> None:
    assert len(str(StudyError("is wrong", value="9" * 10_000))) < 200


# Day lengths: zoneinfo, as listed in the project's check values (New York and Phoenix, 2024).
@pytest.mark.parametrize(
    ("day", "zone", "hours"),
    [
        ("2024-03-10", "America/New_York", 23),
        ("2024-11-03", "America/New_York", 25),
        ("2024-03-10", "America/Phoenix", 24),
        ("2024-03-31", "Europe/London", 23),
        ("2018-11-04", "America/Sao_Paulo", 23),  # midnight itself is skipped
    ],
)
def test_a_local_day_has_the_hours_it_has(day: str, zone: str, hours: float) -> None:
    assert hours_in_day(day, zone) == hours


def test_a_period_runs_from_local_midnight_to_the_midnight_after_its_last_day() -> None:
    start, end = period_bounds("2024-03-01", "2024-03-31", "America/Chicago")
    assert str(start) == "2024-03-01 06:00:00+00:00"
    assert end == local_midnight("2024-04-01", "America/Chicago")


def test_a_file_is_written_whole_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "a.txt"
    write_whole(path, "one")
    write_whole(path, b"two")
    assert path.read_text() == "two"
    assert [p.name for p in path.parent.iterdir()] == ["a.txt"]


def test_a_folder_that_is_a_file_is_reported_with_its_path(tmp_path: Path) -> None:
    (tmp_path / "f").write_text("")
    for target in (tmp_path / "f" / "a.txt", tmp_path / "f" / "deep" / "a.txt"):
        with pytest.raises(OutputError) as told:
            write_whole(target, "x")
        assert str(told.value) == f"{tmp_path / 'f'}: is a file, not a folder. Choose another folder."


def test_a_lock_that_cannot_be_made_is_told_by_its_folder(tmp_path: Path) -> None:
    (tmp_path / "f").write_text("")
    with pytest.raises(OutputError) as told, held(tmp_path / "f" / "deep" / ".some.lock"):
        pass
    assert str(told.value) == f"{tmp_path / 'f'}: is a file, not a folder. Choose another folder."


def test_an_arrays_scalars_become_plain_numbers() -> None:
    made = Estimate(np.float64(1.5), np.float64(1.0), np.float64(2.0), 0.9)
    assert [type(value) for value in (made.estimate, made.low, made.high)] == [float, float, float]
    assert Estimate(np.True_, None, None, 0.9).estimate is True


def test_an_accuracy_that_is_not_stated_is_a_usual_meters_and_says_so() -> None:
    usual, stated = meter_accuracy(None, None), meter_accuracy(0.002, "certificate")
    assert usual.fraction == 0.01 and "IEC 62053-21" in usual.source
    assert (stated.fraction, stated.source) == (0.002, "certificate")
    assert meter_accuracy(0.0, None).source == "stated in the study"
