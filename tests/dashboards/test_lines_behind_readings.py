"""Every reading of a stretch is found again in its file, with what became of it."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pandas as pd
import pytest

from dashboards.line_room import lines_shown
from mv.documents.source_lines import source_lines
from mv.study import load_study

STUDY = """
format = 1
[site]
latitude = 52.0
longitude = 5.0
timezone = "Europe/Amsterdam"
[[meter]]
id = "M1"
files = ["m.csv"]
quantity = "energy"
unit = "kWh"
stamp = "start"
clock = "UTC"
"""


@pytest.fixture
def study(tmp_path: Path) -> Any:
    """Hourly readings of ten days; line 2 holds the first."""
    stamps = pd.date_range("2024-01-01", periods=240, freq="h")
    rows = [f"{stamp:%Y-%m-%d %H:%M},{number}.5" for number, stamp in enumerate(stamps)]
    (tmp_path / "m.csv").write_text("time,kWh\n" + "\n".join(rows) + "\n", encoding="utf-8")
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    return load_study(tmp_path)


def test_each_reading_is_told_with_its_line_and_its_fate(study: Any) -> None:
    ledger = {"set_aside_lines": {"spike": {"m.csv": "26-27, 40"}, "gap": {"other.csv": "28"}}}
    start, end = pd.Timestamp("2024-01-02", tz="UTC"), pd.Timestamp("2024-01-03", tz="UTC")
    found = source_lines(study, "M1", ledger, start, end)
    assert list(found["line"]) == list(range(26, 50))
    text = (study.folder / "m.csv").read_text(encoding="utf-8").splitlines()
    for row in found.itertuples():
        assert text[row.line - 1].endswith(f",{row._4}")
    fates = dict(zip(found["line"], found["what became of it"], strict=True))
    assert {line for line, fate in fates.items() if fate == "set aside: spike"} == {26, 27, 40}
    assert fates[28] == "used"
    assert found["clock at the site"].iloc[0] == "2024-01-02 01:00:00 CET"


def test_lines_that_the_ledger_does_not_list_are_not_called_used(study: Any) -> None:
    ledger = {"set_aside_lines": {"spike": {"m.csv": "3 and 30 more spans"}}}
    day = pd.Timestamp("2024-01-02", tz="UTC")
    found = source_lines(study, "M1", ledger, day, day + pd.Timedelta(days=1))
    assert set(found["what became of it"]) == {
        "used; spike counts further lines that the ledger does not list"
    }


def test_the_room_shows_a_local_day_and_refuses_what_is_none(study: Any) -> None:
    record = SimpleNamespace(study=study, result={"cleaning": []})
    shelf: Any = SimpleNamespace(verification=lambda: record)
    assert "2024-01-03 00:00:00 CET" in str(lines_shown(shelf, "M1", "2024-01-03", ""))
    assert "2024-01-04 00:00:00 CET" not in str(lines_shown(shelf, "M1", "2024-01-03", ""))
    assert "Give the days" in str(lines_shown(shelf, "M1", "yesterday", ""))
    assert "at most 31 days" in str(lines_shown(shelf, "M1", "2024-01-01", "2024-06-01"))
    assert "no meter has this name" in str(lines_shown(shelf, "M9", "2024-01-03", ""))
