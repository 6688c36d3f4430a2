"""The evidence of a study with a query runs again without the database."""

import shutil
import sqlite3
from pathlib import Path

import pandas as pd
import pytest
import tomlkit

import mv.intake
import mv.readers
from mv.documents.evidence import write_evidence
from mv.programme.work import Task, do_task
from mv.verify import verify_study

VARIABLE = "METERING_DATABASE"


@pytest.fixture
def study(sample_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """One meter of the invented sample, its readings moved from the file into a database."""
    folder = tmp_path / "site"
    shutil.copytree(sample_folder / "meters", folder / "meters")
    shutil.copy(sample_folder / "occupancy.csv", folder / "occupancy.csv")
    connection = sqlite3.connect(tmp_path / "metering.db")
    lines = (folder / "meters" / "LP-5.csv").read_text(encoding="utf-8").splitlines()
    first = next(number for number, line in enumerate(lines) if line.startswith("20"))
    rows = [line.split(",") for line in lines[first:]]
    pd.DataFrame(rows, columns=["stamp", "kwh"]).to_sql("panel_5", connection, index=False)
    connection.close()
    monkeypatch.setenv(VARIABLE, f"sqlite:///{tmp_path / 'metering.db'}")
    table = tomlkit.parse((sample_folder / "study.toml").read_text(encoding="utf-8")).unwrap()
    meter = next(meter for meter in table["meter"] if meter["id"] == "LP-5")
    zones = [zone for zone in table["zone"] if zone["meter"] == "LP-5"]
    keys = {key: table[key] for key in ("format", "site", "periods", "occupancy")}
    query = {"database": VARIABLE, "sql": "select stamp, kwh from panel_5"}
    kept = {key: value for key, value in meter.items() if key not in ("files", "time_column", "value_column")}
    document = {**keys, "meter": [{**kept, "query": query}], "zone": zones}
    (folder / "study.toml").write_text(tomlkit.dumps(document), encoding="utf-8")
    return folder


def test_the_rows_are_among_the_inputs_and_give_the_same_numbers_again(
    study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    verification = verify_study(study)
    names = [entry["name"] for entry in verification.result["inputs"]]
    assert "fetched/LP-5.csv" in names
    write_evidence(
        verification, tmp_path / "evidence", study_file=study / "study.toml", ledger="", software={}
    )
    monkeypatch.delenv(VARIABLE)
    again = verify_study(tmp_path / "evidence" / "study")
    for key in ("savings", "models", "cleaning", "settings", "drift"):
        assert again.result[key] == verification.result[key]
    assert "query" in (tmp_path / "evidence" / "study-as-given.toml").read_text(encoding="utf-8")


def test_a_programme_asks_the_database_once_a_run_for_each_study(
    study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    fetch = mv.readers.fetch_query
    for module in (mv.readers, mv.intake):
        monkeypatch.setattr(
            module, "fetch_query", lambda meter, folder: (asked.append(meter.id), fetch(meter, folder))
        )
    task = Task("site", str(study / "study.toml"), str(tmp_path / "of-site"))
    first, second = do_task(task), do_task(task)
    assert (first.fresh, second.fresh) == (True, False)
    assert asked == ["LP-5", "LP-5"]
