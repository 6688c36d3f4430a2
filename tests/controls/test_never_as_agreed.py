"""Before a setting is called never as agreed, what else may look like it is ruled out."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.base.study_records import Commissioned, Span, Zone
from mv.controls.always_on import AlwaysOn
from mv.controls.daily import Daily
from mv.controls.daylight import Response
from mv.controls.daylight_state import daylight_state
from mv.controls.evidence import ZoneEvidence, gathered
from mv.controls.level_doubts import AT_FLOOR, AT_REST, NO_FLOOR, low_doubt, trim_doubt
from mv.controls.setting_rules import standby_watts
from mv.controls.steps import Level
from mv.controls.tolerances import LOW
from mv.controls.verdicts import Scale, numeric_finding
from mv.controls.zone_table import zone_record


@pytest.fixture
def evidence(make_zone, truth_of):
    meter, log, conditions, (first, last) = make_zone(truth_of(), days=40, minutes=15, seed=4)
    record = zone_record(
        meter, log, conditions, reporting=Span(first=first, last=last), timezone="UTC", connected_kw=2.0
    )
    agreed = Commissioned(high_trim=0.8, low_level=0.2)
    zone = Zone(id="z", fixtures=40, watts_after=50.0, commissioned=agreed)
    return replace(gathered(zone, record, confidence=0.9), together=True)


def moved(setting, agreed, now, *, since=None, before=None):
    earlier = None if before is None else Estimate(before, None, None, 0.9)
    observed = Estimate(now, now - 0.01, now + 0.01, 0.9)
    return SettingFinding("z", setting, agreed, observed, "moved", since, "it moved", None, earlier)


@pytest.mark.parametrize(("days", "verdict"), [(3, "cannot tell"), (12, "moved")])
def test_a_level_never_as_agreed_is_told_from_a_week_of_days(days, verdict):
    found = numeric_finding(
        "z",
        "low_level",
        agreed=0.32,
        levels=[Level(100, 130, 0.24, 0.002, days)],
        tolerance=LOW,
        scale=Scale("the level when vacant", "%", 1, 0.004, 0.9),
        last_day=131,
    )
    assert found.verdict == verdict


@pytest.mark.parametrize(("kind", "doubt"), [("unknown", NO_FLOOR), ("standby", None)])
def test_a_load_beside_the_lamps_may_raise_every_level_where_no_floor_was_seen(evidence, kind, doubt):
    seen = replace(evidence, floor=AlwaysOn(0.0, 0.0, 0.0, kind))
    assert trim_doubt(seen, moved("high_trim", 0.63, 0.68)) == doubt
    assert low_doubt(seen, moved("low_level", 0.20, 0.25)) == doubt


def test_a_rise_in_time_or_by_more_than_such_a_load_is_still_told(evidence):
    seen = replace(evidence, floor=AlwaysOn(0.0, 0.0, 0.0, "unknown"))
    assert trim_doubt(seen, moved("high_trim", 0.63, 0.80)) is None
    assert trim_doubt(seen, moved("high_trim", 0.63, 0.68, since=date(2024, 3, 20), before=0.63)) is None


@pytest.mark.parametrize(
    ("level", "kind", "doubt"),
    [(0.456, "lamps", AT_REST), (0.456, "standby", None), (0.21, "standby", AT_REST), (0.55, "lamps", None)],
)
def test_lamps_seen_only_at_the_level_they_rest_at_have_not_fallen(evidence, level, kind, doubt):
    """They rest at 0.2 as agreed, or at 0.455 where that is how they are never off."""
    last = replace(evidence.trim[-1], value=level)
    seen = replace(evidence, floor=AlwaysOn(0.455, 0.0, 0.0, kind), trim=(last,))
    found = moved("high_trim", 0.65, level, since=date(2024, 3, 20), before=0.65)
    assert trim_doubt(seen, found) == doubt


@pytest.mark.parametrize(("level", "alive"), [(0.34, None), (0.61, False)])
def test_lamps_never_seen_without_sun_may_always_be_dimmed(level, alive):
    n = 20
    steady = np.full(n, level)
    response = Response(
        day=np.arange(n),
        depth=np.zeros(n),
        answers=np.zeros(n, dtype=bool),
        sun=np.full(n, 30.0),
        level=steady,
        top=steady,
        without_sun=np.full(n, np.nan),
    )
    assert daylight_state(response, agreed_full=0.61).alive is alive


def test_the_lowest_load_of_a_day_on_which_lamps_are_never_off_is_no_standby(evidence, monkeypatch):
    """From day 60 on three days in five know no darkness: their lowest readings are the lamps' own."""
    lit = (np.arange(120) % 5 < 3) & (np.arange(120) >= 60)
    watts = np.where(lit, 3.2, 1.05)
    floor = Daily(np.arange(120), watts / 50.0, np.full(120, 12.0))
    own = ZoneEvidence.series
    monkeypatch.setattr(ZoneEvidence, "series", lambda e, name: floor if name == "floor" else own(e, name))
    ends = replace(evidence.record.table, day=np.full(len(evidence.record.table), 119))
    seen = replace(
        evidence,
        record=replace(evidence.record, table=ends),
        floor=AlwaysOn(1.05 / 50.0, 0.0, 0.0, "standby"),
        common=(),
    )
    found = standby_watts(seen, 1.05)
    assert found.verdict == "kept"
    assert found.observed.estimate == pytest.approx(1.05, abs=0.01)


def test_a_vacant_level_no_higher_than_a_grown_standby_is_no_low_level(evidence):
    grown = replace(
        evidence,
        low=(Level(100, 300, 0.043, 0.001, 200),),
        floors=(Level(0, 99, 0.010, 0.001, 100), Level(100, 300, 0.041, 0.001, 200)),
    )
    assert low_doubt(grown, moved("low_level", 0.0, 0.033)) == AT_FLOOR
    lit = replace(grown, low=(Level(100, 300, 0.2, 0.001, 200),))
    assert low_doubt(lit, moved("low_level", 0.0, 0.19)) is None
