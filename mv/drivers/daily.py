"""One row of drivers for each local day."""

from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.series import MotionLog, OccupancySeries, WeatherSeries
from mv.base.study_records import Study, Zone
from mv.drivers.grid import Grid, midnights, night_hours, slot_grid
from mv.drivers.occupied import mean_motion_share, occupied_share, people
from mv.drivers.opening import is_holiday

FloatArray = npt.NDArray[np.float64]

# A day's occupancy, motion or weather is known when at least this share of it was logged
# (common practice, no source); the rest of the day is taken at the mean of what was logged.
KNOWN_DAY_SHARE = 0.90


def daily_drivers(
    study: Study,
    first: date,
    last: date,
    *,
    occupancy: OccupancySeries | None = None,
    weather: WeatherSeries | None = None,
    zones: Sequence[Zone] = (),
    motion: Mapping[str, MotionLog] | None = None,
) -> pd.DataFrame:
    """Drivers of the local days `first` to `last`, both included, by naive local midnight.

    Hours are hours of that day. `dark` is the sun's centre below -0.833 degrees, so that
    `daylight_hours` is sunrise to sunset; 0 and 24 h at polar sites. `sun_*_hours` weigh each hour
    with the sine of the sun's elevation. Opening columns are NaN where the study gives no opening
    hours; `occupied_hours`, `people_hours`, `motion_hours` and `temperature_c` are NaN on days that
    were not logged. With `zones`, opening and motion are means over them by connected load.
    """
    grid = slot_grid(study, first, last, zones)
    index = pd.DatetimeIndex(grid.sky.days, name="local_day")
    table = _calendar(study, index)
    table["hours_in_day"] = _day_lengths(study, first, last)
    table = table.assign(**_sun_columns(grid), **night_hours(study.site, first, last))
    table = table.assign(**_opening_columns(grid, table))
    shares: dict[str, FloatArray | None] = {
        "occupied": None if occupancy is None else occupied_share(grid.start, occupancy),
        "people": None if occupancy is None else people(grid.start, occupancy),
        "motion": mean_motion_share(grid.start, motion or {}, zones),
    }
    for name, share in shares.items():
        table = table.assign(**_presence_columns(name, share, grid))
    table["temperature_c"] = _daily_temperature(study, first, last, weather)
    return table


def _calendar(study: Study, index: pd.DatetimeIndex) -> pd.DataFrame:
    weekday = index.day_of_week.to_numpy()
    holiday = is_holiday(index, study)
    names = np.where(weekday == 5, "saturday", np.where(weekday == 6, "sunday", "weekday"))
    return pd.DataFrame(
        {
            "weekday": weekday,
            "is_holiday": holiday,
            "day_type": np.where(holiday, "holiday", names),
        },
        index=index,
    )


def _day_lengths(study: Study, first: date, last: date) -> FloatArray:
    ends = midnights(first, last, study.site.timezone)
    hours = np.diff(ends.as_unit("ns").asi8) / 3.6e12
    return np.asarray(hours[hours > 0], dtype=np.float64)


def _sun_columns(grid: Grid) -> dict[str, FloatArray]:
    return {
        "daylight_hours": grid.hours_by_day(1.0 - grid.dark_share),
        "dark_hours": grid.hours_by_day(grid.dark_share),
        "sun_hours": grid.hours_by_day(grid.sunlight),
    }


def _opening_columns(grid: Grid, table: pd.DataFrame) -> dict[str, npt.NDArray[np.generic]]:
    if grid.open_share is None:
        unknown = np.full(len(table), np.nan)
        working = ~table["is_holiday"].to_numpy() & (table["weekday"].to_numpy() < 5)
        return {
            "hours_open": unknown,
            "dark_open_hours": unknown,
            "sun_open_hours": unknown,
            "is_open_day": working,
        }
    hours = grid.hours_by_day(grid.open_share)
    return {
        "hours_open": hours,
        "dark_open_hours": grid.hours_by_day(grid.open_share * grid.dark_share),
        "sun_open_hours": grid.hours_by_day(grid.open_share * grid.sunlight),
        "is_open_day": hours > 0,
    }


def _presence_columns(name: str, share: FloatArray | None, grid: Grid) -> dict[str, FloatArray]:
    """Hours of presence, in the dark and in the sun; days less than 90 % known are NaN."""
    weights = {"": 1.0, "dark_": grid.dark_share, "sun_": grid.sunlight}
    if share is None:
        return {f"{prefix}{name}_hours": np.full(len(grid.sky.days), np.nan) for prefix in weights}
    logged = ~np.isnan(share)
    known = grid.sky.summed_by_day(logged.astype(np.float64))
    known = known / np.diff(np.append(grid.sky.first_slots, len(share)))
    columns = {}
    for prefix, weight in weights.items():
        total = grid.hours_by_day(np.where(logged, share, 0.0) * weight)
        enough = known >= KNOWN_DAY_SHARE
        columns[f"{prefix}{name}_hours"] = np.where(enough, total / np.maximum(known, 0.5), np.nan)
    return columns


def _daily_temperature(study: Study, first: date, last: date, weather: WeatherSeries | None) -> FloatArray:
    ends = midnights(first, last, study.site.timezone)
    unique = ends[:-1][np.diff(ends.as_unit("ns").asi8) > 0]
    days = len(unique)
    if weather is None:
        return np.full(days, np.nan)
    logged = weather.temperature_c.dropna()
    logged = logged[(logged.index >= ends[0]) & (logged.index < ends[-1])]
    if logged.empty:
        return np.full(days, np.nan)
    code = np.searchsorted(unique, pd.DatetimeIndex(logged.index), side="right") - 1
    count = np.bincount(code, minlength=days)
    expected = _day_lengths(study, first, last) * 60.0 / weather.interval_minutes
    mean = np.bincount(code, weights=logged.to_numpy(), minlength=days) / np.maximum(count, 1)
    return np.where(count >= KNOWN_DAY_SHARE * expected, mean, np.nan)
