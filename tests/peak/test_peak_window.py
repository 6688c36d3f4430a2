"""The programme's window on the local clock, and means within it."""

from datetime import date, datetime

import numpy as np
import pandas as pd
import pytest
from pydantic import ValidationError

from mv.base.estimate import CannotSay, Estimate
from mv.base.programme_records import Peak
from mv.peak import (
    coincidence_factor,
    effective_days,
    hottest_days,
    peak_window_mask,
    window_fits,
    window_hours_per_day,
    window_mean_kw,
)

ZONE = "America/Chicago"
PEAK = Peak(months=(6, 7, 8), hours=(14, 18))


def _index(first: str, last: str, minutes: int = 15) -> pd.DatetimeIndex:
    index = pd.date_range(first, last, freq=f"{minutes}min", tz=ZONE, inclusive="left")
    return index.tz_convert("UTC")


def test_the_window_moves_with_the_wall_clock_over_summer_time() -> None:
    peak = Peak(months=(3,), hours=(14, 15), weekdays_only=False)
    index = _index("2024-03-09", "2024-03-12", 60)
    inside = index[peak_window_mask(index, peak, timezone=ZONE)]
    assert [stamp.hour for stamp in inside] == [20, 19, 19]  # UTC-6, then UTC-5


def test_the_windows_own_holidays_go_before_the_sites() -> None:
    index = _index("2024-07-01", "2024-07-06", 60)
    own = PEAK.model_copy(update={"holidays": ()})
    closed = (date(2024, 7, 4),)
    assert peak_window_mask(index, PEAK, timezone=ZONE, holidays=closed).sum() == 16
    assert peak_window_mask(index, own, timezone=ZONE, holidays=closed).sum() == 20


def test_single_hours_are_named_on_the_local_clock() -> None:
    hour = Peak(months=(7,), hours=(14, 18), rule="single hour", at=(datetime(2024, 7, 16, 17),))
    index = _index("2024-07-16", "2024-07-17")
    inside = index[peak_window_mask(index, hour, timezone=ZONE)].tz_convert(ZONE)
    assert [stamp.strftime("%H:%M") for stamp in inside] == ["17:00", "17:15", "17:30", "17:45"]
    assert window_hours_per_day(hour) == 1.0


def test_a_single_hour_needs_its_hour() -> None:
    with pytest.raises(ValidationError, match="single hour"):
        Peak(months=(7,), hours=(14, 18), rule="single hour")


def test_hours_named_by_their_end_start_an_hour_earlier() -> None:
    assert Peak(months=(6,), hours=(15, 18), hour_labels="ending").windows == ((14.0, 18.0),)
    assert Peak(months=(6,), hours=(18, 18), hour_labels="ending").windows == ((17.0, 18.0),)
    with pytest.raises(ValidationError):
        Peak(months=(6,), hours=(18, 18))


@pytest.mark.parametrize(("minutes", "fits"), [(5, True), (60, True), (1440, False)])
def test_metering_by_the_day_cannot_show_the_window(minutes: float, fits: bool) -> None:
    assert (window_fits(PEAK, minutes) is None) is fits


def test_a_window_that_cuts_through_intervals_is_refused() -> None:
    half = Peak(months=(6,), hours=(14.5, 18))
    refusal = window_fits(half, 60)
    assert isinstance(refusal, CannotSay) and "60 min" in refusal.why
    assert window_fits(half, 30) is None


def test_a_day_without_most_of_its_window_does_not_count() -> None:
    index = _index("2024-06-03", "2024-06-05")
    power = pd.Series(5.0, index=index)
    mask = peak_window_mask(index, PEAK, timezone=ZONE)
    first_window = np.flatnonzero(mask)[:16]
    power.iloc[first_window[:3]] = np.nan
    daily = window_mean_kw(power, mask, timezone=ZONE)
    assert list(daily.index) == [pd.Timestamp("2024-06-04")]
    assert window_mean_kw(power, np.zeros(len(index), dtype=bool), timezone=ZONE).empty


def test_the_coincidence_factor_is_the_mean_share_of_the_connected_load() -> None:
    days = pd.Series([7.8, 8.2, 8.0, 7.9, 8.1])
    found = coincidence_factor(days, connected_kw=10.0, confidence=0.90)
    assert isinstance(found, Estimate)
    assert found.estimate == pytest.approx(0.80)
    assert found.low is not None and found.high is not None
    assert found.low < 0.80 < found.high < 0.85


def test_the_coincidence_factor_needs_a_load_and_days() -> None:
    days = pd.Series([8.0, 8.1])
    assert isinstance(coincidence_factor(days, connected_kw=10.0, confidence=0.9), CannotSay)
    assert isinstance(coincidence_factor(days, connected_kw=None, confidence=0.9), CannotSay)


def test_days_that_resemble_each_other_count_for_fewer() -> None:
    rng = np.random.default_rng(5)
    noise = rng.standard_normal(400)
    walk = np.convolve(noise, np.ones(10) / 10, mode="valid")
    assert effective_days(noise) > 300
    assert effective_days(walk) < 60
    assert effective_days(np.full(9, 2.0)) == 9


def test_the_hottest_days_are_eligible_ones_in_order_of_date() -> None:
    index = _index("2024-06-01", "2024-06-30", 60)
    local = index.tz_convert(ZONE)
    heat = pd.Series(np.where(local.hour == 15, local.day, 0).astype(float), index=index)
    peak = Peak(months=(6,), hours=(14, 18), rule="hottest days", days=3)
    found = hottest_days(heat, peak, timezone=ZONE, holidays=(date(2024, 6, 27),))
    assert found == (date(2024, 6, 25), date(2024, 6, 26), date(2024, 6, 28))


def test_too_few_days_with_temperatures_are_said() -> None:
    index = _index("2024-06-03", "2024-06-05", 60)
    peak = Peak(months=(6,), hours=(14, 18), rule="hottest days", days=3)
    heat = pd.Series(20.0, index=index)
    assert isinstance(hottest_days(heat, peak, timezone=ZONE), CannotSay)
