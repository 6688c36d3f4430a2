"""One day a row: what the rows of the days on which the clock changes say of the clock."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from mv.base.errors import ReadingError
from mv.base.meter_records import Meter
from mv.readers import read_meter

ZONE = "America/Chicago"  # 2024: forward on 10 March, back on 3 November


def days_file(path: Path, first: date, special: date, cells: dict[int, str], *, width: int = 48) -> Path:
    """Two weeks of half-hours; on one day some cells are other than usual."""
    clock = [f"{i // 2:02d}:{30 * (i % 2):02d}" for i in range(48)]
    heads = clock if width == 48 else [str(i + 1) for i in range(width)]
    rows = ["Date," + ",".join(heads)]
    for n in range(14):
        day = first + timedelta(days=n)
        row = [f"{i % 7 + 1}.{n % 10}" if i < 48 else "" for i in range(width)]
        if day == special:
            row = [cells.get(i, cell) for i, cell in enumerate(row)]
        rows.append(f"{day}," + ",".join(row))
    path.write_text("\n".join(rows) + "\n")
    return path


def read(path: Path):
    meter = Meter.model_validate({"id": "A", "files": [path.name], "unit": "kWh"})
    return read_meter(meter, path.parent, ZONE).files[0]


SPRING = (date(2024, 3, 4), date(2024, 3, 10))


@pytest.mark.parametrize("empty", ["", "N/A"])
def test_the_skipped_hour_left_empty_proves_the_sites_clock(tmp_path: Path, empty: str) -> None:
    file = read(days_file(tmp_path / "a.csv", *SPRING, {4: empty, 5: empty}))
    assert file.inferred["clock"] == f"site: the stamps follow 1 clock change(s) of {ZONE}"
    assert "clock-unproven" not in [remark.code for remark in file.remarks]
    assert len(file.start) == 14 * 48 - 2


def test_a_short_day_without_its_last_hour_proves_it_too(tmp_path: Path) -> None:
    file = read(days_file(tmp_path / "a.csv", *SPRING, {46: "", 47: ""}))
    assert "follow 1 clock change" in file.inferred["clock"]


@pytest.mark.parametrize(
    "cells",
    [{}, {4: "0", 5: "0"}, {4: ""}, {8: "", 9: ""}, dict.fromkeys(range(4, 9), "")],
    ids=["filled", "nought", "half of it", "another hour", "more than it"],
)
def test_any_other_day_proves_nothing_and_that_is_remarked(tmp_path: Path, cells: dict[int, str]) -> None:
    file = read(days_file(tmp_path / "a.csv", *SPRING, cells))
    assert "clock-unproven" in [remark.code for remark in file.remarks]


def test_a_hole_in_the_days_beside_takes_the_proof_away(tmp_path: Path) -> None:
    path = days_file(tmp_path / "a.csv", *SPRING, {4: "", 5: ""})
    path.write_text(path.read_text().replace("2024-03-11,1.7,2.7", "2024-03-11,,2.7"))
    assert "clock-unproven" in [remark.code for remark in read(path).remarks]


def test_stamps_in_a_column_that_run_through_the_change_are_still_refused(tmp_path: Path) -> None:
    rows = [f"2024-03-{day:02d} {hour:02d}:00,{hour % 5}.5" for day in range(4, 18) for hour in range(24)]
    path = tmp_path / "long.csv"
    path.write_text("\n".join(["time,kWh", *rows]) + "\n")
    with pytest.raises(ReadingError, match="run straight through"):
        read(path)


def test_a_long_day_with_an_hour_more_proves_it(tmp_path: Path) -> None:
    autumn = (date(2024, 10, 28), date(2024, 11, 3))
    file = read(days_file(tmp_path / "a.csv", *autumn, {48: "1.5", 49: "2.5"}, width=50))
    assert "follow 1 clock change" in file.inferred["clock"]
    assert len(file.start) == 14 * 48 + 2
    without = read(days_file(tmp_path / "b.csv", *autumn, {}, width=50))
    assert "clock-unproven" in [remark.code for remark in without.remarks]
