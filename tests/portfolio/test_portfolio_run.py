"""A portfolio from folders to tables: complete, resumed, the same each time, alone in its folder."""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow.parquet as pq
import pytest

from mv.base.errors import InputError, OutputError, StudyError
from mv.base.locking import held
from mv.cli import main
from mv.portfolio import METER_COLUMNS, STUDY_COLUMNS, summary_of
from mv.programme.run import LOCK_FILE, PortfolioRun, run_portfolio
from mv.programme.store import is_portfolio, open_portfolio, study_folder
from mv.programme.work import kept_record
from mv.store import open_results
from mv.verify import verify_study

Small = Callable[..., Path]


@pytest.fixture(scope="module")
def finished(four_studies: Path, tmp_path_factory: pytest.TempPathFactory) -> PortfolioRun:
    """One run over the four studies."""
    return run_portfolio([four_studies], tmp_path_factory.mktemp("portfolio") / "out", workers=2)


def rows(run: PortfolioRun) -> pd.DataFrame:
    return open_portfolio(run.folder).studies.set_index("title")


def test_every_study_has_a_row_in_the_order_of_paths_and_the_broken_one_says_why(
    finished: PortfolioRun,
) -> None:
    table = open_portfolio(finished.folder).studies
    assert list(table["path"]) == sorted(table["path"])
    assert sorted(table["status"]) == ["accepted", "accepted", "broken", "not accepted"]
    (broken,) = finished.summary["broken"]
    assert "dogwood" in broken["path"] and "m.csv" in broken["message"]
    assert str(Path(broken["path"]).parent) not in broken["message"]  # told once, beside it
    counts = finished.summary["studies"]
    assert (counts["found"], counts["accepted"], counts["broken"], counts["meters"]) == (4, 2, 1, 3)
    assert not finished.all_accepted


def test_a_study_of_a_portfolio_has_the_result_that_verify_gives(
    finished: PortfolioRun, four_studies: Path
) -> None:
    alone = json.loads(json.dumps(verify_study(four_studies / "alder").result))
    name = rows(finished).loc["alder", "study"]
    folder = study_folder(finished.folder, name)
    kept = dict(open_results(four_studies / "alder", folder).result)
    assert {k: v for k, v in kept.items() if k != "made_at"} == {
        k: v for k, v in alone.items() if k != "made_at"
    }
    assert rows(finished).loc["alder", "avoided_kwh"] == alone["savings"]["avoided_kwh"]["estimate"]


def test_studies_of_one_title_are_told_apart_by_their_sites(finished: PortfolioRun) -> None:
    found = [kept_record(folder) for folder in sorted((finished.folder / "studies").iterdir())]
    records = [replace(record, accepted=False) for record in found if record is not None]
    records[:2] = [replace(record, title="Lighting retrofit") for record in records[:2]]
    told = summary_of(records, gone=(), version="1", made_at="")["not_accepted"]
    sites = [f"{record.site}: Lighting retrofit" for record in records[:2]]
    assert [row["title"] for row in told] == [*sites, records[2].title]


def test_totals_add_up_and_groups_part_them(finished: PortfolioRun) -> None:
    table = rows(finished)
    total = finished.summary["total"]
    assert total["avoided_kwh"]["estimate"] == pytest.approx(table["avoided_kwh"].sum())
    programmes = {entry["name"]: entry for entry in finished.summary["by_programme"]}
    assert programmes["north"]["studies"] == 2 and programmes["south"]["studies"] == 1
    south = table.loc["birch"]
    assert programmes["south"]["realisation_rate"]["estimate"] == pytest.approx(south["realisation_rate"])
    assert [entry["name"] for entry in finished.summary["by_contractor"]] == ["first", "second"]
    assert [entry["name"] for entry in finished.summary["by_strategy"]] == ["occupancy sensing"]
    rate = total["normalised_annual_kwh"]["estimate"] / table["predicted_annual_kwh"].sum()
    assert total["realisation_rate"]["estimate"] == pytest.approx(rate)


def test_both_tables_have_the_columns_that_are_documented_with_units(finished: PortfolioRun) -> None:
    for name, columns in (("portfolio.parquet", STUDY_COLUMNS), ("meters.parquet", METER_COLUMNS)):
        schema = pq.read_schema(finished.folder / name)
        assert schema.names == list(columns)
        for field in schema:
            assert field.metadata[b"unit"].decode() == columns[field.name][1]
            assert field.metadata[b"meaning"]


def test_a_second_run_does_only_what_changed_or_was_spoilt(small_study: Small, tmp_path: Path) -> None:
    root, out = tmp_path / "studies", tmp_path / "out"
    for number, name in enumerate(("ash", "beech", "elm", "fir")):
        small_study(root / name, seed=number)
    first = run_portfolio([root], out, workers=2)
    tables = [(out / name).read_bytes() for name in ("portfolio.parquet", "meters.parquet")]
    assert first.fresh == 4
    again = run_portfolio([root], out, workers=1)
    assert again.fresh == 0
    assert tables == [(out / name).read_bytes() for name in ("portfolio.parquet", "meters.parquet")]
    assert {**first.summary, "made_at": ""} == {**again.summary, "made_at": ""}
    with (root / "ash" / "m.csv").open("a", encoding="utf-8") as file:
        file.write("2024-02-01,1.0\n")
    place = rows(first)["study"]
    (out / "studies" / place["beech"] / "result.json").write_text("{", encoding="utf-8")
    (out / "studies" / place["elm"] / "record.json").write_text('{"name": 1', encoding="utf-8")
    shutil.rmtree(root / "fir")
    third = run_portfolio([root], out, workers=2)
    assert third.fresh == 3 and third.all_accepted
    (remark,) = third.summary["remarks"]
    assert remark.startswith("fir (") and "no longer found" in remark
    assert list(rows(third).index) == ["ash", "beech", "elm"]


def test_two_runs_in_one_folder_do_not_mix(four_studies: Path, tmp_path: Path) -> None:
    with held(tmp_path / LOCK_FILE), pytest.raises(OutputError, match="another portfolio run is at work"):
        run_portfolio([four_studies / "alder"], tmp_path)
    assert not is_portfolio(tmp_path)


def test_what_is_wrong_with_the_command_is_told_before_any_work(
    four_studies: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "file").write_text("", encoding="utf-8")
    wrong = [
        [str(tmp_path / "empty"), "--out", str(tmp_path / "out")],
        [str(tmp_path / "absent"), "--out", str(tmp_path / "out")],
        [str(four_studies), "--out", str(tmp_path / "file")],
        [str(four_studies), "--out", str(tmp_path / "out"), "--workers", "0"],
    ]
    for words in wrong:
        assert main(["portfolio", *words]) == 2
        told = capsys.readouterr()
        assert told.out == "" and told.err.startswith("tallylux: ")
    assert not (tmp_path / "out").exists()


def test_a_study_that_kills_its_process_is_reported_and_the_others_are_done(
    small_study: Small, tmp_path: Path
) -> None:
    root = tmp_path / "studies"
    for number, name in enumerate(("ash", "deadly", "elm")):
        small_study(root / name, seed=number)
    hook = tmp_path / "hook"
    hook.mkdir()
    (hook / "sitecustomize.py").write_text(
        "import os, sys\n"
        "def end(event, args):\n"
        "    if event == 'open' and str(args[0]).endswith('deadly/m.csv'):\n"
        "        os._exit(9)\n"
        "sys.addaudithook(end)\n",
        encoding="utf-8",
    )
    words = [
        sys.executable,
        "-m",
        "mv",
        "portfolio",
        str(root),
        "--out",
        str(tmp_path / "out"),
        "--workers",
        "2",
    ]
    run = subprocess.run(
        words, capture_output=True, text=True, env={**os.environ, "PYTHONPATH": str(hook)}, check=False
    )
    assert run.returncode == 1, run.stderr
    stored = open_portfolio(tmp_path / "out")
    status = dict(
        zip(stored.studies["path"].map(lambda p: Path(p).parent.name), stored.studies["status"], strict=True)
    )
    assert status == {"ash": "accepted", "deadly": "broken", "elm": "accepted"}
    assert "ended without an answer" in stored.summary["broken"][0]["message"]
    assert run.stderr == ""


def test_a_defect_of_ours_is_told_with_its_trace_and_stops_nothing(
    four_studies: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import mv.verify
    from mv.programme.work import Task, do_task

    def fail(*_: Any, **__: Any) -> Any:
        raise ZeroDivisionError("in here")

    monkeypatch.setattr(mv.verify, "verify_study", fail)
    done = do_task(Task("alder", str(four_studies / "alder" / "study.toml"), str(tmp_path)))
    assert "a defect of the program" in done.outcome.message  # type: ignore[union-attr]
    assert "in here" in (tmp_path / "defect.txt").read_text(encoding="utf-8")


def test_studies_are_found_by_folder_file_and_pattern_each_once(four_studies: Path, tmp_path: Path) -> None:
    from mv.programme.places import find_studies

    named = [four_studies, four_studies / "alder" / "study.toml", str(four_studies / "*" / "birch")]
    places = find_studies(named)
    assert [Path(place.path).parent.name for place in places] == [
        "alder",
        "cedar",
        "birch",
        "dogwood",
    ] or len(places) == 4
    assert len({place.name for place in places}) == 4
    assert places == sorted(places)
    with pytest.raises(StudyError, match=r"holds no study.toml"):
        find_studies([tmp_path])
    with pytest.raises(InputError, match="is not there"):
        find_studies([four_studies, tmp_path / "absent"])


def test_a_name_from_outside_leads_to_no_folder_but_a_studys(finished: PortfolioRun) -> None:
    for name in ("", ".", "..", "../studies", "a/b", "/etc", "absent"):
        assert study_folder(finished.folder, name) is None
