"""The inputs in the result are the files as they were read."""

import hashlib
from pathlib import Path

import pytest

from mv import intake
from mv.base.errors import ReadingError
from mv.intake import read_everything
from mv.progress import no_progress
from mv.study import load_study

STUDY = """format = 1
[site]
latitude = 44.0
longitude = -90.0
timezone = "America/Chicago"
[[meter]]
id = "LP-1"
files = ["lp*.csv"]
"""
ROWS = "time,kWh\n" + "".join(
    f"2024-05-{day:02d} {hour:02d}:00,1.5\n" for day in range(1, 9) for hour in range(24)
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    (tmp_path / "lp1.csv").write_text(ROWS, encoding="utf-8")
    return tmp_path


def test_each_input_has_its_size_and_fingerprint(folder: Path) -> None:
    inputs = read_everything(load_study(folder), no_progress).inputs
    assert [entry["name"] for entry in inputs] == ["study.toml", "lp1.csv"]
    assert inputs[1]["bytes"] == len(ROWS)
    assert inputs[1]["sha256"] == hashlib.sha256(ROWS.encode()).hexdigest()


def test_a_study_edited_while_its_files_are_read_is_fingerprinted_as_it_was_loaded(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read, before = intake.read_meter, (folder / "study.toml").read_bytes()

    def reads_while_somebody_edits(*words: object) -> object:
        (folder / "study.toml").write_bytes(before + b"# a remark\n")
        return read(*words)

    monkeypatch.setattr(intake, "read_meter", reads_while_somebody_edits)
    inputs = read_everything(load_study(folder), no_progress).inputs
    assert inputs[0]["sha256"] == hashlib.sha256(before).hexdigest()


@pytest.mark.parametrize("name", ["lp1.csv", "lp2.csv"])
def test_a_file_that_changes_or_comes_while_it_is_read_stops_the_run(
    folder: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    read = intake.read_meter

    def reads_while_somebody_writes(*words: object) -> object:
        found = read(*words)
        with (folder / name).open("a", encoding="utf-8") as stream:
            stream.write("2024-05-09 00:00,1.5\n")
        return found

    monkeypatch.setattr(intake, "read_meter", reads_while_somebody_writes)
    with pytest.raises(ReadingError, match=rf"{name}: changed while it was being read"):
        read_everything(load_study(folder), no_progress)
