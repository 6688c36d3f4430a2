"""A connected load that the readings refute judges nothing; what is said often is said once."""

import numpy as np
import pandas as pd
import pytest

from mv.base.ledger import Remark
from mv.base.study_records import Site
from mv.cleaning.folded import folded
from mv.cleaning.site_check import hours_from_sun, longitude_remark

PERIODS = {"baseline": ["2024-01-08", "2024-02-08"], "reporting": ["2024-03-01", "2024-03-31"]}


def zone(before: float, after: float) -> dict[str, object]:
    return {"id": "z", "meter": "m", "fixtures": 100, "watts_before": before, "watts_after": after}


@pytest.mark.parametrize(("before", "after"), [(40, 80), (80, 4), (8, 8)])
def test_watts_typed_too_small_make_neither_lumps_nor_spikes(
    clean, raw, study, quarter_hours, timetable, before, after
):
    stamps = quarter_hours(84)
    kwh = np.where(timetable(stamps, noise=0.0) > 1, 2.0, 0.0)  # 8 kW by day, 0 by night
    series = clean(raw(stamps, kwh), study=study(zones=[zone(before, after)], periods=PERIODS))
    said = [remark.code for remark in series.ledger.remarks]
    assert "catch-up-lump" not in said
    assert set(series.ledger.set_aside) <= {"installation period", "outside the periods"}
    assert said.count("above-load") == 1
    assert series.ledger.estimated_rows == 0


def test_many_lumps_are_one_remark_with_their_count(clean, raw, study, quarter_hours, timetable):
    stamps = quarter_hours(60)
    kwh = timetable(stamps, noise=0.0)
    keep = np.ones(len(stamps), bool)
    for day in range(0, 60, 7):  # one silence a week, made good by the reading after it
        at = day * 96 + 40
        kwh[at + 6] = kwh[at : at + 7].sum()
        keep[at : at + 6] = False
    series = clean(raw(stamps[keep], kwh[keep]), study=study(zones=[zone(80, 80)]))
    lumps = [remark for remark in series.ledger.remarks if remark.code == "catch-up-lump"]
    assert len(lumps) == 1
    assert lumps[0].what.startswith("9 reading(s)")
    assert series.ledger.energy_used_kwh == pytest.approx(kwh[keep].sum())


def test_equal_days_and_bills_are_not_frozen(clean, raw, quarter_hours, codes):
    days = pd.date_range("2023-01-01 06:00", periods=400, freq="D", tz="UTC")
    kwh = 40 + np.random.default_rng(3).normal(0, 3, 400)
    kwh[100:110] = 41.7
    series = clean(raw(days, kwh, minutes=1440))
    assert not series.ledger.set_aside
    assert "frozen" not in codes(series)


def test_a_flat_standby_over_a_closed_week_is_not_frozen(clean, raw, quarter_hours, codes):
    stamps = quarter_hours(60)
    kwh = 2.0 + 0.05 * np.random.default_rng(3).standard_normal(len(stamps))
    kwh[96 * 20 : 96 * 27] = 0.02
    series = clean(raw(stamps, kwh))
    assert not series.ledger.set_aside


def test_a_month_at_zero_is_remarked_and_used(clean, raw, quarter_hours, timetable, codes):
    stamps = quarter_hours(90)
    kwh = np.where(timetable(stamps, noise=0.0) > 1, 2.0, 0.0)
    kwh[96 * 30 : 96 * 60] = 0.0
    series = clean(raw(stamps, kwh))
    assert not series.ledger.set_aside
    (found,) = (r for r in series.ledger.remarks if r.code == "zero-for-weeks")
    assert "2024-02-0" in found.what


def test_a_night_at_zero_either_side_of_a_stretch_without_readings_is_no_month_at_zero(
    clean, raw, quarter_hours, timetable, codes
):
    stamps = quarter_hours(90)
    kwh = np.where(timetable(stamps, noise=0.0) > 1, 2.0, 0.0)
    metered = np.r_[0 : 96 * 30, 96 * 60 : 96 * 90]
    assert kwh[metered[0]] == kwh[96 * 30 - 1] == kwh[96 * 60] == 0.0
    assert "zero-for-weeks" not in codes(clean(raw(stamps[metered], kwh[metered])))


def test_a_meter_of_one_value_is_remarked(clean, raw, quarter_hours, codes):
    stamps = quarter_hours(30)
    assert "one-value-for-weeks" in codes(clean(raw(stamps, np.full(len(stamps), 0.7))))


def test_a_sentinel_is_no_energy_read(clean, raw, quarter_hours, timetable):
    stamps = quarter_hours(30)
    kwh = timetable(stamps)
    rest = kwh.sum() - kwh[500]
    kwh[500] = 65535.0
    ledger = clean(raw(stamps, kwh)).ledger
    assert ledger.set_aside == {"sentinel value": 1}
    assert ledger.energy_read_kwh == pytest.approx(rest)
    assert ledger.energy_used_kwh == pytest.approx(rest)


def test_one_sentence_about_many_files_is_said_once():
    remarks = [Remark("stamp-unproven", "nothing says", file=f"{n}.csv", remedy="set it") for n in range(24)]
    (only,) = folded(remarks)
    assert only.file == "0.csv, 1.csv, 2.csv and 21 more files"


def test_sentences_that_differ_are_counted():
    remarks = [Remark("spike", f"{n} readings", file="a.csv", lines=f"{n}") for n in range(5)]
    (only,) = folded([Remark("other", "x"), *remarks])[1:]
    assert only.what == "0 readings (and 4 more of the kind)"


@pytest.mark.parametrize(
    ("longitude", "timezone", "wrong"),
    [
        (-89.6, "America/Chicago", False),
        (89.6, "America/Chicago", True),
        (75.0, "Asia/Shanghai", False),  # China keeps one zone; the sun is about 3 h behind in its west
        (-157.4, "Pacific/Kiritimati", False),
        (-4.5, "Europe/Madrid", False),
        (151.2, "Australia/Sydney", False),
        (-151.2, "Australia/Sydney", True),
    ],
)
def test_a_longitude_of_the_wrong_sign_is_remarked(longitude, timezone, wrong):
    site = Site(latitude=40.0, longitude=longitude, timezone=timezone)
    remark = longitude_remark(site)
    assert (remark is not None) == wrong
    assert abs(hours_from_sun(site)) > 3.5 if wrong else abs(hours_from_sun(site)) <= 3.5
    if remark:
        assert f"longitude = {-longitude:g} would fit" in remark.what
