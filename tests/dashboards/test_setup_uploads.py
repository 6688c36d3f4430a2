"""Dropped files stay inside the study's folder, under harmless names, and never over another file."""

import base64
from pathlib import Path

import pytest

from dashboards.setup import uploads
from dashboards.setup.uploads import KINDS, METERS, data_files, keep, safe_name, side_of
from mv.base.errors import InputError, OutputError


def packed(data: bytes) -> str:
    """As the browser packs it."""
    return f"data:text/csv;base64,{base64.b64encode(data).decode()}"


@pytest.mark.parametrize(
    "name",
    [
        "../../etc/cron.csv",
        "..\\..\\boot.csv",
        "/etc/passwd.csv",
        "C:\\x\\y.csv",
        "a\x00b.csv",
        "<img src=x onerror=alert(1)>.csv",
        "nul.csv",
        "  . hidden.csv",
        "é\u202egpj.csv",
        "a" * 400 + ".csv",
        "x\n[site].csv",
    ],
)
def test_any_name_ends_inside_the_folder(tmp_path: Path, name: str) -> None:
    study = tmp_path / "study"
    study.mkdir()
    target = keep(study, METERS, name, packed(b"time,kWh\n"))
    assert target.parent == study / METERS
    assert target.resolve().is_relative_to(study.resolve())
    assert target.read_bytes() == b"time,kWh\n"
    assert not set(target.name) & set('<>/\\:"|?*\n\x00\u202e')
    assert not target.name.startswith(".") and len(target.name) <= uploads.LONGEST_NAME
    assert [entry.name for entry in tmp_path.iterdir()] == ["study"]


@pytest.mark.parametrize("name", ["study.toml", "run.exe", ".csv", "", "page.html", "a.csv.py"])
def test_a_kind_that_is_not_read_is_refused(name: str) -> None:
    with pytest.raises(InputError, match="no kind of file"):
        safe_name(name)


def test_another_file_of_the_same_name_is_not_overwritten(tmp_path: Path) -> None:
    first = keep(tmp_path, METERS, "a.csv", packed(b"1"))
    assert keep(tmp_path, METERS, "a.csv", packed(b"1")) == first
    with pytest.raises(OutputError, match="is there already"):
        keep(tmp_path, METERS, "a.csv", packed(b"2"))
    assert first.read_bytes() == b"1"


def test_a_folder_that_leads_elsewhere_takes_nothing(tmp_path: Path) -> None:
    study, elsewhere = tmp_path / "study", tmp_path / "elsewhere"
    study.mkdir()
    elsewhere.mkdir()
    (study / METERS).symlink_to(elsewhere)
    with pytest.raises(OutputError, match="outside the study"):
        keep(study, METERS, "a.csv", packed(b"1"))
    assert list(elsewhere.iterdir()) == []


def test_too_large_empty_or_broken_files_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(uploads, "LARGEST_FILE_BYTES", 1000)
    keep(tmp_path, METERS, "fits.csv", packed(b"x" * 1000))
    for body in (packed(b"x" * 1004), packed(b""), "data:;base64,!!!!", ""):
        with pytest.raises(InputError):
            keep(tmp_path, METERS, "a.csv", body)
    assert data_files(tmp_path) == ["meters/fits.csv"]


def test_a_request_is_limited_before_it_is_read(app: object) -> None:
    assert app.server.config["MAX_CONTENT_LENGTH"] == uploads.LARGEST_REQUEST_BYTES  # type: ignore[attr-defined]
    app.server.config["MAX_CONTENT_LENGTH"] = 1000  # type: ignore[attr-defined]
    client = app.server.test_client()  # type: ignore[attr-defined]
    answer = client.post("/_dash-update-component", data=b" " * 2000, content_type="application/json")
    assert answer.status_code == 413


def test_results_hidden_files_and_links_outside_are_no_readings(tmp_path: Path) -> None:
    study = tmp_path / "study"
    for name in ("meters/a.csv", "results/r.csv", ".x/b.csv", "c.md", "d.xlsx"):
        (study / name).parent.mkdir(parents=True, exist_ok=True)
        (study / name).write_bytes(b"1")
    (tmp_path / "secret.csv").write_bytes(b"1")
    (study / "link.csv").symlink_to(tmp_path / "secret.csv")
    assert data_files(study) == ["d.xlsx", "meters/a.csv"]
    assert all(kind.startswith(".") for kind in KINDS)


@pytest.mark.parametrize(
    ("name", "side"),
    [
        ("hall_before.csv", "before"),
        ("meters/Post-retrofit.csv", "after"),
        ("baseline 2023.csv", "before"),
        ("newton.csv", ""),
        ("before_and_after.csv", ""),
    ],
)
def test_a_side_is_taken_from_a_name_only_where_it_says_so(name: str, side: str) -> None:
    assert side_of(name) == side
