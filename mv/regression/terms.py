"""The columns of a model: each a sentence of physics, computed from a day's drivers.

A term is a short string: a driver's own name ("occupied_hours"); "every day"; "open days",
"closed days"; "kind:saturday+sunday" (1 on such days); "weekday:0" (1 on Mondays); "open:<driver>"
(the driver on open days, 0 on others); "night:-3.5" (hours with the sun below -3.5 degrees);
"heat:14.0" and "cool:18.5" (degrees below and above a change point), with ":open" or ":closed" times
the share of the day that is open or closed; "season:cos", "season:sin"
(the year's first harmonic on open days; "year:" on all); "weeks:12-20:01-05" (1 on open days from
20 December to 5 January); "twilight"; "event:2024-09-02:2024-09-13".
"""

from collections.abc import Sequence
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

FloatArray = npt.NDArray[np.float64]

WEEKDAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
DAYS_IN_YEAR = 365.25
TWILIGHT_DEG = 3.0  # half the band of sun elevation that counts as twilight

_LABELS = {
    "every day": "every day",
    "open days": "open day",
    "closed days": "closed day",
    "hours_open": "hours open",
    "occupied_hours": "occupied hours",
    "people_hours": "people x hours",
    "motion_hours": "hours of motion",
    "dark_open_hours": "dark hours while open",
    "dark_occupied_hours": "dark hours while occupied",
    "dark_motion_hours": "dark hours with motion",
    "sun_open_hours": "sun-weighted hours while open",
    "sun_occupied_hours": "sun-weighted hours while occupied",
    "sun_motion_hours": "sun-weighted hours with motion",
    "open:daylight_hours": "daylight hours on open days",
    "open:sun_hours": "sun-weighted hours on open days",
    "dark_hours": "hours of darkness",
    "daylight_hours": "daylight hours",
    "season:cos": "season (January against July)",
    "season:sin": "season (April against October)",
    "year:cos": "season (January against July)",
    "year:sin": "season (April against October)",
    "twilight": "hours of twilight (sun within 3 degrees of the horizon)",
    "happenings": "days far from the rest, spread over all days",
}


def label(term: str) -> str:
    """The term in a reader's words, with its unit of use in the driver's name."""
    head, _, rest = term.partition(":")
    if term in _LABELS:
        return _LABELS[term]
    if term.startswith("expected_by_hour"):
        return "sum of the hourly model"
    if head == "kind":
        return " or ".join(rest.split("+"))
    if head == "weekday":
        return WEEKDAY_NAMES[int(rest)]
    if head == "night":
        return f"hours with the sun below {float(rest):+.1f} degrees"
    if head in ("heat", "cool"):
        change, _, hours = rest.partition(":")
        degrees = f"degrees C {'below' if head == 'heat' else 'above'} {float(change):.1f}"
        return f"{degrees} while {hours}" if hours else degrees
    if head in ("event", "weeks"):
        first, _, last = rest.partition(":")
        return f"event {first} to {last}" if head == "event" else f"open day from {first} to {last}"
    return term.replace("_", " ")


class _Days:
    """The days of `drivers`, with what several terms need of them worked out once."""

    def __init__(self, drivers: pd.DataFrame) -> None:
        self.drivers = drivers

    @cached_property
    def is_open(self) -> FloatArray:
        """1 on open days."""
        return self.drivers["is_open_day"].to_numpy(dtype=np.float64)

    @cached_property
    def dates(self) -> npt.NDArray[np.datetime64]:
        """As plain dates, whose parts cost a fraction of an index's."""
        return self.drivers.index.to_numpy().astype("datetime64[D]")

    @cached_property
    def month_day(self) -> npt.NDArray[np.int64]:
        """100 times the month, plus the day."""
        months = self.dates.astype("datetime64[M]")
        days = (self.dates - months).astype(np.int64) + 1
        return np.asarray((months.astype(np.int64) % 12 + 1) * 100 + days)

    @cached_property
    def angle(self) -> FloatArray:
        """Of the year, radians."""
        day_of_year = (self.dates - self.dates.astype("datetime64[Y]")).astype(np.int64) + 1
        return np.asarray(2 * np.pi * day_of_year / DAYS_IN_YEAR)


def column(drivers: pd.DataFrame, term: str) -> FloatArray:
    """The term's value on each row of `drivers`; NaN where its driver is unknown."""
    return _column(_Days(drivers), term)


def design(drivers: pd.DataFrame, terms: Sequence[str]) -> FloatArray:
    """One column a term, in order."""
    days = _Days(drivers)
    return np.column_stack([_column(days, term) for term in terms])


def _column(days: _Days, term: str) -> FloatArray:
    drivers = days.drivers
    head, _, rest = term.partition(":")
    if term == "every day":
        return np.ones(len(drivers))
    if term in ("open days", "closed days"):
        return days.is_open if term == "open days" else 1.0 - days.is_open
    if head == "kind":
        return np.asarray(drivers["day_type"].isin(rest.split("+")), dtype=np.float64)
    if head == "weekday":
        return np.asarray(_weekday_or_sunday(drivers) == int(rest), dtype=np.float64)
    if head == "open":
        return _column(days, rest) * days.is_open
    if head == "night":
        return night_hours(drivers, float(rest))
    if head in ("heat", "cool"):
        change, _, hours = rest.partition(":")
        degrees = _degrees(drivers, head, float(change))
        return degrees * share_of_day(drivers, hours) if hours else degrees
    if head in ("season", "year"):
        wave = np.cos(days.angle) if rest == "cos" else np.sin(days.angle)
        return wave if head == "year" else wave * days.is_open
    if head == "weeks":
        return _within_dates(days.month_day, rest) * days.is_open
    if term == "twilight":
        return night_hours(drivers, TWILIGHT_DEG) - night_hours(drivers, -TWILIGHT_DEG)
    if head == "event":
        first, _, last = rest.partition(":")
        inside = (drivers.index >= pd.Timestamp(first)) & (drivers.index <= pd.Timestamp(last))
        return np.asarray(inside, dtype=np.float64)
    return drivers[term].to_numpy(dtype=np.float64)


def night_hours(drivers: pd.DataFrame, elevation_deg: float) -> FloatArray:
    """Hours below any elevation within the drivers' whole-degree columns, between them linearly."""
    below = int(np.floor(elevation_deg))
    share = elevation_deg - below
    low = drivers[f"night_hours_below_{below:+d}"].to_numpy(dtype=np.float64)
    if share == 0:
        return low
    high = drivers[f"night_hours_below_{below + 1:+d}"].to_numpy(dtype=np.float64)
    return np.asarray((1 - share) * low + share * high)


def _weekday_or_sunday(drivers: pd.DataFrame) -> npt.NDArray[np.int64]:
    weekday = drivers["weekday"].to_numpy(dtype=np.int64)
    return np.where(drivers["is_holiday"].to_numpy(dtype=bool), 6, weekday)


def _degrees(drivers: pd.DataFrame, side: str, change_c: float) -> FloatArray:
    temperature = drivers["temperature_c"].to_numpy(dtype=np.float64)
    return np.maximum(change_c - temperature if side == "heat" else temperature - change_c, 0.0)


def share_of_day(drivers: pd.DataFrame, hours: str) -> FloatArray:
    """Share of each day that is "open" or "closed"; where opening hours are not known, by whole days."""
    opened = drivers["hours_open"].to_numpy(dtype=np.float64) / drivers["hours_in_day"].to_numpy(
        dtype=np.float64
    )
    opened = np.where(np.isnan(opened), drivers["is_open_day"].to_numpy(dtype=np.float64), opened)
    return np.asarray(opened if hours == "open" else 1.0 - opened)


def _within_dates(day: npt.NDArray[np.int64], dates: str) -> FloatArray:
    """1 from the first to the last month-day of every year, both included, over the new year too."""
    first, last = (int(date.replace("-", "")) for date in dates.split(":"))
    inside = (day >= first) & (day <= last) if first <= last else (day >= first) | (day <= last)
    return np.asarray(inside, dtype=np.float64)
