"""Days and hours of published peak windows.

PJM energy-efficiency windows as printed at pjmenergycredits.com: 14-18 h in June to August, and
7-9 and 18-20 h in January and February, without weekends and federal holidays; hour-ending labels
HE15-18, HE08-09 and HE19-20 from memory. Counts from the calendar, by hand. ISO New England's
windows from memory. California's three-day heat wave: DEER 2023 (cedars.sound-data.com).
"""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from mv.base.programme_records import Peak
from mv.peak import hottest_days, peak_window_mask, window_mean_kw

ZONE = "America/New_York"
SUMMER = {"months": (6, 7, 8), "hours": (14, 18)}
FEDERAL = {
    2023: (date(2023, 6, 19), date(2023, 7, 4), date(2023, 1, 2), date(2023, 1, 16), date(2023, 2, 20)),
    2024: (date(2024, 6, 19), date(2024, 7, 4), date(2024, 1, 1), date(2024, 1, 15), date(2024, 2, 19)),
    2025: (date(2025, 6, 19), date(2025, 7, 4), date(2025, 1, 1), date(2025, 1, 20), date(2025, 2, 17)),
}


def _year(year: int, minutes: int) -> pd.DatetimeIndex:
    ends = (f"{year}-01-01", f"{year + 1}-01-01")
    index = pd.date_range(*ends, freq=f"{minutes}min", tz=ZONE, inclusive="left")
    return index.tz_convert("UTC")


@pytest.mark.parametrize(("year", "days"), [(2023, 64), (2024, 63), (2025, 63)])
def test_the_summer_window_counts_its_days_and_hours(year: int, days: int) -> None:
    quarter_hours = peak_window_mask(_year(year, 15), Peak(**SUMMER), timezone=ZONE, holidays=FEDERAL[year])
    hours = peak_window_mask(_year(year, 60), Peak(**SUMMER), timezone=ZONE, holidays=FEDERAL[year])
    assert quarter_hours.sum() == 16 * days
    assert hours.sum() == 4 * days


@pytest.mark.parametrize(("year", "hours"), [(2024, 164), (2025, 160)])
def test_the_winter_window_takes_two_spans_a_day(year: int, hours: int) -> None:
    winter = Peak(months=(1, 2), hours=(7, 9), also_hours=((18, 20),))
    mask = peak_window_mask(_year(year, 60), winter, timezone=ZONE, holidays=FEDERAL[year])
    assert mask.sum() == hours


def test_hour_ending_labels_name_the_same_hours() -> None:
    index = _year(2024, 15)
    starting = peak_window_mask(index, Peak(**SUMMER), timezone=ZONE, holidays=FEDERAL[2024])
    ending = Peak(months=(6, 7, 8), hours=(15, 18), hour_labels="ending")
    assert (peak_window_mask(index, ending, timezone=ZONE, holidays=FEDERAL[2024]) == starting).all()


def test_a_calendar_that_keeps_juneteenth_has_64_days_in_2024() -> None:
    mask = peak_window_mask(_year(2024, 60), Peak(**SUMMER), timezone=ZONE, holidays=(date(2024, 7, 4),))
    assert mask.sum() == 4 * 64


def test_quarter_hours_from_14_00_to_17_45_belong_to_14_to_18() -> None:
    index = _year(2024, 15)
    mask = peak_window_mask(index, Peak(**SUMMER), timezone=ZONE)
    day = index[mask].tz_convert(ZONE)
    one = day[day.date == date(2024, 6, 3)]
    assert len(one) == 16
    assert (one[0].strftime("%H:%M"), one[-1].strftime("%H:%M")) == ("14:00", "17:45")


@pytest.mark.parametrize(("on", "off", "kw"), [(7, 19, 10.0), (9, 16, 5.0)])
def test_the_mean_over_the_window_and_not_the_difference_of_maxima(on: int, off: int, kw: float) -> None:
    index = _year(2024, 15)
    hour = index.tz_convert(ZONE).hour
    drop = pd.Series(np.where((hour >= on) & (hour < off), 10.0, 0.0), index=index)
    mask = peak_window_mask(index, Peak(**SUMMER), timezone=ZONE, holidays=FEDERAL[2024])
    daily = window_mean_kw(drop, mask, timezone=ZONE)
    assert len(daily) == 63
    assert daily.mean() == pytest.approx(kw)
    assert drop[mask].max() == 10.0


def test_a_heat_wave_of_three_days_from_16_to_21_has_15_hours() -> None:
    index = _year(2024, 60)
    local = index.tz_convert(ZONE)
    warm = 20.0 + 8.0 * np.sin((local.hour - 9) / 24.0 * 2 * np.pi)
    wave = np.isin(local.date, [date(2024, 7, 9), date(2024, 7, 10), date(2024, 7, 11)])
    peak = Peak(months=(6, 7, 8, 9), hours=(16, 21), rule="hottest days", days=3, consecutive=True)
    days = hottest_days(pd.Series(warm + 9.0 * wave, index=index), peak, timezone=ZONE)
    assert days == (date(2024, 7, 9), date(2024, 7, 10), date(2024, 7, 11))
    assert peak_window_mask(index, peak, timezone=ZONE, hottest=days).sum() == 15
