"""The commands as a user types them: output, exit code and one helpful message for each mistake."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from mv.cli import main

STUDY = """
format = 1
[site]
name = "Nowhere"
latitude = 44.5
longitude = -89.6
timezone = "America/Chicago"
[periods]
baseline = ["2023-01-01", "2023-01-31"]
reporting = ["2023-03-01", "2023-03-31"]
[[meter]]
id = "m"
files = ["m.csv"]
clock = "-06:00"
"""


@pytest.fixture
def study(tmp_path: Path) -> Path:
    (tmp_path / "study.toml").write_text(STUDY)
    return tmp_path


def meter_rows(first: str, days: int) -> str:
    import pandas as pd

    stamps = pd.date_range(first, periods=24 * days, freq="1h")
    return "time,kWh\n" + "".join(f"{stamp:%Y-%m-%d %H:%M},1.5\n" for stamp in stamps)


def refused(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(words) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "Traceback" not in captured.err
    assert captured.err.startswith("tallylux: ")
    return captured.err


def test_help_is_quick_because_nothing_heavy_is_imported() -> None:
    heavy = "{'pandas', 'numpy', 'dash', 'scipy', 'pydantic'}"
    code = f"import sys, mv.cli; print(sorted({heavy} & set(sys.modules)))"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "[]"


def test_the_module_is_the_same_command() -> None:
    shown = subprocess.run([sys.executable, "-m", "mv", "--help"], capture_output=True, text=True, check=True)
    assert "verify" in shown.stdout and "demo" in shown.stdout


def test_a_missing_study_is_one_message_and_exit_code_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "there is no such study" in refused(capsys, "verify", str(tmp_path / "none"))


def test_a_wrong_study_file_is_one_message(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (study / "study.toml").write_text(STUDY.replace("latitude", "latitud"))
    assert "Did you mean 'latitude'?" in refused(capsys, "verify", str(study))


def test_a_missing_meter_file_names_it(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "m.csv" in refused(capsys, "verify", str(study))


def test_an_empty_meter_file_is_refused(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (study / "m.csv").write_text("")
    assert "m.csv" in refused(capsys, "verify", str(study))


def test_a_file_with_a_heading_alone_is_refused(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (study / "m.csv").write_text("time,kWh\n")
    assert "m.csv" in refused(capsys, "verify", str(study))


def test_a_period_without_data_is_told_and_nothing_is_written(
    study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (study / "m.csv").write_text(meter_rows("2023-01-01", 31))
    message = refused(capsys, "verify", str(study))
    assert "reporting" in message and "2023-03-01" in message
    assert not (study / "results").exists()


def test_check_needs_no_periods(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = "\n".join(
        line for line in STUDY.splitlines() if not line.startswith(("[periods]", "baseline", "reporting"))
    )
    (study / "study.toml").write_text(text)
    (study / "m.csv").write_text(meter_rows("2023-01-01", 3))
    assert main(["check", str(study), "--json"]) == 0
    (entry,) = json.loads(capsys.readouterr().out)
    assert (entry["rows_read"], entry["rows_used"]) == (72, 72)
    assert entry["energy_used_kwh"] == pytest.approx(108.0)
    assert main(["check", str(study)]) == 0
    assert "rows read 72" in capsys.readouterr().out


def test_verify_prints_json_alone_and_writes_the_same(
    study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = meter_rows("2023-01-01", 90)
    (study / "m.csv").write_text(rows)
    code = main(["verify", str(study), "--json", "--out", str(study / "out")])
    printed = json.loads(capsys.readouterr().out)
    assert printed == json.loads((study / "out" / "result.json").read_text())
    assert code == (0 if printed["acceptance"]["met"] else 1)


def test_a_folder_that_cannot_be_written_is_told(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (study / "m.csv").write_text(meter_rows("2023-01-01", 90))
    (study / "out").write_text("in the way")
    assert "out" in refused(capsys, "verify", str(study), "--out", str(study / "out"))


def test_an_out_that_lies_under_a_file_is_told_by_that_file_before_the_work(
    study: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "notes").write_text("mine")
    out = str(tmp_path / "notes" / "deep")
    for words in (
        ("verify", str(study)),
        ("month", str(study)),
        ("claim", str(study)),
        ("portfolio", str(study)),
    ):
        told = refused(capsys, *words, "--out", out)
        assert f"{tmp_path / 'notes'}: is a file, not a folder. Choose another folder." in told
        assert ".lock" not in told and "deep" not in told


def test_the_demo_copies_verifies_and_prints(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "demo"
    assert main(["demo", "--folder", str(folder), "--no-dashboard"]) == 0
    shown = capsys.readouterr().out
    assert "invented" in shown
    assert "Avoided energy" in shown and "Realisation rate" in shown and "MOVED" in shown
    assert (folder / "results" / "result.json").exists()


def test_the_demo_does_not_write_into_a_folder_of_other_things(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "mine.txt").write_text("keep")
    assert "is not empty" in refused(capsys, "demo", "--folder", str(tmp_path), "--no-dashboard")


def test_sample_prints_the_number_of_loggers(capsys: pytest.CaptureFixture[str]) -> None:
    # 68 for an infinite population at 90/10 and CV 0.5; 41 of 100: finite-population formula.
    assert main(["sample", "--population", "100"]) == 0
    assert "41" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("readings", "code"),
    [
        (["10", "10.1", "9.9", "10"], 0),  # met
        (["3", "4", "5", "6", "9", "14"], 1),  # not met
        (["3"], 1),  # one reading shows no variation: cannot say
    ],
)
def test_sample_with_readings_exits_by_whether_the_precision_was_reached(
    capsys: pytest.CaptureFixture[str], readings: list[str], code: int
) -> None:
    assert main(["sample", "--population", "40", "--readings", *readings]) == code
    assert ("(met;" in capsys.readouterr().out) == (code == 0)


def test_a_wheel_carries_the_sample_study_and_works_away_from_the_source(tmp_path: Path) -> None:
    root = Path(__file__).resolve().parents[2]
    source = tmp_path / "source"
    for name in ("mv", "dashboards", "sample_meter_data"):
        shutil.copytree(root / name, source / name, ignore=shutil.ignore_patterns("results"))
    for name in ("README.md", "pyproject.toml"):
        shutil.copy(root / name, source / name)
    pip = [sys.executable, "-m", "pip"]
    build = ["wheel", "-q", "--no-deps", "--no-build-isolation", "-w", str(tmp_path), str(source)]
    subprocess.run([*pip, *build], check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    target = tmp_path / "installed"
    install = ["install", "-q", "--no-deps", "--target", str(target), str(wheel)]
    subprocess.run([*pip, *install], check=True, capture_output=True)
    code = (
        "import mv, sys; from mv.demo import sample_source; from mv.study import load_study; "
        f"assert mv.__file__.startswith({str(target)!r}), mv.__file__; "
        "print(load_study(sample_source()).site.name)"
    )
    shown = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(target)},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert "invented" in shown.stdout
    assert list(target.glob("dashboards/assets/*"))
