"""Motion, occupancy and weather files, read by the same rules as meters."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mv.base.errors import ReadingError
from mv.base.study_records import Occupancy, Weather, Zone
from mv.readers import read_motion, read_occupancy, read_weather

CHICAGO = "America/Chicago"


def motion(tmp_path: Path, text: str, zone: str = CHICAGO):
    (tmp_path / "motion.csv").write_text(text)
    return read_motion(Zone(id="z", motion=("motion.csv",)), tmp_path, zone)


def test_motion_changes_are_read_with_carry_over(tmp_path):
    log = motion(
        tmp_path,
        "time,state\n2024-01-10 08:00:00,1\n2024-01-10 08:10:30,0\n"
        "2024-01-10 08:20:00,0\n2024-01-10 09:00:00,1\n",
    )
    assert log.state.tolist() == [1, 0, 1]
    assert log.state.index[1] == pd.Timestamp("2024-01-10 14:10:30", tz="UTC")
    assert log.known_from == pd.Timestamp("2024-01-10 14:00", tz="UTC")
    assert log.known_to == pd.Timestamp("2024-01-10 15:00", tz="UTC")
    assert dict(log.ledger.set_aside) == {"repeats the state before": 1}
    assert log.ledger.rows_read == 4


@pytest.mark.parametrize(
    ("on", "off"),
    [("on", "off"), ("Occupied", "Unoccupied"), ("TRUE", "FALSE"), ("Motion", "No motion"), ("1", "0")],
)
def test_words_for_motion_are_states(tmp_path, on, off):
    log = motion(
        tmp_path,
        f"when,value\n2024-01-10 08:00:00,{on}\n2024-01-10 08:10:30,{off}\n2024-01-10 09:00:00,{on}\n",
    )
    assert log.state.tolist() == [1, 0, 1]


def test_flicker_is_left_out_and_counted(tmp_path):
    log = motion(
        tmp_path,
        "time,state\n2024-01-10 08:00:00,1\n2024-01-10 08:10:00,0\n"
        "2024-01-10 08:10:01,1\n2024-01-10 09:00:00,0\n",
    )
    assert log.state.tolist() == [1, 0]
    assert log.ledger.set_aside["flicker"] == 2


def test_a_long_silence_is_remarked(tmp_path):
    log = motion(
        tmp_path, "time,state\n2024-01-10 08:00:00,1\n2024-01-10 09:00:00,0\n2024-02-10 08:00:00,1\n"
    )
    assert [remark.code for remark in log.ledger.remarks] == ["long-silence"]


def test_a_logger_heading_with_its_offset_sets_the_clock(tmp_path):
    log = motion(
        tmp_path,
        '"Plot Title: hall"\n"#","Date Time, GMT-05:00","Occupancy (S/N 1)"\n1,07/13/24 08:00:00 AM,1\n'
        "2,07/13/24 09:00:00 AM,0\n",
    )
    assert log.state.index[0] == pd.Timestamp("2024-07-13 13:00", tz="UTC")


def occupancy(tmp_path: Path, text: str, **keys):
    (tmp_path / "occupancy.csv").write_text(text)
    return read_occupancy(Occupancy(files=("occupancy.csv",), **keys), tmp_path, CHICAGO)


def hourly(values) -> str:
    rows = (f"2024-01-10 {hour:02d}:00,{value}" for hour, value in enumerate(values))
    return "time,occupancy\n" + "\n".join(rows) + "\n"


@pytest.mark.parametrize(
    ("values", "measures", "first"),
    [([0, 3, 12, 7], "count", 0), ([0.0, 0.25, 1.0, 0.5], "fraction", 0.0), ([0, 1, 1, 0], "fraction", 0)],
)
def test_what_occupancy_measures_is_told_from_the_numbers(tmp_path, values, measures, first):
    series = occupancy(tmp_path, hourly(values))
    assert series.measures == measures
    assert series.interval_minutes == 60
    assert series.value.tolist() == values
    assert series.value.index[0] == pd.Timestamp("2024-01-10 06:00", tz="UTC")


def test_per_cent_becomes_a_fraction(tmp_path):
    series = occupancy(tmp_path, hourly([0, 50, 100, 25]).replace("occupancy", "occupancy (%)"))
    assert series.measures == "fraction"
    assert series.value.tolist() == [0.0, 0.5, 1.0, 0.25]


def test_motion_changes_become_fractions_of_five_minutes(tmp_path):
    series = occupancy(
        tmp_path,
        "time,state\n2024-01-10 08:00:00,1\n2024-01-10 08:02:30,0\n"
        "2024-01-10 08:14:00,1\n2024-01-10 08:15:00,0\n",
    )
    assert series.measures == "motion"
    np.testing.assert_allclose(series.value.iloc[:3], [0.5, 0.0, 0.2])


def test_numbers_that_may_be_anything_are_refused(tmp_path):
    with pytest.raises(ReadingError, match="measures"):
        occupancy(tmp_path, hourly([0.5, 3.2, 7.7, 80.1]))


def weather(tmp_path: Path, text: str, **keys):
    (tmp_path / "weather.csv").write_text(text)
    return read_weather(Weather(files=("weather.csv",), **keys), tmp_path, CHICAGO)


@pytest.mark.parametrize(
    ("head", "value"),
    [
        ("temperature (F)", 50),
        ("temp_C", 10),
        ("air_temperature [degC]", 10),
        ("T (K)", 283.15),
        ("Temperature (°F)", 50),
    ],
)
def test_temperatures_become_celsius(tmp_path, head, value):
    series = weather(tmp_path, hourly([value] * 4).replace("occupancy", head))
    assert series.temperature_c.tolist() == pytest.approx([10] * 4)


def test_a_unit_that_nothing_says_is_refused_unless_only_one_can_be(tmp_path):
    with pytest.raises(ReadingError, match="unit"):
        weather(tmp_path, hourly([10, 20, 30, 25]).replace("occupancy", "temperature"))
    hot = weather(tmp_path, hourly([70, 80, 90, 85]).replace("occupancy", "temperature"))
    assert hot.temperature_c.iloc[0] == pytest.approx((70 - 32) / 1.8)


def test_impossible_temperatures_are_set_aside(tmp_path):
    series = weather(tmp_path, hourly([10, -9999, 20, 25]).replace("occupancy", "temp (C)"))
    assert dict(series.ledger.set_aside) == {"no possible outdoor temperature": 1}
    assert np.isnan(series.temperature_c.iloc[1])
