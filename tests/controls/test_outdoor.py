"""Outdoor lights: dusk to dawn, switching height of the sun, part-night dim, and what goes wrong."""

from datetime import timedelta

import numpy as np
import pandas as pd
import pytest

from mv.base.ledger import Ledger
from mv.base.series import MeterSeries
from mv.base.study_records import Commissioned, Span, Zone
from mv.controls import infer_settings

EMPTY = Ledger("m", 0, 0, {}, 0, None, None, None, None, {})
DAYS = 120


def night_light(
    *,
    stuck_from=None,
    early_from=None,
    dark_from=None,
    added_from=None,
    part=1.0,
    whole_nights=(),
    place="outdoor",
):
    """20 fixtures of 60 W at 0.9, on below -3 degrees, 5 minutes, latitude 48, from 1 March."""
    index = pd.date_range("2024-03-01", periods=DAYS * 288, freq="5min", tz="UTC")
    hour = np.asarray((index.hour * 60 + index.minute) / 60.0)
    day = np.arange(len(index)) // 288
    declination = np.radians(23.44 * np.sin(2 * np.pi * (np.asarray(index.day_of_year) - 81) / 365.0))
    lat = np.radians(48.0)
    sun = np.degrees(
        np.arcsin(
            np.sin(lat) * np.sin(declination)
            + np.cos(lat) * np.cos(declination) * np.cos(np.radians(15 * (hour - 12)))
        )
    )
    limit = np.where(day >= (early_from or DAYS), 4.0, -3.0)
    burning = sun < limit
    if stuck_from is not None:
        burning |= day >= stuck_from
    if dark_from is not None:
        burning &= day < dark_from
    level = np.where(burning, 0.9, 0.0)
    level[burning & ((hour >= 23) | (hour < 4) | np.isin(day, list(whole_nights)))] *= part
    watts = 20 * np.where(level > 0, 60 * level, 0.4) + np.where(day >= (added_from or DAYS), 150.0, 0.0)
    energy = pd.Series(watts / 12000.0, index)
    conditions = pd.DataFrame(
        {
            "sun_elevation_deg": sun,
            "is_open": (hour >= 7) & (hour < 19),
            "is_holiday": False,
            "local_day": index.tz_localize(None).normalize(),
            "local_hour": hour,
        },
        index=index,
    )
    zone = Zone(
        id="yard",
        fixtures=20,
        watts_after=60,
        place=place,
        commissioned=Commissioned(high_trim=0.9, standby_watts=0.4, daylight_dimming=True),
    )
    first = index[0].date()
    return infer_settings(
        zone,
        MeterSeries("m", 5.0, energy, pd.Series(False, index), EMPTY),
        None,
        conditions,
        reporting=Span(first=first, last=first + timedelta(days=DAYS - 1)),
        timezone="UTC",
        confidence=0.90,
    )


def changed_on(finding):
    return (finding.since - pd.Timestamp("2024-03-01").date()).days


@pytest.mark.parametrize("place", ["outdoor", None])
def test_a_sound_zone_is_kept_whether_or_not_the_study_says_outdoor(place):
    result = night_light(place=place)
    assert [f.verdict for f in result.findings] == ["kept", "kept", "kept"]
    assert result.signs == ()
    on = result.monthly.query("setting == 'switching_on_deg'")["estimate"].astype(float)
    assert on.to_numpy() == pytest.approx(-3.0, abs=0.4)


def test_a_stuck_photocell_burns_by_day_and_is_dated_and_priced():
    result = night_light(stuck_from=70)
    dimming = next(f for f in result.findings if f.setting == "daylight_dimming")
    assert dimming.verdict == "moved"
    assert abs(changed_on(dimming) - 70) <= 1
    assert dimming.effect_kwh_per_month.estimate == pytest.approx(20 * 60 * 0.9 / 1000 * 15 * 30.4, rel=0.15)


def test_a_photocell_that_switches_early_is_seen_in_the_suns_height():
    result = night_light(early_from=60)
    early = [s for s in result.signs if s.setting.startswith("switching")]
    assert {s.setting for s in early} == {"switching_on_deg", "switching_off_deg"}
    assert all(abs(changed_on(s) - 60) <= 2 for s in early)
    assert early[0].observed.estimate == pytest.approx(4.0, abs=0.7)


def test_lamps_dark_at_night_are_a_safety_matter_not_a_saving():
    result = night_light(dark_from=80)
    sign = next(s for s in result.signs if s.setting == "off_at_night")
    assert abs(changed_on(sign) - 80) <= 1
    assert "safety" in sign.why


def test_a_load_added_to_the_circuit_moves_no_setting():
    result = night_light(added_from=50)
    assert {f.verdict for f in result.findings} == {"kept"}
    sign = next(s for s in result.signs if s.setting == "always_on_kw")
    assert sign.observed.estimate == pytest.approx(0.15, abs=0.01)
    assert abs(changed_on(sign) - 50) <= 1


def test_a_part_night_dim_is_told_month_by_month():
    result = night_light(part=0.5)
    dim = result.monthly.query("setting == 'part_night_level'")["estimate"].astype(float)
    assert dim.to_numpy() == pytest.approx(0.45, abs=0.01)


def test_what_an_outdoor_zone_does_is_told_as_the_latest_month_shows_it():
    rows = {row.setting: row for row in night_light(part=0.5).observed}
    assert rows["part_night_dim"].observed.estimate is True
    level = rows["part_night_level"].observed
    assert level.low <= 0.45 <= level.high
    for name in ("switching_on_deg", "switching_off_deg"):
        assert rows[name].month == "2024-06"
        assert rows[name].observed.estimate == pytest.approx(-3.0, abs=0.7)
    plain = {row.setting: row for row in night_light().observed}
    assert plain["part_night_dim"].observed.estimate is False
    assert "one level all night" in plain["part_night_level"].why


def test_short_nights_that_show_the_dimmed_part_alone_move_no_full_on_level():
    result = night_light(part=0.5, whole_nights=range(70, 90))
    (trim,) = [finding for finding in result.findings if finding.setting == "high_trim"]
    assert trim.verdict == "kept"
    assert "had been" not in trim.why
