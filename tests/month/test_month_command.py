"""`tallylux month`: the page, the month it takes, and what it refuses."""

import re
import shutil
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from mv import store
from mv.acknowledge import acknowledgements, finding_key
from mv.base import wording
from mv.base.result_parts import rows
from mv.base.verification import Verification
from mv.cleaning import AFTER_REPORTING
from mv.cli import main
from mv.documents.month_page import month_page

VOID = {"meta", "link", "br", "img", "input", "hr"}


class Balanced(HTMLParser):
    """Holds the open elements; what is closed must be what was opened last."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.seen.append(tag)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: object) -> None:
        self.seen.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open and self.open[-1] == tag, (tag, self.open[-3:])
        self.open.pop()


def page_of(study: Path, out: Path, *more: str) -> str:
    assert main(["month", str(study), "--out", str(out), *more]) == 0
    (path,) = out.glob("month-*.html")
    return path.read_text(encoding="utf-8")


def test_the_page_is_of_the_last_whole_month_unless_told_otherwise(
    verified: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page_of(verified, tmp_path / "a")
    assert (tmp_path / "a" / "month-2025-02.html").exists()
    assert capsys.readouterr().out.startswith("February 2025: ")
    page_of(verified, tmp_path / "b", "--month", "2024-07")
    assert (tmp_path / "b" / "month-2024-07.html").exists()


def test_readings_past_the_reporting_period_are_told_beside_the_month(verification: Verification) -> None:
    late = {"code": AFTER_REPORTING, "what": "readings go on to 2025-03-31", "remedy": "Move the date."}
    first, *others = rows(verification.result, "cleaning")
    cleaning = [{**first, "remarks": [late]}, *others]
    added = replace(verification, result={**verification.result, "cleaning": cleaning})
    told, before = (" ".join(month_page(v, "2025-02", {})[1].split()) for v in (added, verification))
    assert f"Take care: {first['meter']}: readings go on to 2025-03-31. Move the date." in told
    assert "readings go on" not in before


def test_the_page_needs_nothing_else_and_runs_nothing(verified: Path, tmp_path: Path) -> None:
    text = page_of(verified, tmp_path)
    parser = Balanced()
    parser.feed(text)
    assert not parser.open
    assert not set(parser.seen) & {"script", "link", "iframe", "img", "a", "object"}
    assert not re.search(r"https?://|//[a-z]|@import|url\(", text)


def test_the_page_says_the_numbers_of_the_result(
    verified: Path, verification: Verification, tmp_path: Path
) -> None:
    text = page_of(verified, tmp_path, "--month", "2024-07")
    (entry,) = [row for row in verification.result["savings"]["monthly"] if row["month"] == "2024-07"]
    assert wording.amount(entry["avoided_kwh"], "kWh") in text
    assert wording.number(entry["expected_kwh"]) in text
    assert wording.between(entry["avoided_kwh"], "kWh") in text
    daily = verification.daily
    july = daily[daily["day"].between("2024-07-01", "2024-07-31")]
    assert wording.number(july["actual_kwh"].sum()) in text
    busiest = july.groupby("day")["actual_kwh"].sum().max()
    assert f"{busiest:,.0f}" in text


@pytest.mark.parametrize(("month", "why"), [("2023-05", "no data in this month"), ("2024-7", "not a month")])
def test_a_month_without_data_is_an_error_that_names_those_with(
    verified: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], month: str, why: str
) -> None:
    assert main(["month", str(verified), "--month", month, "--out", str(tmp_path / "out")]) == 2
    assert why in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_an_acknowledged_finding_moves_to_its_own_part_with_who_and_why(
    verified: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    study = tmp_path / "study"
    shutil.copytree(verified, study)
    finding = store.open_results(study).result["drift"][0]
    key = finding_key(finding)
    before = page_of(study, tmp_path / "before")
    assert "Acknowledged" not in before and key in before
    note = ["--acknowledge", key, "--who", "<b>Kim</b>", "--why", "agreed with the tenant"]
    after = page_of(study, tmp_path / "after", *note)
    assert key not in after
    assert "Noted by &lt;b&gt;Kim&lt;/b&gt;" in after and "agreed with the tenant" in after
    assert [entry.finding for entry in acknowledgements(study)] == [key]
    assert key in before and "Noted by" in capsys.readouterr().out


def test_a_key_that_no_finding_has_is_an_error(
    verified: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = [
        "month",
        str(verified),
        "--out",
        str(tmp_path),
        "--acknowledge",
        "nothing",
        "--who",
        "K",
        "--why",
        "x",
    ]
    assert main(words) == 2
    assert "no finding has this key" in capsys.readouterr().err
    assert acknowledgements(verified) == ()


def test_a_changed_study_is_verified_anew_and_not_shown_from_store(verified: Path, tmp_path: Path) -> None:
    study = tmp_path / "study"
    shutil.copytree(verified, study)
    path = study / "study.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('name = "Larkmoor Works', 'name = "Renamed Works'), encoding="utf-8")
    assert "Renamed Works" in page_of(study, tmp_path / "out")
