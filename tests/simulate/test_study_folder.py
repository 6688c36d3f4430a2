"""A written study is one a user could have: it loads, its files say what the site did, its bytes repeat."""

import gzip
import hashlib
import json
import os
import subprocess
import sys
import tomllib
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mv.base.study_records import Study
from mv.simulate import (
    MeterDesign,
    SettingChange,
    SimulatedSite,
    StudyExtras,
    motion_log,
    random_changes,
    random_site,
    simulate_site,
    true_settings,
    write_study,
)
from mv.simulate.__main__ import main
from mv.simulate.other_load import slow_temperature

SCRIPT = """
import sys
from pathlib import Path
from mv.simulate import random_site, simulate_site, write_study
design = random_site(11, zones=3, latitude=44.5, baseline_months=1, reporting_months=1, whole_building=True)
write_study(simulate_site(design, 11), Path(sys.argv[1]), bridge=True, motion_compressed=True)
"""


@pytest.fixture(scope="module")
def site() -> SimulatedSite:
    design = random_site(
        5, zones=3, kinds=("office", "hall", "outdoor"), latitude=48.0, baseline_months=2, reporting_months=3
    )
    return simulate_site(
        design.with_changes(*random_changes(design, 5, first_after_days=20, last_before_days=20)), 5
    )


def loaded(path: Path) -> Study:
    return Study.model_validate(tomllib.loads(path.read_text(encoding="utf-8")))


def test_the_study_loads_with_the_zones_and_settings_of_the_design(
    site: SimulatedSite, tmp_path: Path
) -> None:
    study = loaded(write_study(site, tmp_path))
    assert study.periods is not None
    assert (study.periods.reporting.first, study.periods.reporting.last) == site.design.reporting
    for zone, written in zip(site.design.zones, study.zone, strict=True):
        assert written.connected_kw_after == pytest.approx(zone.connected_kw_after)
        told = written.commissioned.model_dump(exclude_none=True)
        assert told.items() <= true_settings(zone).items()
        assert "standby_watts" in told


def test_meter_files_hold_the_energy_of_the_site(site: SimulatedSite, tmp_path: Path) -> None:
    study = loaded(write_study(site, tmp_path))
    for meter in study.meter:
        table = pd.read_csv(tmp_path / meter.files[0])
        true = site.zone(meter.zones[0]).actual_kw.sum() / 60
        assert table["kWh"].sum() == pytest.approx(true, rel=0.02)
        stamps = pd.to_datetime(table["timestamp"], utc=True)
        assert (stamps.diff().dropna() == pd.Timedelta(minutes=15)).all()
        assert stamps.iloc[0] == site.clock.start


def test_motion_logs_alternate_and_lie_in_the_reporting_period(site: SimulatedSite, tmp_path: Path) -> None:
    study = loaded(write_study(site, tmp_path))
    logged = [zone for zone in study.zone if zone.motion]
    assert logged
    for zone in logged:
        log = pd.read_csv(tmp_path / zone.motion[0])
        times = pd.to_datetime(log["time"], utc=True)
        assert times.is_monotonic_increasing
        assert (log["state"].diff().dropna().abs() == 1).all()
        seen = (times.diff().dt.total_seconds()[log["state"] == 0]).sum() / 60
        minutes = site.zone(zone.id).motion[site.reporting].sum()
        assert 0.5 * minutes < seen <= minutes


def test_truth_lies_beside_and_adds_up(site: SimulatedSite, tmp_path: Path) -> None:
    write_study(site, tmp_path, bridge=True)
    truth = json.loads((tmp_path / "truth.json").read_text())
    assert truth["avoided_kwh"] == pytest.approx(sum(truth["avoided_kwh_by_zone"].values()), abs=1e-3)
    assert truth["avoided_kwh"] == pytest.approx(sum(truth["avoided_kwh_by_month"].values()), abs=1e-3)
    for zone, steps in truth["bridge_kwh_by_zone"].items():
        assert sum(steps.values()) == pytest.approx(truth["avoided_kwh_by_zone"][zone], abs=1e-3)
    assert [c["zone"] for c in truth["changes"]] == [c.zone for c in site.design.changes]


def test_the_same_site_gives_the_same_bytes_in_another_process(tmp_path: Path) -> None:
    def digest(name: str, hash_seed: str) -> dict[str, str]:
        folder = tmp_path / name
        root = Path(__file__).resolve().parents[2]
        surroundings = {
            **os.environ,
            "PYTHONHASHSEED": hash_seed,
            "PYTHONPATH": str(root),
            "TZ": "Asia/Tokyo",
        }
        subprocess.run(
            [sys.executable, "-c", SCRIPT, str(folder)], check=True, env=surroundings, cwd=tmp_path
        )
        files = sorted(path for path in folder.rglob("*") if path.is_file())
        assert len(files) > 4
        return {p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest() for p in files}

    assert digest("one", "1") == digest("two", "2")


def test_lines_end_in_one_newline_and_files_are_utf8(site: SimulatedSite, tmp_path: Path) -> None:
    write_study(site, tmp_path)
    for path in tmp_path.rglob("*.csv"):
        data = path.read_bytes()
        assert b"\r" not in data
        assert data.endswith(b"\n") and not data.endswith(b"\n\n")


def test_a_meter_split_by_year_and_compressed_holds_the_same_rows(
    site: SimulatedSite, tmp_path: Path
) -> None:
    zone = site.design.zones[0].id
    whole = MeterDesign("A", (zone,))
    split = replace(whole, id="A", split_by_year=True, compressed=True)
    write_study(site, tmp_path / "whole", meters=[whole], motion_zones=())
    write_study(site, tmp_path / "split", meters=[split], motion_zones=())
    rows = (tmp_path / "whole/meters/A.csv").read_text().splitlines()[1:]
    parts = [
        gzip.decompress(p.read_bytes()).decode().splitlines()[1:]
        for p in sorted((tmp_path / "split/meters").iterdir())
    ]
    assert len(parts) == 2
    assert [row for part in parts for row in part] == rows


def test_extra_tables_reach_the_study(site: SimulatedSite, tmp_path: Path) -> None:
    extras = StudyExtras(
        predicted={"annual_kwh": 1000.0, "peak_kw": 2.0},
        peak={"months": [3, 4, 5], "hours": [14, 18]},
        tariff={"energy_per_kwh": [{"name": "day", "per_kwh": 0.2, "hours": [8, 20]}]},
        notes=("first line",),
    )
    path = write_study(site, tmp_path, extras=extras)
    study = loaded(path)
    assert study.predicted.annual_kwh == 1000.0
    assert study.tariff.energy_per_kwh is not None
    assert path.read_text().startswith("# first line\n")
    truth = json.loads((tmp_path / "truth.json").read_text())
    saved = site.baseline_total_kw - site.actual_total_kw
    wall = site.clock.minute_of_day[site.reporting]
    rough = saved[site.reporting][(wall >= 840) & (wall < 1080)].mean()
    assert truth["peak_kw"] == pytest.approx(rough, rel=0.6)


def test_a_whole_building_has_one_meter_weather_and_more_than_lighting(tmp_path: Path) -> None:
    design = random_site(
        8, zones=2, latitude=33.4, baseline_months=1, reporting_months=1, whole_building=True
    )
    site = simulate_site(design, 8)
    study = loaded(write_study(site, tmp_path))
    assert [meter.measures for meter in study.meter] == ["whole building"]
    assert study.weather is not None
    lighting = np.sum([zone.actual_kw for zone in site.zones], axis=0)
    assert (site.actual_total_kw > lighting).all()
    table = pd.read_csv(tmp_path / study.meter[0].files[0])
    assert table["kWh"].sum() == pytest.approx(site.actual_total_kw.sum() / 60, rel=0.02)


def test_a_change_of_an_unknown_zone_is_refused() -> None:
    design = random_site(1)
    with pytest.raises(ValueError, match="nowhere"):
        design.with_changes(SettingChange("nowhere", design.reporting[0], "high_trim", 1.0))


def test_a_random_study_can_be_had_from_the_command_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main([str(tmp_path), "--random", "--seed", "3", "--zones", "1", "--interval", "60"])
    assert "invented" in capsys.readouterr().out
    study = loaded(tmp_path / "study.toml")
    truth = json.loads((tmp_path / "truth.json").read_text())
    assert len(study.zone) == 1 and len(truth["changes"]) == 1


def test_mass_slows_what_a_building_feels_of_the_weather() -> None:
    air = np.r_[np.full(1000, 10.0), np.full(5000, 20.0)]
    felt = slow_temperature(air)
    assert felt[:1000] == pytest.approx(10.0)
    assert felt[1000 + 720 - 1] == pytest.approx(20 - 10 * np.exp(-1), abs=0.01)  # one time constant later


def test_a_log_that_fell_silent_has_no_rows_on_those_days(site: SimulatedSite, tmp_path: Path) -> None:
    zone = next(z.id for z in site.design.zones if z.commissioned.occupancy_sensing)
    first, last = date(2023, 4, 3), date(2023, 4, 12)
    write_study(site, tmp_path, motion_silent={zone: [(first, last)]})
    times = pd.to_datetime(pd.read_csv(tmp_path / f"motion/motion-{zone}.csv")["time"], utc=True)
    local = times.dt.tz_convert(site.design.timezone).dt.date
    assert not ((local >= first) & (local <= last)).any()
    full = motion_log(site, zone).state
    assert len(motion_log(site, zone, silent=[(first, last)]).state) == len(times) - 1 < len(full)


def test_the_drawn_inventory_counts_the_zones_of_the_design(site: SimulatedSite, tmp_path: Path) -> None:
    study = loaded(write_study(site, tmp_path))
    assert study.predicted.inventory == "inventory.csv"
    table = pd.read_csv(tmp_path / "inventory.csv")
    own = table[~table["space"].str.endswith("egress")].set_index("zone")
    for zone in site.design.zones:
        assert own.loc[zone.id, "quantity"] == zone.fixtures
        assert 0 < own.loc[zone.id, "hours_per_year"] <= 8760
    egress = table[table["space"].str.endswith("egress")]
    assert len(egress) == sum(zone.egress_kw_before > 0 for zone in site.design.zones)
