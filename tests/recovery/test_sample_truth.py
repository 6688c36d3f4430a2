"""The sample study is what it says it is: the same bytes each time, small, with a sound answer key."""

import json
import tomllib
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from mv.base.study_records import Study
from mv.simulate import change_worths
from mv.simulate.sample_site import CHANGES, INVENTORY, write_sample
from mv.simulate.site import SimulatedSite

Rewritten = tuple[Path, SimulatedSite]


@pytest.fixture(scope="module")
def rewritten(tmp_path_factory: pytest.TempPathFactory) -> Rewritten:
    folder = tmp_path_factory.mktemp("sample")
    return folder, write_sample(folder)


def test_the_sample_is_made_again_byte_for_byte(rewritten: Rewritten, sample_folder: Path) -> None:
    folder, _ = rewritten
    fresh = {p.relative_to(folder): p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    kept = {p.relative_to(sample_folder): p.read_bytes() for p in sample_folder.rglob("*") if p.is_file()}
    kept = {name: data for name, data in kept.items() if name.parts[0] != "results"}
    assert set(fresh) == set(kept)
    assert [str(name) for name in fresh if fresh[name] != kept[name]] == []


def test_the_sample_is_small_holds_no_code_and_says_it_is_invented(sample_folder: Path) -> None:
    files = [p for p in sample_folder.rglob("*") if p.is_file()]
    assert sum(p.stat().st_size for p in files) < 8_000_000
    assert not [p for p in files if p.suffix == ".py"]
    assert "INVENTED" in (sample_folder / "README.txt").read_text()
    assert "invented" in (sample_folder / "study.toml").read_text()
    assert json.loads((sample_folder / "truth.json").read_text())["invented"] is True


def test_the_study_names_files_that_are_there(sample_folder: Path) -> None:
    study = Study.model_validate(tomllib.loads((sample_folder / "study.toml").read_text()))
    for pattern in (f for meter in study.meter for f in meter.files):
        assert list(sample_folder.glob(pattern)), pattern
    for name in (f for zone in study.zone for f in zone.motion):
        assert (sample_folder / name).is_file(), name
    assert len({meter.id for meter in study.meter}) == len(study.zone) == 6


def test_the_truth_adds_up_over_zones_months_and_measures(sample_folder: Path) -> None:
    truth = json.loads((sample_folder / "truth.json").read_text())
    total = pytest.approx(truth["avoided_kwh"], abs=0.01)
    assert sum(truth["avoided_kwh_by_zone"].values()) == total
    assert sum(truth["avoided_kwh_by_month"].values()) == total
    assert truth["baseline_at_reporting_conditions_kwh"] - truth["actual_reporting_kwh"] == total
    for zone, steps in truth["bridge_kwh_by_zone"].items():
        assert sum(steps.values()) == pytest.approx(truth["avoided_kwh_by_zone"][zone], abs=0.01)


def test_each_thing_that_went_wrong_shows_from_its_minute_and_not_before(rewritten: Rewritten) -> None:
    _, site = rewritten
    for worth in change_worths(site):
        assert worth.fraction > 0.05, worth.change
    clock = site.clock
    for change in CHANGES:
        assert site.design.reporting[0] < change.day < site.design.reporting[1]
        assert clock.minute_at(change.day, change.minute) < clock.n
    hall, lost = site.zone("hall"), clock.minute_at(date(2024, 10, 21), 130)
    closed = ~hall.scene.hours.open
    standby = hall.actual_kw[site.handover_minute : lost][closed[site.handover_minute : lost]]
    assert np.median(standby) == pytest.approx(36 * 0.6 / 1000)
    powered = lost + 60  # after the power cut
    assert hall.actual_kw[powered:].min() == pytest.approx(0.30 * 36 * 0.168, rel=1e-6)
    aisles, trim = site.zone("aisles"), clock.minute_at(date(2024, 11, 19), 545)
    assert aisles.actual_kw[site.handover_minute : trim].max() < 0.87 * 48 * 0.092
    assert aisles.actual_kw[trim:].max() > 0.99 * 48 * 0.092


def test_the_prediction_is_somewhat_hopeful(sample_folder: Path) -> None:
    """Predicted kWh by the inventory's own arithmetic: control savings on the new load only."""
    predicted = 0.0
    for _, _, quantity, before, after, hours, control, standby, _ in INVENTORY:
        burning = hours * (1 - control)
        predicted += quantity * (before * hours - after * burning - standby * (8760 - burning)) / 1000
    truth = json.loads((sample_folder / "truth.json").read_text())
    assert 0.80 < truth["avoided_kwh"] / predicted < 0.92
