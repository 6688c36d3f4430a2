"""A wrong clock is found by the sun for outdoor lights, and by the timetable for others."""

import numpy as np
import pandas as pd
import pytest

from mv.cleaning.sunset import sunrise_sunset_utc

CHICAGO = "America/Chicago"
LATITUDE, LONGITUDE = 41.9, -87.6


def photocell_kwh(stamps: pd.DatetimeIndex, *, late_minutes: float = 12.0) -> np.ndarray:
    """2 kW from `late_minutes` after sunset to as long before sunrise, by pvlib's sun."""
    from pvlib.solarposition import sun_rise_set_transit_spa

    days = pd.date_range(stamps[0].tz_convert(CHICAGO).normalize(), periods=400, freq="D")
    sun = sun_rise_set_transit_spa(days, LATITUDE, LONGITUDE)
    seconds = stamps.tz_localize(None).to_numpy().astype("datetime64[s]").astype(np.int64)[:, None]
    fine = seconds + np.arange(0, 900, 60)[None, :]
    lit = np.ones(fine.shape, bool)
    rise = (
        sun["sunrise"]
        .dt.tz_convert("UTC")
        .dt.tz_localize(None)
        .to_numpy()
        .astype("datetime64[s]")
        .astype(np.int64)
    )
    fall = (
        sun["sunset"]
        .dt.tz_convert("UTC")
        .dt.tz_localize(None)
        .to_numpy()
        .astype("datetime64[s]")
        .astype(np.int64)
    )
    for begin, end in zip(rise, fall, strict=True):
        lit &= ~((fine >= begin - late_minutes * 60) & (fine < end + late_minutes * 60))
    return lit.mean(axis=1) * 0.5


def remarks(series) -> dict[str, str]:
    return {remark.code: remark.what for remark in series.ledger.remarks}


@pytest.fixture(scope="module")
def year() -> tuple[pd.DatetimeIndex, np.ndarray]:
    first = pd.Timestamp("2024-01-01", tz=CHICAGO).tz_convert("UTC")
    stamps = pd.date_range(first, periods=300 * 96, freq="15min")
    return stamps, photocell_kwh(stamps)


def test_a_right_clock_is_left_alone(clean, raw, year):
    assert remarks(clean(raw(*year))) == {}


@pytest.mark.parametrize(("hours", "word"), [(1.0, "late"), (-1.0, "early"), (6.0, "late"), (-10.0, "early")])
def test_a_clock_an_hour_off_is_found_by_sunset(clean, raw, year, hours, word):
    stamps, kwh = year
    found = remarks(clean(raw(stamps + pd.Timedelta(hours=hours), kwh)))
    assert word in found["clock-shifted"]
    assert f"{abs(hours) * 60:.0f} min" in found["clock-shifted"]


def test_a_clock_that_ignores_summer_time_is_found_by_sunset(clean, raw, year):
    stamps, kwh = year
    standard = stamps.tz_convert("Etc/GMT+6").tz_localize(None)  # what the logger wrote
    taken = standard.tz_localize(CHICAGO, ambiguous=True, nonexistent="NaT")
    good = ~taken.isna()
    found = remarks(clean(raw(taken[good].tz_convert("UTC"), kwh[good])))
    assert "clock-ignores-summer-time" in found


def test_a_clock_set_on_some_day_is_found_by_sunset(clean, raw, year):
    stamps, kwh = year
    moved = stamps.where(stamps < stamps[12000], stamps + pd.Timedelta(minutes=90))
    found = remarks(clean(raw(moved, kwh)))
    assert "clock-set" in found
    assert "2024-05" in found["clock-set"]


def test_a_drifting_clock_is_found_by_sunset(clean, raw, year):
    stamps, kwh = year
    quick = photocell_kwh(stamps + pd.to_timedelta(np.linspace(0, 30, len(stamps)), unit="min"))
    assert "clock-drifts" in remarks(clean(raw(stamps, quick)))
    assert kwh.sum() > 0


def test_a_timetable_that_keeps_the_sites_time_raises_no_remark(clean, raw, quarter_hours, timetable):
    stamps = quarter_hours(320, "2024-01-08")
    assert remarks(clean(raw(stamps, timetable(stamps)))) == {}


def test_a_timetable_that_moves_by_an_hour_at_both_clock_changes_is_remarked(
    clean, raw, quarter_hours, timetable
):
    stamps = quarter_hours(330, "2024-01-08")
    found = remarks(clean(raw(stamps, timetable(stamps, zone="Etc/GMT+6"))))
    assert "clock-ignores-summer-time" in found


@pytest.mark.parametrize(
    ("day", "latitude", "longitude", "rise", "fall"),
    [
        # US Naval Observatory, as quoted in the tests of two open solar libraries; UTC
        ("2015-01-02", 39.742476, -105.1786, "2015-01-02 14:22", "2015-01-02 23:48"),
        ("2015-08-02", 39.742476, -105.1786, "2015-08-02 12:00", "2015-08-03 02:13"),
        ("2018-09-12", 40.8939, -83.8917, "2018-09-12 11:13", "2018-09-12 23:50"),
        ("2015-12-25", 51.5, -0.13333, "2015-12-25 08:05", "2015-12-25 15:55"),
        ("2004-12-04", -35.0, 0.0, "2004-12-04 04:39", "2004-12-04 19:03"),
    ],
)
def test_sunrise_and_sunset_are_right_to_a_few_minutes(day, latitude, longitude, rise, fall):
    number = np.array([pd.Timestamp(day).toordinal() - pd.Timestamp("1970-01-01").toordinal()])
    seconds = sunrise_sunset_utc(number, latitude, longitude)
    for found, wanted in zip(seconds, (rise, fall), strict=True):
        assert abs(found[0] - pd.Timestamp(wanted, tz="UTC").timestamp()) < 240


def test_a_polar_day_has_no_sunset():
    days = np.array([pd.Timestamp("2024-06-21").toordinal() - pd.Timestamp("1970-01-01").toordinal()])
    rise, fall = sunrise_sunset_utc(days, 78.2, 15.6)
    assert np.isnan(rise[0])
    assert np.isnan(fall[0])
