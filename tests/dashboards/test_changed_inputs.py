"""A result that is older than what it was made from says so, whichever file has changed."""

import hashlib
import os
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from dashboards.shell import changed_note
from mv.latest import changed_since

STUDY = """
format = 1
[site]
latitude = 52.0
longitude = 5.0
timezone = "UTC"
[[meter]]
id = "M1"
files = ["m*.csv"]
[occupancy]
files = ["occupancy.csv"]
"""


@pytest.fixture
def record(verification: Any, tmp_path: Path) -> Any:
    """A verification made now from a study of three files."""
    texts = {"study.toml": STUDY, "m1.csv": "time,kWh\n1,2\n", "occupancy.csv": "time,people\n1,2\n"}
    for name, text in texts.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    inputs = [
        {"name": name, "bytes": len(text), "sha256": hashlib.sha256(text.encode()).hexdigest()}
        for name, text in texts.items()
    ]
    study = verification.study.model_copy(update={"folder": tmp_path})
    made_at = datetime.now(UTC).isoformat(timespec="seconds")
    result = verification.result | {"inputs": inputs, "made_at": made_at}
    return replace(verification, study=study, result=result)


def test_nothing_changed_is_nothing_told(record: Any) -> None:
    assert changed_since(record) == []
    assert changed_note(record) is None


def test_a_file_written_again_with_the_same_text_has_not_changed(record: Any) -> None:
    file = record.study.folder / "m1.csv"
    file.write_bytes(file.read_bytes())
    assert changed_since(record) == []


@pytest.mark.parametrize("name", ["study.toml", "m1.csv", "occupancy.csv"])
def test_a_change_of_one_letter_is_told(record: Any, name: str) -> None:
    file = record.study.folder / name
    text = file.read_text(encoding="utf-8")
    file.write_text(text[:-2] + "#" + text[-1:], encoding="utf-8")
    assert changed_since(record) == [name]
    assert f"{name} has changed" in str(changed_note(record))


def test_a_change_long_after_the_result_is_told(record: Any) -> None:
    old = {"made_at": (datetime.now(UTC) - timedelta(days=40)).isoformat(timespec="seconds")}
    old_record = replace(record, result=record.result | old)
    file = record.study.folder / "m1.csv"
    file.write_text("time,kWh\n1,3\n", encoding="utf-8")
    os.utime(file, (1, 1))  # as a copy that keeps the old date does
    assert changed_since(old_record) == ["m1.csv"]


def test_a_file_that_is_gone_and_one_that_is_new_are_told(record: Any) -> None:
    (record.study.folder / "occupancy.csv").unlink()
    (record.study.folder / "m2.csv").write_text("time,kWh\n", encoding="utf-8")
    assert changed_since(record)[0] == "occupancy.csv"
    (record.study.folder / "occupancy.csv").write_text("time,people\n1,2\n", encoding="utf-8")
    assert changed_since(record) == ["m2.csv"]


def test_files_of_a_broken_study_are_still_compared(record: Any) -> None:
    (record.study.folder / "study.toml").write_text("format = ", encoding="utf-8")
    assert changed_since(record) == ["study.toml"]
