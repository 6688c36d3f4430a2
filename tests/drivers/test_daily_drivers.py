"""Drivers of a day: opening, darkness, occupancy, motion."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from mv.base.ledger import Ledger
from mv.base.series import MotionLog, OccupancySeries, WeatherSeries
from mv.base.study_records import Study
from mv.drivers import daily_drivers, hourly_drivers, interval_conditions, typical_year

LEDGER = Ledger("x", 0, 0, {}, 0, None, None, None, None, {})


def _study(**occupancy: object) -> Study:
    return Study.model_validate(
        {
            "format": 1,
            "site": {"latitude": 44.52, "longitude": -89.57, "timezone": "America/Chicago"},
            "meter": [{"id": "m", "files": ["m.csv"], "zones": ["hall", "shop"]}],
            "occupancy": occupancy,
            "zone": [
                {"id": "hall", "fixtures": 10, "watts_before": 100, "hours": {"mon-sun": "18:00-02:00"}},
                {"id": "shop", "fixtures": 30, "watts_before": 100},
            ],
        }
    )


WORKDAYS = {"mon-fri": "06:30-22:00", "sat": "20:00-02:00"}


def test_open_hours_follow_the_wall_clock_on_every_kind_of_day() -> None:
    study = _study(holidays=[date(2023, 7, 4)], hours=WORKDAYS)
    days = daily_drivers(study, date(2023, 1, 1), date(2023, 12, 31))
    assert days.loc["2023-03-14", "hours_open"] == pytest.approx(15.5)
    assert days.loc["2023-07-04", "hours_open"] == 0.0  # a holiday is closed
    assert days.loc["2023-07-08", "hours_open"] == pytest.approx(4.0)  # Saturday 20:00 to midnight
    assert days.loc["2023-07-09", "hours_open"] == pytest.approx(2.0)  # and its tail on Sunday
    assert days.loc["2023-03-12", "hours_open"] == pytest.approx(2.0)
    assert days.loc["2023-03-12", "hours_in_day"] == 23.0
    assert days.loc["2023-11-05", "hours_in_day"] == 25.0
    assert days.loc["2023-11-05", "hours_open"] == pytest.approx(3.0)  # 01:00 to 02:00 twice
    assert len(days) == 365


def test_daylight_and_dark_make_up_the_day() -> None:
    days = daily_drivers(_study(hours=WORKDAYS), date(2023, 1, 1), date(2023, 12, 31))
    total = days["daylight_hours"] + days["dark_hours"]
    np.testing.assert_allclose(total, days["hours_in_day"], atol=1e-9)
    assert (days["dark_open_hours"] <= days[["dark_hours", "hours_open"]].min(axis=1) + 1e-9).all()


def test_zones_weigh_in_with_their_connected_load() -> None:
    study = _study(hours=WORKDAYS)
    days = daily_drivers(study, date(2023, 5, 3), date(2023, 5, 3), zones=study.zone)
    hall, shop = 2.0 + 6.0, 15.5  # the hall: 00:00-02:00 and 18:00-24:00
    assert days["hours_open"].iloc[0] == pytest.approx(0.25 * hall + 0.75 * shop)


def test_without_opening_hours_the_columns_are_unknown_and_days_go_by_the_week() -> None:
    days = daily_drivers(_study(), date(2023, 1, 1), date(2023, 1, 14))
    assert days["hours_open"].isna().all()
    assert list(days["is_open_day"]) == [False, *[True] * 5, False] * 2


def _occupancy(measures: str, value: pd.Series, minutes: float) -> OccupancySeries:
    return OccupancySeries(measures=measures, interval_minutes=minutes, value=value, ledger=LEDGER)


@pytest.mark.parametrize("minutes", [1, 15, 60])
def test_occupied_hours_do_not_depend_on_the_logging_interval(minutes: int) -> None:
    index = pd.date_range("2023-05-03 05:00", periods=48 * 60 // minutes, freq=f"{minutes}min", tz="UTC")
    local = index.tz_convert("America/Chicago")
    value = pd.Series(((local.hour >= 8) & (local.hour < 17)).astype(float), index=index)
    days = daily_drivers(
        _study(hours=WORKDAYS), date(2023, 5, 3), date(2023, 5, 6),
        occupancy=_occupancy("fraction", value, minutes),
    )  # fmt: skip
    assert days["occupied_hours"].iloc[:2].tolist() == pytest.approx([9.0, 9.0])
    assert days["occupied_hours"].iloc[2:].isna().all()  # not logged is unknown, not empty
    assert days["dark_occupied_hours"].iloc[0] == pytest.approx(0.0)


def test_a_count_gives_people_hours_beside_occupied_hours() -> None:
    index = pd.date_range("2023-05-03 05:00", periods=24, freq="h", tz="UTC")
    value = pd.Series([0.0] * 12 + [3.0] * 4 + [0.0] * 8, index=index)
    days = daily_drivers(
        _study(), date(2023, 5, 3), date(2023, 5, 3), occupancy=_occupancy("count", value, 60)
    )
    assert days["occupied_hours"].iloc[0] == pytest.approx(4.0)
    assert days["people_hours"].iloc[0] == pytest.approx(12.0)


def test_motion_is_integrated_exactly_and_unknown_outside_its_log() -> None:
    study = _study()
    start = pd.Timestamp("2023-05-03 05:00", tz="UTC")  # local midnight
    times = [start + timedelta(hours=8), start + timedelta(hours=8, minutes=7)]
    log = MotionLog(
        "hall", pd.Series([1, 0], index=pd.DatetimeIndex(times), dtype="int8"),
        start, start + timedelta(days=1), LEDGER,
    )  # fmt: skip
    days = daily_drivers(study, date(2023, 5, 3), date(2023, 5, 4), zones=study.zone, motion={"hall": log})
    assert days["motion_hours"].iloc[0] == pytest.approx(7 / 60)
    assert np.isnan(days["motion_hours"].iloc[1])


def test_temperature_is_a_daily_mean_of_well_logged_days() -> None:
    index = pd.date_range("2023-05-03 05:00", periods=30, freq="h", tz="UTC")
    weather = WeatherSeries(60.0, pd.Series(np.arange(30.0), index=index), LEDGER)
    days = daily_drivers(_study(), date(2023, 5, 3), date(2023, 5, 4), weather=weather)
    assert days["temperature_c"].iloc[0] == pytest.approx(11.5)
    assert np.isnan(days["temperature_c"].iloc[1])


def test_hours_of_the_hourly_table_sum_to_the_daily_one() -> None:
    study = _study(hours=WORKDAYS)
    hours = hourly_drivers(study, date(2023, 3, 10), date(2023, 3, 14))
    days = daily_drivers(study, date(2023, 3, 10), date(2023, 3, 14))
    summed = hours.groupby("local_day")[["open_share", "dark_share"]].sum()
    np.testing.assert_allclose(summed["open_share"], days["hours_open"])
    np.testing.assert_allclose(summed["dark_share"], days["dark_hours"])


def test_interval_conditions_mark_opening_by_the_interval_start() -> None:
    study = _study(holidays=[date(2023, 5, 4)], hours=WORKDAYS)
    index = pd.date_range("2023-05-03 05:00", periods=192, freq="15min", tz="UTC")
    table = interval_conditions(index, study, study.zone[1])
    opened = table[table["is_open"]]
    assert opened["local_hour"].min() == 6.5
    assert opened["local_hour"].max() == 21.75
    assert set(opened["local_day"]) == {pd.Timestamp("2023-05-03")}
    assert table.loc[table["local_day"] == "2023-05-04", "is_holiday"].all()
    assert table["sun_elevation_deg"].max() == pytest.approx(90 - 44.52 + 15.8, abs=0.5)


def test_a_typical_year_has_365_days_and_the_site_s_own_occupancy() -> None:
    study = _study(hours=WORKDAYS, holidays=[date(2023, 7, 4)])
    history = daily_drivers(study, date(2023, 1, 1), date(2024, 12, 31))
    level = np.where(history["is_open_day"], 9.0, 1.0)
    history["occupied_hours"] = level
    year = typical_year(study, history)
    assert len(year) == 365
    assert set(year["occupied_hours"].round(9)) == {1.0, 9.0}
    assert year["is_holiday"].sum() == 1
    assert list(year.columns) == list(history.columns)


def test_a_typical_year_keeps_the_spread_of_temperature() -> None:
    study = _study(hours=WORKDAYS)
    history = daily_drivers(study, date(2023, 1, 1), date(2024, 6, 30))
    draw = np.random.default_rng(3)
    season = -10 * np.cos(2 * np.pi * np.arange(len(history)) / 365.25)
    history["temperature_c"] = season + draw.normal(0, 4, len(history))
    year = typical_year(study, history)
    assert year["temperature_c"].std() == pytest.approx(history["temperature_c"].std(), rel=0.08)
