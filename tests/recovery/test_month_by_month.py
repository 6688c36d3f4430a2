"""A month of files is added to a study and it is run again: what the old months said stays said."""

import itertools
import re
import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from mv.acknowledge import acknowledge, acknowledged_now, finding_key
from mv.base.verification import Verification
from mv.simulate import SettingChange, random_site, simulate_site, write_study
from mv.verify import verify_study

MONTHS = ("2023-08", "2023-09", "2023-10")  # the reporting period ends with each of them in turn
TRIM_DAY, LAMPS_DAY = date(2023, 6, 14), date(2023, 9, 12)


def site_design():
    """A hall and an office of which one loses its trim early and the other lamps late."""
    design = random_site(41, zones=2, kinds=("office", "hall"), baseline_months=3, reporting_months=9)
    first, second = design.zones
    return design.with_changes(
        SettingChange(first.id, TRIM_DAY, "high_trim", 1.0, 600, "trim removed"),
        SettingChange(second.id, LAMPS_DAY, "lamps_failed", 0.25, 600, "lamps failed"),
    )


def split_by_month(path: Path, timezone: str) -> None:
    """One file a month of the site's clock instead of one."""
    header, *lines = path.read_text(encoding="utf-8").splitlines()
    stamps = pd.to_datetime([line.split(",")[0] for line in lines], utc=True, format="ISO8601")
    by_month: dict[str, list[str]] = {}
    for month, line in zip(stamps.tz_convert(timezone).strftime("%Y-%m"), lines, strict=True):
        by_month.setdefault(month, []).append(line)
    for month, part in by_month.items():
        text = "\n".join([header, *part]) + "\n"
        path.with_name(f"{path.stem}-{month}.csv").write_text(text, encoding="utf-8")
    path.unlink()


def until_month(whole: Path, folder: Path, month: str) -> Path:
    """Adds to the study in `folder` the files of the months up to one, and ends its reporting there."""
    for path in whole.rglob("*.csv"):
        found = re.search(r"(\d{4}-\d{2})\.csv$", path.name)
        target = folder / path.relative_to(whole)
        if not target.exists() and (found is None or found[1] <= month):
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(path, target)
    last = pd.Period(month, "M").end_time.date()
    text = (whole / "study.toml").read_text(encoding="utf-8")
    text = re.sub(r'(reporting = \["[-\d]+", )"[-\d]+"', rf'\1"{last}"', text)
    (folder / "study.toml").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The whole study, its meters and logs in a file a month."""
    folder = tmp_path_factory.mktemp("whole")
    write_study(simulate_site(site_design(), 41), folder, interval_minutes=15)
    for path in [*folder.glob("meters/*.csv"), *folder.glob("motion/*.csv")]:
        split_by_month(path, site_design().timezone)
    text = (folder / "study.toml").read_text(encoding="utf-8")
    text = re.sub(r'"((?:meters|motion)/[^"]+)\.csv"', r'"\1-*.csv"', text)
    (folder / "study.toml").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def grown(whole: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[Verification]]:
    """One study folder, verified as each month was added; the first look's findings are acknowledged."""
    folder = tmp_path_factory.mktemp("grown")
    runs = []
    for month in MONTHS:
        runs.append(verify_study(until_month(whole, folder, month)))
        if len(runs) == 1:
            for finding in runs[0].result["drift"]:
                acknowledge(folder, finding, who="Kim", why="the electrician comes in May")
    return folder, runs


def monthly(run: Verification) -> dict[str, dict[str, Any]]:
    return {row["month"]: row for row in run.result["savings"]["monthly"]}


def test_old_months_keep_what_was_expected_metered_and_avoided(grown) -> None:
    _, runs = grown
    for earlier, later in itertools.pairwise(runs):
        old, new = monthly(earlier), monthly(later)
        assert len(new) == len(old) + 1
        assert old == {month: new[month] for month in old}


def test_old_months_keep_the_settings_they_showed(grown) -> None:
    """To the last bit, the newest month too, though its log ended with its last motion."""
    _, runs = grown
    for earlier, later in itertools.pairwise(runs):
        old, new = earlier.settings_by_month, later.settings_by_month
        kept = new[new["month"] <= old["month"].max()]
        pd.testing.assert_frame_equal(*(table.reset_index(drop=True) for table in (old, kept)))


def test_findings_keep_their_name_and_date(grown) -> None:
    _, runs = grown
    first = [{row["id"]: row["since"] for row in run.result["drift"]} for run in runs]
    assert first[0], "the trim was removed in time for the first look"
    for earlier, later in itertools.pairwise(first):
        assert earlier.items() <= later.items()
    told = [row for row in runs[-1].result["drift"] if row["zones"] == [site_design().zones[0].id]]
    assert abs((date.fromisoformat(told[0]["since"]) - TRIM_DAY).days) <= 5
    assert told[0]["first_told"] == "2023-06-30"


def test_a_later_change_is_a_new_finding(grown) -> None:
    _, runs = grown
    known = {row["id"] for row in runs[0].result["drift"]}
    new = [row for row in runs[-1].result["drift"] if row["id"] not in known]
    assert [abs((date.fromisoformat(row["since"]) - LAMPS_DAY).days) <= 5 for row in new] == [True]
    assert new[0]["kwh_per_month"]["estimate"] < 0


def test_what_was_acknowledged_stays_acknowledged_with_who_when_and_why(grown) -> None:
    folder, runs = grown
    for run in runs:
        noted = acknowledged_now(folder, run.result["drift"])
        known = {finding_key(row) for row in runs[0].result["drift"]}
        assert known <= set(noted)
        assert {(note.who, note.why) for note in noted.values()} == {("Kim", "the electrician comes in May")}
        assert all(note.when for note in noted.values())
    unknown = {finding_key(row) for row in runs[-1].result["drift"]} - known
    assert unknown
    assert not unknown & set(acknowledged_now(folder, runs[-1].result["drift"]))


def test_a_fresh_run_on_all_months_says_what_the_growing_study_says(whole, grown, tmp_path) -> None:
    _, runs = grown
    fresh = verify_study(until_month(whole, tmp_path, MONTHS[-1]))
    names = [{row["id"]: row["since"] for row in run.result["drift"]} for run in (runs[-1], fresh)]
    assert names[0] == names[1]
