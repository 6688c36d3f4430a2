"""Two tabs, notes and a command line at work in one folder: nothing is lost, nothing half-written."""

import json
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import pytest

from dashboards.setup.setting_up import written
from mv.study_file.writing import open_study_text, with_key

STUDY = """\
format = 1
# kept
[site]
latitude = 52.0
longitude = 5.0
timezone = "UTC"
[periods]
baseline = ["2024-01-01", "2024-01-28"]
reporting = ["2024-02-05", "2024-03-03"]
[[meter]]
id = "M1"
files = ["m.csv"]
quantity = "energy"
unit = "kWh"
stamp = "start"
clock = "UTC"
[study]
title = "0"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A study of one meter, hourly for nine weeks."""
    import pandas as pd

    stamps = pd.date_range("2024-01-01", "2024-03-03 23:00", freq="h")
    rows = [f"{at:%Y-%m-%d %H:%M},{(2 if at.month == 1 else 1) * (1 + at.hour % 7) / 4}" for at in stamps]
    (tmp_path / "m.csv").write_text("time,kWh\n" + "\n".join(rows) + "\n", encoding="utf-8")
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    return tmp_path


def test_two_tabs_that_write_and_a_command_line_that_verifies_lose_nothing(folder: Path) -> None:
    command = [sys.executable, "-m", "mv", "verify", str(folder)]
    runs = [subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE) for _ in range(2)]
    saved: list[str] = []
    tabs = [threading.Thread(target=write_often, args=(folder, name, saved)) for name in ("a", "b")]
    for tab in tabs:
        tab.start()
    for tab in tabs:
        tab.join()
    for run in runs:
        _, said = run.communicate(timeout=120)
        assert run.returncode in (0, 1), said.decode()
    text = (folder / "study.toml").read_text(encoding="utf-8")
    assert "# kept" in text
    assert len(saved) == 20
    assert open_study_text(folder).problems == []
    assert open_study_text(folder).tables["study"]["title"] == saved[-1]
    result = json.loads((folder / "results" / "result.json").read_text(encoding="utf-8"))
    series = list((folder / "results").glob("series-*.npz"))
    assert result["format"] == 1 and len(series) == 1
    from mv.store import open_results

    assert open_results(folder).result == result


def write_often(folder: Path, name: str, saved: list[str]) -> None:
    """Changes the title ten times, as a tab that reads the file anew where it was refused."""
    for number in range(10):
        title = f"{name}{number}"
        while not _written(folder, title, saved):
            pass


_ORDER = threading.Lock()


def _written(folder: Path, title: str, saved: list[str]) -> bool:
    mark = open_study_text(folder).mark
    with _ORDER:  # the list is to be in the order of the file's writing
        told: Any = written(folder, mark, lambda text: with_key(text, ("study",), "title", title))[1]
        refused = "has been changed since" in str(told)
        if not refused:
            saved.append(title)
        return not refused
