"""The minute grid against the IANA time zone rules as the standard library's zoneinfo knows them."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from mv.simulate.minute_clock import minute_clock, opening

ZONES = ("America/Chicago", "Europe/London", "Australia/Lord_Howe", "Asia/Kolkata", "America/Santiago")


@pytest.mark.parametrize("timezone", ZONES)
def test_every_minute_has_the_wall_clock_that_zoneinfo_gives(timezone: str) -> None:
    clock = minute_clock(date(2023, 1, 1), date(2023, 12, 31), timezone)
    here = ZoneInfo(timezone)
    rng = np.random.default_rng(4)
    for index in (*rng.integers(0, clock.n, 400).tolist(), 0, clock.n - 1):
        wall = datetime.fromtimestamp(clock.start.timestamp() + 60 * index, here)
        assert clock.minute_of_day[index] == wall.hour * 60 + wall.minute
        assert clock.first_day + timedelta(days=int(clock.day[index])) == wall.date()
        assert clock.weekday[clock.day[index]] == wall.weekday()


def test_the_days_of_clock_change_have_23_and_25_hours() -> None:
    clock = minute_clock(date(2024, 3, 1), date(2024, 11, 30), "America/Chicago")
    length = np.diff(clock.day_start) / 60
    assert length[clock.day_of(date(2024, 3, 10))] == 23
    assert length[clock.day_of(date(2024, 11, 3))] == 25
    assert set(np.delete(length, [clock.day_of(date(2024, 3, 10)), clock.day_of(date(2024, 11, 3))])) == {24}


@pytest.mark.parametrize("timezone", ZONES)
def test_a_wall_clock_time_is_found_again_on_every_day(timezone: str) -> None:
    clock = minute_clock(date(2023, 1, 1), date(2023, 12, 31), timezone)
    for wall in (0, 6 * 60, 12 * 60 + 7, 23 * 60 + 59):
        days = np.arange(clock.days)
        found = clock.index_of(days, np.full(clock.days, wall))
        there = clock.minute_of_day[np.minimum(found, clock.n - 1)]
        exists = np.abs(there - wall) <= 60  # a wall time inside the spring gap moves past it
        assert exists.all()
        assert (there == wall).mean() > 0.99


def test_a_minute_past_midnight_belongs_to_the_next_day() -> None:
    clock = minute_clock(date(2023, 6, 1), date(2023, 6, 30), "Europe/London")
    late = clock.index_of(np.array([3]), np.array([24 * 60 + 30]))
    assert late == clock.index_of(np.array([4]), np.array([30]))


def test_opening_hours_close_on_holidays_and_may_run_past_midnight() -> None:
    clock = minute_clock(date(2023, 6, 5), date(2023, 6, 11), "Europe/London")  # Monday to Sunday
    hours = opening(clock, (("mon-fri", "18:00-02:00"),), (date(2023, 6, 7),))
    open_hours = [hours.open[clock.day_start[d] : clock.day_start[d + 1]].sum() / 60 for d in range(7)]
    assert open_hours == [6, 8, 2, 6, 8, 2, 0]
    assert list(hours.open_day) == [True, True, False, True, True, False, False]


def test_the_grid_is_utc_from_local_midnight() -> None:
    clock = minute_clock(date(2023, 7, 1), date(2023, 7, 2), "America/Chicago")
    assert clock.start == datetime(2023, 7, 1, 5, tzinfo=UTC)
    assert len(clock.stamps(15)) == 2 * 96
