"""A typical year of drivers for the site, at which both models are compared."""

from datetime import date

import numpy as np
import pandas as pd

from mv.base.study_records import Study, Zone
from mv.drivers.daily import daily_drivers

# Columns that come from logs rather than from sun and calendar.
LOGGED = (
    "occupied_hours", "dark_occupied_hours", "sun_occupied_hours",
    "people_hours", "dark_people_hours", "sun_people_hours",
    "motion_hours", "dark_motion_hours", "sun_motion_hours",
)  # fmt: skip


def typical_year(study: Study, history: pd.DataFrame, *, zones: tuple[Zone, ...] = ()) -> pd.DataFrame:
    """365 days that stand for a usual year, with the columns of `daily_drivers`.

    Calendar and holidays are those of the study's calendar year with the most listed holidays (the
    latest of equals), 29 February left out; sun and opening hours follow from the site. What was
    logged (occupancy, motion) is the mean of `history` (both periods) over days of the same kind of
    day and month; where a month holds none of that kind, of the same kind of day at any time.
    Temperature is the mean of the logged days within 10 days of the year around the date, plus that
    day's own departure in the latest year logged, so that a year keeps its usual spread.
    """
    year = _calendar_year(study, history)
    table = daily_drivers(study, date(year, 1, 1), date(year, 12, 31), zones=zones)
    days = pd.DatetimeIndex(table.index)
    table = table[~((days.month == 2) & (days.day == 29))].copy()
    names = [name for name in LOGGED if name in history and history[name].notna().any()]
    if names:
        table[names] = _by_kind_of_day(history, table, names)
    if "temperature_c" in history and history["temperature_c"].notna().any():
        table["temperature_c"] = _usual_temperature(history["temperature_c"], table)
    return table


def _calendar_year(study: Study, history: pd.DataFrame) -> int:
    years = sorted(set(pd.DatetimeIndex(history.index).year), reverse=True)
    listed = [day.year for day in study.occupancy.holidays]
    return int(max(years, key=listed.count))


def _by_kind_of_day(history: pd.DataFrame, table: pd.DataFrame, names: list[str]) -> pd.DataFrame:
    """Means by open or closed, kind of day and month; wider where a cell is empty."""
    known = history.assign(month=pd.DatetimeIndex(history.index).month)
    wanted = table.assign(month=pd.DatetimeIndex(table.index).month)
    result = pd.DataFrame(np.nan, index=table.index, columns=names)
    for keys in (["day_type", "month"], ["day_type"], ["is_open_day", "month"], ["is_open_day"]):
        means = known.groupby(keys)[names].mean()
        cells = pd.MultiIndex.from_frame(wanted[keys]) if len(keys) > 1 else pd.Index(wanted[keys[0]])
        result = result.fillna(means.reindex(cells).set_axis(table.index))
        if result.notna().to_numpy().all():
            break
    return result.fillna(history[names].mean())


def _usual_temperature(logged: pd.Series, table: pd.DataFrame) -> pd.Series:
    known = logged.dropna()
    of_year = pd.DatetimeIndex(known.index).day_of_year.to_numpy()
    wanted = pd.DatetimeIndex(table.index).day_of_year.to_numpy()
    apart = np.abs(wanted[:, None] - of_year[None, :])
    near = np.minimum(apart, 365 - apart) <= 10
    values = known.to_numpy()
    counts = near.sum(axis=1)
    smooth = np.where(counts > 0, (near * values).sum(axis=1) / np.maximum(counts, 1), values.mean())
    latest = pd.Series(values, index=of_year).groupby(level=0).last()
    usual = pd.Series(smooth, index=wanted)
    departure = (latest - usual.groupby(level=0).first()).reindex(wanted).fillna(0.0)
    return pd.Series(smooth + departure.to_numpy(), index=table.index)
