"""Settings put into simulated zones and asked back from their meters and motion logs."""

from dataclasses import replace
from datetime import timedelta

import pandas as pd
import pytest

from mv.base.estimate import Estimate
from mv.base.study_records import Commissioned, Span, Study, Zone
from mv.controls import infer_settings
from mv.drift import DriftSeries, find_drift
from mv.drivers import daily_drivers, interval_conditions
from mv.simulate import (
    SettingChange,
    default_meters,
    meter_series,
    motion_log,
    random_site,
    simulate_site,
    true_settings,
)

LIMIT = {"high_trim": 0.03, "low_level": 0.03, "standby_watts": 0.2}
HOLD_LIMIT = {1: 1.0, 5: 2.0, 15: 5.0}


def drawn(seed, kind):
    """A site of one zone with a sensor, five months of reporting."""
    for attempt in range(40):
        design = random_site(
            seed + 1000 * attempt, kinds=(kind,), baseline_months=1, reporting_months=5, latitude=45.0
        )
        if design.zones[0].commissioned.occupancy_sensing:
            return design
    raise AssertionError("no zone with a sensor was drawn")


def study_of(design):
    hours: dict[str, list[str]] = {}
    for days, span in design.hours:
        hours.setdefault(days, []).append(span)
    place = {"latitude": design.latitude, "longitude": design.longitude, "timezone": design.timezone}
    return Study.model_validate(
        {
            "format": 1,
            "site": {"name": "s", **place},
            "meter": [{"id": "m", "files": ["m.csv"]}],
            "occupancy": {"hours": hours, "holidays": list(design.holidays)},
        }
    )


def looked_at(site, minutes):
    """Settings and drift of the site's zone metered at an interval."""
    design, name = site.design, site.design.zones[0].id
    truth = site.design.zones[0]
    zone = Zone(
        id=name,
        fixtures=truth.fixtures,
        watts_after=truth.watts_after,
        place="indoor",
        commissioned=Commissioned(**true_settings(truth)),
    )
    study = study_of(design)
    meter = meter_series(site, default_meters(site, minutes)[0])
    first = pd.Timestamp(design.reporting[0], tz=design.timezone).tz_convert("UTC")
    keep = meter.energy_kwh.index >= first
    meter = replace(meter, energy_kwh=meter.energy_kwh[keep], estimated=meter.estimated[keep])
    index = pd.DatetimeIndex(meter.energy_kwh.index)
    conditions = interval_conditions(index, study, zone)
    log = motion_log(site, name)
    settings = infer_settings(
        zone,
        meter,
        log,
        conditions,
        reporting=Span(first=design.reporting[0], last=design.reporting[1]),
        timezone=design.timezone,
        confidence=0.90,
    )
    energy = meter.energy_kwh.groupby(conditions["local_day"].to_numpy()).sum()
    drivers = daily_drivers(study, *design.reporting, zones=[zone], motion={name: log})
    return settings, find_drift([DriftSeries(name, energy, drivers, (name,))], [settings], confidence=0.90)


@pytest.mark.parametrize(("seed", "kind"), [(1, "stores"), (2, "office"), (3, "workshop"), (4, "corridor")])
def test_what_is_told_of_a_quiet_zone_is_true(seed, kind):
    design = drawn(seed, kind)
    site = simulate_site(design, seed)
    truth = true_settings(design.zones[0])
    told = 0
    for minutes in (1, 5, 15):
        settings, drift = looked_at(site, minutes)
        for finding in settings.findings:
            assert finding.verdict != "moved", finding.why
            if not isinstance(finding.observed, Estimate):
                continue
            told += 1
            true = truth[finding.setting]
            if isinstance(true, bool):
                assert bool(finding.observed.estimate) is true, finding.why
            else:
                limit = LIMIT.get(finding.setting, HOLD_LIMIT[minutes])
                assert finding.observed.estimate == pytest.approx(true, abs=limit), finding.setting
        assert not [f for f in drift if f.kind != "gap"]
    assert told >= 10


@pytest.mark.parametrize(
    ("seed", "kind", "setting", "value", "cause"),
    [
        (5, "stores", "high_trim", 1.0, "trim removed"),
        (6, "corridor", "hold_minutes", 45.0, "delay lengthened"),
        (7, "stores", "sensor_bypassed", True, "sensor bypassed"),
        (8, "stores", "override_on", True, "override left on"),
    ],
)
def test_a_planted_change_is_one_finding_with_its_cause_and_day(seed, kind, setting, value, cause):
    design = drawn(seed, kind)
    zone = design.zones[0]
    agreed = replace(zone.commissioned, high_trim=0.75, hold_minutes=10.0, low_level=0.2, sensor_groups=1)
    design = replace(design, zones=(replace(zone, commissioned=agreed),))
    day = design.reporting[0] + timedelta(days=80)
    site = simulate_site(design.with_changes(SettingChange(zone.id, day, setting, value, 600)), seed)
    for minutes in (5, 15):
        _, drift = looked_at(site, minutes)
        found = [f for f in drift if f.kind != "gap"]
        assert len(found) == 1, [f.what for f in found]
        assert cause in found[0].causes
        assert abs((found[0].since - day).days) <= (2 if minutes == 5 else 5)
        assert isinstance(found[0].kwh_per_month, Estimate)
        assert found[0].kwh_per_month.estimate > 0
