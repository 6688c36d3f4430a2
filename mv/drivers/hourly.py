"""One row of drivers for each hour."""

from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np
import pandas as pd

from mv.base.series import MotionLog, OccupancySeries, WeatherSeries
from mv.base.study_records import Study, Zone
from mv.drivers.grid import STEP_MINUTES, FloatArray, slot_grid
from mv.drivers.occupied import mean_motion_share, occupied_share, people
from mv.drivers.opening import is_holiday


def hourly_drivers(
    study: Study,
    first: date,
    last: date,
    *,
    occupancy: OccupancySeries | None = None,
    weather: WeatherSeries | None = None,
    zones: Sequence[Zone] = (),
    motion: Mapping[str, MotionLog] | None = None,
) -> pd.DataFrame:
    """Drivers of each hour of the local days `first` to `last`, by UTC hour start.

    `open_share`, `dark_share`, `occupied_share`, `motion_share` are shares of the hour, `sunlight`
    the mean sine of the sun's elevation; NaN where not known. `hour_of_week` counts wall-clock
    hours from Monday 00:00; on holidays it stays the weekday's own, `is_holiday` marks them.
    """
    grid = slot_grid(study, first, last, zones)
    per_hour = 60 // STEP_MINUTES
    begins = np.arange(0, len(grid.start), per_hour)
    index = grid.start[::per_hour]
    day = grid.sky.local_day[::per_hour]
    wall = index.tz_convert(study.site.timezone)
    size = np.diff(np.append(begins, len(grid.start)))

    def mean(values: FloatArray | None) -> FloatArray:
        return np.full(len(begins), np.nan) if values is None else np.add.reduceat(values, begins) / size

    table = pd.DataFrame(
        {
            "local_day": day,
            "local_hour": wall.hour + wall.minute / 60.0,
            "hour_of_week": wall.day_of_week * 24 + wall.hour,
            "is_holiday": is_holiday(day, study),
            "dark_share": mean(grid.dark_share),
            "sunlight": mean(grid.sunlight),
            "open_share": mean(grid.open_share),
            "occupied_share": mean(None if occupancy is None else occupied_share(grid.start, occupancy)),
            "people": mean(None if occupancy is None else people(grid.start, occupancy)),
            "motion_share": mean(mean_motion_share(grid.start, motion or {}, zones)),
        },
        index=index,
    )
    table["temperature_c"] = _hourly_temperature(index, weather)
    return table


def _hourly_temperature(index: pd.DatetimeIndex, weather: WeatherSeries | None) -> FloatArray:
    if weather is None:
        return np.full(len(index), np.nan)
    logged = weather.temperature_c.dropna()
    code = index.searchsorted(pd.DatetimeIndex(logged.index), side="right") - 1
    inside = (code >= 0) & (logged.index < index[-1] + pd.Timedelta(hours=1))
    count = np.bincount(code[inside], minlength=len(index))
    total = np.bincount(code[inside], weights=logged.to_numpy()[inside], minlength=len(index))
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)
