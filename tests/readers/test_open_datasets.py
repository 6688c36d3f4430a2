"""Measured files as published, against a plain reading of the same bytes written out here.

The data sets and their sources are named in the CITATION.txt of each folder.
"""

import csv
import gzip
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from mv.base.errors import ReadingError
from mv.base.meter_records import Meter
from mv.base.series import MeterSeries
from mv.base.study_records import Site, Study, Weather
from mv.cleaning import clean_meter
from mv.readers import read_meter, read_weather


def clean(datasets: Path, pattern: str, zone: str, **keys: Any) -> MeterSeries:
    meter = Meter.model_validate({"id": "m", "files": [pattern], **keys})
    study = Study(format=1, site=Site(latitude=0.0, longitude=0.0, timezone=zone), meter=(meter,))
    return clean_meter(read_meter(meter, datasets, zone), meter, study)


def gz_rows(path: Path) -> list[list[str]]:
    with gzip.open(path, "rt", encoding="utf-8", newline="") as stream:
        return list(csv.reader(stream))


# 04: a house's lights, 10 minutes, Wh, a clock without summer time


def test_the_lights_of_a_house_add_up(datasets: Path) -> None:
    rows = gz_rows(datasets / "04_uci_appliances_lights_10min/energydata_lights_subset.csv.gz")
    plain_kwh = sum(int(row[2]) for row in rows[1:]) / 1000.0
    series = clean(datasets, "04*/*.gz", "Europe/Brussels", quantity="energy", unit="Wh", clock="+01:00")
    assert series.ledger.energy_used_kwh == pytest.approx(plain_kwh, rel=1e-12)
    assert series.interval_minutes == 10
    assert series.ledger.rows_used == len(rows) - 1
    assert series.energy_kwh.index[0] == pd.Timestamp("2016-01-11 16:00", tz="UTC")


def test_a_clock_that_ignores_summer_time_is_not_taken_for_the_sites(datasets: Path) -> None:
    with pytest.raises(ReadingError, match=r'2016-03-27.*clock.*"\+01:00"'):
        clean(datasets, "04*/*.gz", "Europe/Brussels", quantity="energy", unit="Wh")


# 05: a room's lighting energy among 25 other columns, offsets in the stamps


@pytest.mark.parametrize("room", ["Room1", "Room2"])
def test_the_lighting_column_is_found_among_all_others(datasets: Path, room: str) -> None:
    rows = gz_rows(datasets / f"05_robod_lighting_occupancy/combined_{room}.csv.gz")
    column = rows[0].index("lighting_energy [kWh]")
    cells = [row[column] for row in rows[1:]]
    series = clean(datasets, f"05*/combined_{room}.csv.gz", "Asia/Singapore")
    assert series.ledger.energy_used_kwh == pytest.approx(sum(float(c) for c in cells if c), rel=1e-12)
    assert series.ledger.rows_read == len(cells)
    assert series.ledger.set_aside.get("no value", 0) == cells.count("")
    first = datetime.strptime(rows[1][0], "%Y-%m-%d %H:%M %z")
    assert series.energy_kwh.index[0] == pd.Timestamp(first)


# 06: a register and a power log of the same circuit, half minutes, epoch milliseconds, no heading


def test_a_register_and_the_power_of_one_circuit_agree(datasets: Path) -> None:
    power_rows = gz_rows(datasets / "06_combed_lighting_30s/light3_power_W.csv.gz")
    register_rows = gz_rows(datasets / "06_combed_lighting_30s/light3_energy_Wh_register.csv.gz")
    plain_register = (float(register_rows[-1][1]) - float(register_rows[0][1])) / 1000.0
    stamps = np.array([float(row[0]) / 1000.0 for row in power_rows])
    watts = np.array([float(row[1]) for row in power_rows])
    plain_power = float(np.sum((watts[1:] + watts[:-1]) / 2 * np.diff(stamps))) / 3.6e6
    register = clean(datasets, "06*/*register*", "Asia/Kolkata", unit="Wh")
    power = clean(datasets, "06*/*power*", "Asia/Kolkata", quantity="power", unit="W")
    assert register.ledger.inferred["quantity"].startswith("register")
    assert register.energy_kwh.sum() == pytest.approx(plain_register, rel=1e-12)
    assert register.energy_kwh.sum() == pytest.approx(1551.1, abs=0.05)
    assert power.energy_kwh.sum() == pytest.approx(1551.2, abs=0.05)
    assert power.energy_kwh.sum() == pytest.approx(plain_power, rel=1e-3)


def test_a_file_without_a_heading_is_refused_until_its_unit_is_stated(datasets: Path) -> None:
    with pytest.raises(ReadingError, match="quantity"):
        clean(datasets, "06*/*power*", "Asia/Kolkata")


def test_amperes_need_volts_and_power_factor(datasets: Path) -> None:
    keys: dict[str, Any] = {"quantity": "current", "unit": "A"}
    with pytest.raises(ReadingError, match="power_factor"):
        clean(datasets, "06*/*current*", "Asia/Kolkata", **keys)
    series = clean(datasets, "06*/*current*", "Asia/Kolkata", volts=230.0, power_factor=0.9, phases=3, **keys)
    assert series.energy_kwh.sum() > 0


# 10: two registers in one file, newest first, interval ends, the autumn hour doubled


def esb_rows(datasets: Path, register: str) -> list[tuple[datetime, float]]:
    with (datasets / "10_esb_hdf_ireland/HDF_EXAMPLE.csv").open(newline="") as stream:
        rows = [row for row in csv.DictReader(stream) if row["Read Type"] == register]
    return [
        (datetime.strptime(row["Read Date and End Time"], "%d-%m-%Y %H:%M"), float(row["Read Value"]))
        for row in rows
    ]


@pytest.mark.parametrize("register", ["Active Import Interval (kWh)", "Active Export Interval (kWh)"])
def test_one_of_two_registers_is_read_with_end_stamps_and_doubled_hours(
    datasets: Path, register: str
) -> None:
    rows = esb_rows(datasets, register)
    series = clean(datasets, "10*/*.csv", "Europe/Dublin", channel=register)
    assert series.ledger.energy_used_kwh == pytest.approx(sum(value for _, value in rows), rel=1e-12)
    assert series.ledger.rows_used == len(rows)
    assert series.ledger.rows_read == 55691
    dublin = ZoneInfo("Europe/Dublin")
    expected: dict[datetime, float] = {}
    for stamp, value in rows:  # newest first: the later pass of the doubled hour comes first
        end = stamp.replace(tzinfo=dublin, fold=1).astimezone(UTC)
        if end - timedelta(minutes=30) in expected:
            end = stamp.replace(tzinfo=dublin, fold=0).astimezone(UTC)
        expected[end - timedelta(minutes=30)] = value
    assert len(expected) == len(rows)
    read = series.energy_kwh[~series.estimated & series.energy_kwh.notna()]
    wanted = pd.Series(expected)
    wanted.index = pd.DatetimeIndex(wanted.index)
    pd.testing.assert_series_equal(
        read, wanted.sort_index(), check_names=False, check_index_type=False, check_freq=False
    )


def test_two_registers_are_refused_until_one_is_named(datasets: Path) -> None:
    with pytest.raises(ReadingError, match=r"Active Export.*Active Import.*channel"):
        clean(datasets, "10*/*.csv", "Europe/Dublin")


# 11: NEM12, mixed units and intervals, a broken file


def nem12_plain(path: Path) -> dict[str, float]:
    sums: dict[str, float] = {}
    stream, count = "", 0
    for line in path.read_text().splitlines():
        cells = line.split(",")
        if cells[0] == "200":
            stream, count = f"{cells[4]} {cells[7]}", 1440 // int(cells[8])
        elif cells[0] == "300":
            sums[stream] = sums.get(stream, 0.0) + sum(float(cell) for cell in cells[2 : 2 + count])
    return sums


@pytest.mark.parametrize(
    ("name", "channel", "stream"),
    [
        ("actual_interval", None, "E1 kWh"),
        ("upper_case_units", None, "E1 KWH"),
        ("different_interval_length", "E1", "E1 kWh"),
        ("different_interval_length", "E2", "E2 kWh"),
        ("month_solar", "E1", "E1 kWh"),
        ("month_solar", "B1", "B1 kWh"),
    ],
)
def test_a_nem12_datastream_adds_up(datasets: Path, name: str, channel: str | None, stream: str) -> None:
    path = datasets / f"11_nem12_australia/Example_NEM12_{name}.csv"
    series = clean(
        datasets, f"11*/{path.name}", "Australia/Sydney", **({"channel": channel} if channel else {})
    )
    assert series.ledger.energy_used_kwh == pytest.approx(nem12_plain(path)[stream], rel=1e-12)
    day = next(line.split(",")[1] for line in path.read_text().splitlines() if line.startswith("300"))
    market = datetime.strptime(day + "+1000", "%Y%m%d%z")
    assert series.energy_kwh.index[0] == pd.Timestamp(market)


def test_a_nem12_day_cut_short_is_refused_by_its_line(datasets: Path) -> None:
    with pytest.raises(ReadingError, match=r"line 3: .*48"):
        clean(datasets, "11*/*incomplete*", "Australia/Sydney")


@pytest.mark.parametrize("name", ["month_solar", "different_interval_length"])
def test_several_nem12_datastreams_of_energy_are_refused(datasets: Path, name: str) -> None:
    with pytest.raises(ReadingError, match="channel"):
        clean(datasets, f"11*/*{name}*", "Australia/Sydney")


# 12: Green Button


def espi_plain(path: Path) -> list[tuple[int, int, int]]:
    period = r"<timePeriod>\s*<duration>(\d+)</duration>\s*<start>(\d+)</start>.*?</timePeriod>"
    pattern = period + r"\s*<value>(\d+)</value>"
    found = re.findall(pattern, path.read_text(), re.DOTALL)
    return [(int(start), int(duration), int(value)) for duration, start, value in found]


@pytest.mark.parametrize("name", ["hourlyForMonthMar.xml", "15minLP_15Days.xml", "Electric.xml"])
def test_a_green_button_file_adds_up(datasets: Path, name: str) -> None:
    rows = espi_plain(datasets / "12_green_button_espi" / name)
    series = clean(datasets, f"12*/{name}", "America/New_York")
    assert series.ledger.rows_used == len(rows)
    assert series.energy_kwh.sum() == pytest.approx(sum(value for *_, value in rows) / 1000.0, rel=1e-12)
    assert series.energy_kwh.index[0] == pd.Timestamp(rows[0][0], unit="s", tz="UTC")


def test_a_month_with_a_short_day_has_743_hours(datasets: Path) -> None:
    series = clean(datasets, "12*/hourlyForMonthMar.xml", "America/New_York")
    local = series.energy_kwh.index.tz_convert("America/New_York")
    hours = pd.Series(1, index=local).groupby(local.date).sum()
    assert len(series.energy_kwh) == 743
    assert sorted(set(hours)) == [23, 24]
    assert series.energy_kwh.notna().all()


def test_a_year_with_odd_durations_keeps_its_account(datasets: Path) -> None:
    name = "Coastal_Single_Family_Jan_1_2011_to_Jan_1_2012.xml"
    rows = espi_plain(datasets / "12_green_button_espi" / name)
    ledger = clean(datasets, f"12*/{name}", "America/Los_Angeles").ledger
    assert ledger.rows_read == len(rows)
    assert ledger.energy_read_kwh == pytest.approx(sum(value for *_, value in rows) / 1000.0, rel=1e-12)
    starts = [start for start, duration, _ in rows if duration > 0]
    twice = {start for start in starts if starts.count(start) > 1}
    assert ledger.set_aside == {
        "conflicting duplicate": sum(starts.count(start) for start in twice),
        "an interval of no length": sum(duration == 0 for _, duration, _ in rows),
    }
    aside = sum(value for start, duration, value in rows if duration == 0 or start in twice)
    plain_kwh = (sum(value for *_, value in rows) - aside) / 1000.0
    assert ledger.energy_used_kwh == pytest.approx(plain_kwh, rel=1e-12)


# 16: each day ends with 00:00 under its own date


def test_the_midnight_row_ends_the_day_it_is_dated(datasets: Path) -> None:
    with (datasets / "16_uci_steel_industry_15min/Steel_industry_data.csv").open(
        encoding="utf-8-sig", newline=""
    ) as stream:
        rows = list(csv.DictReader(stream))
    series = clean(datasets, "16*/*.csv", "Asia/Seoul", measures="whole building")
    plain = [float(row["Usage_kWh"]) for row in rows]
    assert series.ledger.energy_used_kwh == pytest.approx(sum(plain), rel=1e-12)
    assert series.ledger.rows_used == len(rows) == 35040
    assert series.energy_kwh.notna().all()
    # 35,040 rows in file order are the 35,040 quarter hours of 2018 in order
    np.testing.assert_array_equal(series.energy_kwh.to_numpy(), plain)
    assert series.energy_kwh.index[0] == pd.Timestamp("2018-01-01 00:00", tz="Asia/Seoul")
    assert "365" in series.ledger.inferred["midnight"]


# 19: constructed layouts of network operators


def test_a_belgian_layout_keeps_the_doubled_hour_and_the_estimate(datasets: Path) -> None:
    series = clean(datasets, "19*/belgian*", "Europe/Brussels", channel="Afname Nacht")
    ledger = series.ledger
    assert ledger.rows_read == 5
    assert dict(ledger.set_aside) == {"another register or circuit": 1, "flagged as no reading": 1}
    brussels = ZoneInfo("Europe/Brussels")
    first, second = (datetime(2024, 10, 27, 2, tzinfo=brussels, fold=fold) for fold in (0, 1))
    assert series.energy_kwh[pd.Timestamp(first)] == 0.071
    assert series.energy_kwh[pd.Timestamp(second)] == 0.068
    assert bool(series.estimated[pd.Timestamp(second)])
    assert ledger.energy_used_kwh == pytest.approx(0.065 + 0.071 + 0.068)


def test_a_spanish_layout_counts_the_hours_of_a_long_day(datasets: Path) -> None:
    series = clean(datasets, "19*/spanish*", "Europe/Madrid")
    last = datetime(2024, 10, 27, 23, tzinfo=ZoneInfo("Europe/Madrid"))
    assert series.energy_kwh.index[-1] == pd.Timestamp(last)
    assert series.energy_kwh.iloc[-1] == 0.158
    assert series.ledger.estimated_rows == 1
    assert series.ledger.energy_used_kwh == pytest.approx(0.201 + 0.168 + 0.182 + 0.175 + 0.160 + 0.158)


def test_a_french_layout_is_watts_of_half_hours(datasets: Path) -> None:
    series = clean(datasets, "19*/french*", "Europe/Paris")
    assert series.interval_minutes == 30
    assert series.ledger.energy_used_kwh == pytest.approx((692 + 640 + 655) * 0.5 / 1000)
    assert series.energy_kwh.notna().sum() == 3
    np.testing.assert_allclose(np.diff(series.energy_kwh.index.asi8), 1800 * 10**6)


# 07: hourly meters in UTC, weather beside them


def test_the_hourly_weather_keeps_its_mean(datasets: Path) -> None:
    rows = gz_rows(datasets / "07_cambridge_estates_hourly/weather_bedford_2014_2022.csv.gz")
    temperatures = [float(row[1]) for row in rows[1:] if row[1]]
    weather = read_weather(Weather(files=("07*/weather*",), clock="UTC"), datasets, "Europe/London")
    assert weather.interval_minutes == 60
    assert weather.temperature_c.mean() == pytest.approx(np.mean(temperatures), rel=1e-12)


def test_a_heading_that_says_utc_needs_no_clock(datasets: Path) -> None:
    rows = gz_rows(datasets / "07_cambridge_estates_hourly/electricity_kwh_2018_2019_wide.csv.gz")
    column = rows[0].index("b15")
    keys = {"value_column": "b15", "quantity": "energy", "unit": "kWh", "measures": "whole building"}
    series = clean(datasets, "07*/*2018_2019*", "Europe/London", **keys)
    assert series.ledger.inferred["clock"].startswith("UTC")
    assert series.ledger.energy_used_kwh == pytest.approx(
        sum(float(row[column]) for row in rows[1:] if row[column])
    )
