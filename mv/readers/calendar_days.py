"""Days of the Gregorian calendar, counted in whole columns."""

import numpy as np
from numpy.typing import NDArray

YEARS = (1970, 2200)  # a stamp outside is not a meter reading; common practice, no source


_PIVOT_YEAR = 70  # two-digit years from 70 are 19xx; POSIX strptime's %y rule uses 69


def days_from_civil(
    year: NDArray[np.int32], month: NDArray[np.int32], day: NDArray[np.int32]
) -> NDArray[np.int32]:
    """Days since 1970-01-01 of Gregorian dates; month 1..12.

    Source: the standard era-based day count of the proleptic Gregorian calendar (from memory);
    checked in tests against Python's own calendar.
    """
    y = year - (month <= 2)
    era_year = y + 4800
    shifted = (month + 9) % 12
    day_of_year = (153 * shifted + 2) // 5 + day - 1
    days = era_year * 365 + era_year // 4 - era_year // 100 + era_year // 400 + day_of_year
    return (days - 2_472_632).astype(np.int32)


_MONTH_DAYS = np.array([0, 31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31], dtype=np.int32)


def valid_date(
    year: NDArray[np.int32], month: NDArray[np.int32], day: NDArray[np.int32]
) -> NDArray[np.bool_]:
    """True where the three numbers are a date of the Gregorian calendar within YEARS."""
    good = (year >= YEARS[0]) & (year < YEARS[1]) & (month >= 1) & (month <= 12) & (day >= 1)
    good &= day <= _MONTH_DAYS[np.where(good, month, 0)]
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    good &= (month != 2) | (day < 29) | leap
    return good


def full_year(two_digits: NDArray[np.int32]) -> NDArray[np.int32]:
    """The four-digit year two digits stand for."""
    return two_digits + np.where(two_digits >= _PIVOT_YEAR, 1900, 2000).astype(np.int32)
