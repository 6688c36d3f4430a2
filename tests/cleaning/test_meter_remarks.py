"""What a person must judge: test switching, mixed circuits, hours, wavering stamps."""

import numpy as np
import pandas as pd
import pytest

from mv.base.ledger import Ledger
from mv.base.raw import RawMeter
from mv.base.series import WeatherSeries
from mv.cleaning import clean_meter


def test_a_burst_of_switching_at_the_start_is_set_aside(clean, raw, quarter_hours, timetable, codes):
    stamps = quarter_hours(7, minutes=1)[600:]
    kwh = timetable(stamps) / 15
    kwh[:20] = np.tile([0.13, 0.13, 0.0, 0.0], 5)
    series = clean(raw(stamps, kwh, minutes=1))
    assert "test-switching" in codes(series)
    assert 15 <= series.ledger.set_aside["test switching at deployment"] <= 20


def test_the_longest_gap_of_a_register_stands_apart_from_the_short_ones(clean, raw, quarter_hours, study):
    """1 kWh a quarter of an hour; three single readings are gone, and two days and a quarter of an hour."""
    stamps = quarter_hours(10)
    kept = np.ones(len(stamps), dtype=bool)
    kept[[50, 90, 800]] = False
    kept[300:492] = False
    register = 1000.0 + np.arange(len(stamps), dtype=float)
    series = clean(raw(stamps[kept], register[kept], quantity="register"), study=study(quantity="register"))
    (told,) = [remark for remark in series.ledger.remarks if remark.code == "register-gap"]
    line = 2 + int(kept[:492].sum())
    assert told.what.startswith(
        f"4 gaps in the register, 199.0 kWh in all (the longest 2.0 days, 193.0 kWh, to line {line}): "
    )


def test_frequent_switching_throughout_is_no_test(clean, raw, quarter_hours, codes):
    stamps = quarter_hours(7, minutes=1)
    kwh = np.tile(np.repeat([0.13, 0.0], 7), len(stamps) // 14 + 1)[: len(stamps)]
    assert not clean(raw(stamps, kwh, minutes=1)).ledger.set_aside


def weather_of(stamps: pd.DatetimeIndex) -> WeatherSeries:
    hourly = pd.date_range(stamps[0], stamps[-1], freq="h")
    day = (hourly - hourly[0]) / pd.Timedelta(days=365)
    rng = np.random.default_rng(2)
    degrees = 10 - 15 * np.cos(2 * np.pi * day) + 4 * rng.standard_normal(len(hourly))
    empty = Ledger("weather", 0, 0, {}, 0, None, None, None, None, {})
    return WeatherSeries(60.0, pd.Series(np.asarray(degrees), index=hourly), empty)


def test_a_night_load_that_follows_the_temperature_is_a_mixed_circuit(raw, study, quarter_hours, timetable):
    stamps = quarter_hours(200)
    weather = weather_of(stamps)
    heat = np.clip(18 - weather.temperature_c.reindex(stamps, method="ffill").to_numpy(), 0, None) * 0.02
    found = study()
    for kwh, expected in ((timetable(stamps) + heat, True), (timetable(stamps), False)):
        series = clean_meter(RawMeter("m", (raw(stamps, kwh),)), found.meter[0], found, weather=weather)
        assert ("mixed-circuit" in {remark.code for remark in series.ledger.remarks}) is expected


def test_a_night_load_that_cycles_is_a_mixed_circuit(clean, raw, quarter_hours, timetable, codes):
    stamps = quarter_hours(60, minutes=5)
    kwh = timetable(stamps) / 3
    rng = np.random.default_rng(4)
    phase = np.cumsum(rng.normal(1 / 8, 0.01, len(stamps)))
    cycling = kwh + 0.1 * ((phase % 1.0) < 0.4)
    assert "mixed-circuit" in codes(clean(raw(stamps, cycling, minutes=5)))
    assert codes(clean(raw(stamps, kwh, minutes=5))) == set()


HOURS = {
    "mon": "07:00-19:00",
    "tue": "07:00-19:00",
    "wed": "07:00-19:00",
    "thu": "07:00-19:00",
    "fri": "07:00-19:00",
}


@pytest.mark.parametrize(("hours", "wrong"), [(0, False), (1, True), (6, True)])
def test_a_load_shifted_against_the_opening_hours_is_remarked(
    clean, raw, study, quarter_hours, timetable, codes, hours, wrong
):
    stamps = quarter_hours(42)
    found = study()
    found = found.model_copy(update={"occupancy": type(found.occupancy).model_validate({"hours": HOURS})})
    series = clean(raw(stamps + pd.Timedelta(hours=hours), timetable(stamps)), study=found)
    assert ("clock-against-hours" in codes(series)) is wrong


@pytest.mark.parametrize("hours", [9.5, 11.0, 12.0, -10.0, -11.5, 13.0, 15.0])
def test_a_clock_wrong_by_half_a_day_is_told_by_the_closed_days(
    clean, raw, study, quarter_hours, timetable, hours
):
    stamps = quarter_hours(42)
    found = study()
    found = found.model_copy(update={"occupancy": type(found.occupancy).model_validate({"hours": HOURS})})
    series = clean(raw(stamps + pd.Timedelta(hours=hours), timetable(stamps)), study=found)
    said = {remark.code: remark.what for remark in series.ledger.remarks}["clock-against-hours"]
    minutes = float(said.split(" min ahead")[0].split(" min behind")[0].split()[-1])
    assert (minutes if "ahead" in said else -minutes) % 1440 == pytest.approx(hours * 60 % 1440, abs=15)


@pytest.mark.parametrize(("on", "off"), [(19, 7), (20, 6), (18, 8)])
def test_lights_of_every_night_are_not_held_to_the_opening_hours(
    clean, raw, study, quarter_hours, codes, on, off
):
    stamps = quarter_hours(42)
    hour = stamps.tz_convert("America/Chicago").hour
    noise = 1 + 0.01 * np.random.default_rng(6).standard_normal(len(stamps))
    kwh = np.where((hour >= on) | (hour < off), 2.0, 0.1) * noise
    found = study()
    found = found.model_copy(update={"occupancy": type(found.occupancy).model_validate({"hours": HOURS})})
    assert "clock-against-hours" not in codes(clean(raw(stamps, kwh), study=found))


def test_stamps_a_few_seconds_off_the_grid_are_moved_onto_it(clean, raw, quarter_hours, timetable):
    stamps = quarter_hours(14)
    kwh = timetable(stamps)
    waver = pd.to_timedelta(np.random.default_rng(8).integers(-20, 21, len(stamps)), unit="s")
    series = clean(raw(stamps + waver, kwh))
    np.testing.assert_allclose(series.energy_kwh.to_numpy(), kwh)
    assert "20 s" in series.ledger.inferred["stamps"]


def test_a_log_that_creeps_keeps_its_energy(clean, raw, quarter_hours, timetable):
    stamps = quarter_hours(14)
    kwh = timetable(stamps)
    creep = pd.to_timedelta(np.linspace(0, 3000, len(stamps)).round(), unit="s")
    series = clean(raw(stamps + creep, kwh))
    assert series.ledger.rows_used == len(stamps)
    assert series.energy_kwh.sum() == pytest.approx(kwh.sum())
    assert series.interval_minutes == 15


def test_a_stamp_years_from_the_others_is_set_aside(clean, raw, quarter_hours, timetable):
    stamps = quarter_hours(14)
    kwh = timetable(stamps)
    stamps = stamps.where(stamps != stamps[0], pd.Timestamp("1999-01-01", tz="UTC"))
    series = clean(raw(stamps, kwh))
    assert dict(series.ledger.set_aside) == {"a date years from the others": 1}
    assert len(series.energy_kwh) == len(stamps) - 1


def test_a_partial_day_is_said(clean, raw, quarter_hours, timetable):
    stamps = quarter_hours(14)[30:]
    series = clean(raw(stamps, timetable(stamps)))
    assert series.ledger.inferred["span"].endswith("the first day is partial")
