"""The 5-minute grid on which daily and hourly drivers are summed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.clock import local_days
from mv.base.opening_hours import Hours
from mv.base.study_records import Site, Study, Zone
from mv.drivers.opening import mean_open_fraction, open_fraction
from mv.drivers.sun import SUNRISE_ELEVATION_DEG, elevation_on_grid, fraction_below, slots_below

FloatArray = npt.NDArray[np.float64]

STEP_MINUTES = 5  # a crossing of the horizon is interpolated within it
STEP_HOURS = STEP_MINUTES / 60.0
# Elevations among which a photocell's switching elevation is fitted, degrees.
NIGHT_ELEVATIONS_DEG = tuple(range(-9, 8))


def night_hours_column(elevation_deg: int) -> str:
    """Name of the column with the hours in which the sun stands below a whole elevation."""
    return f"night_hours_below_{elevation_deg:+d}"


@dataclass(frozen=True)
class Grid:
    """Slots of 5 minutes from the first local midnight to the last; arrays share one length.

    `open_share` is None where no opening hours are known. `sunlight` is the sine of the sun's
    elevation at the slot's middle, 0 at night: the share of the overhead sun on level ground.
    """

    sky: "Sky"
    open_share: FloatArray | None

    @property
    def start(self) -> pd.DatetimeIndex:
        """UTC start of each slot."""
        return self.sky.start

    @property
    def dark_share(self) -> FloatArray:
        """Share of each slot with the sun below the horizon."""
        return self.sky.dark_share

    @property
    def sunlight(self) -> FloatArray:
        """Sine of the sun's elevation at the slot's middle, 0 at night."""
        return self.sky.sunlight

    def hours_by_day(self, share: FloatArray) -> FloatArray:
        """Hours of each day of `sky.days`, from a share of each slot; NaN where a slot's is."""
        return self.sky.summed_by_day(share) * STEP_HOURS


def midnights(first: date, last: date, timezone: str) -> pd.DatetimeIndex:
    """UTC instants of local midnight from `first` to the day after `last`."""
    days = pd.date_range(pd.Timestamp(first), pd.Timestamp(last) + pd.Timedelta(days=1), freq="D")
    local = days.tz_localize(timezone, ambiguous=np.ones(len(days), dtype=bool), nonexistent="shift_forward")
    return local.tz_convert("UTC")


@dataclass(frozen=True)
class Sky:
    """What the grid holds for every meter of a site: slots, local clock and sun.

    Each of `days` begins with the slot in `first_slots`.
    """

    start: pd.DatetimeIndex
    local_day: pd.DatetimeIndex
    hour: FloatArray
    days: pd.DatetimeIndex
    first_slots: npt.NDArray[np.int64]
    edges_deg: FloatArray
    dark_share: FloatArray
    sunlight: FloatArray

    def summed_by_day(self, values: FloatArray) -> FloatArray:
        """Sum of the slots' `values` over each day; NaN where one is."""
        return np.asarray(np.add.reduceat(values, self.first_slots), dtype=np.float64)


@lru_cache(maxsize=8)
def sky(site: Site, first: date, last: date) -> Sky:
    """The sky over the local days `first` to `last`, both included; remembered from meter to meter."""
    ends = midnights(first, last, site.timezone)
    slots = round((ends[-1] - ends[0]).total_seconds() / 60 / STEP_MINUTES)
    start = pd.date_range(ends[0], periods=slots, freq=f"{STEP_MINUTES}min")
    day = local_days(start, site.timezone)
    wall = start.tz_convert(site.timezone).tz_localize(None)
    begins = np.flatnonzero(np.append(True, np.diff(day.asi8) != 0))
    edges = elevation_on_grid(ends[0], slots, STEP_MINUTES, site.latitude, site.longitude)
    middle = np.radians((edges[:-1] + edges[1:]) / 2)
    return Sky(
        start=start,
        local_day=day,
        hour=((wall - day) / pd.Timedelta(hours=1)).to_numpy(dtype=np.float64),
        days=day[begins],
        first_slots=begins,
        edges_deg=edges,
        dark_share=fraction_below(edges, SUNRISE_ELEVATION_DEG),
        sunlight=np.clip(np.sin(middle), 0.0, None),
    )


@lru_cache(maxsize=8)
def night_hours(site: Site, first: date, last: date) -> dict[str, FloatArray]:
    """Hours of each day below each of the whole elevations, by column; remembered likewise."""
    seen = sky(site, first, last)
    slots = slots_below(seen.edges_deg, NIGHT_ELEVATIONS_DEG, seen.first_slots)
    return {
        night_hours_column(elevation): below * STEP_HOURS
        for elevation, below in zip(NIGHT_ELEVATIONS_DEG, slots, strict=True)
    }


def slot_grid(study: Study, first: date, last: date, zones: Sequence[Zone]) -> Grid:
    """The grid over the local days `first` to `last`, both included."""
    site, holidays = study.site, study.occupancy.holidays
    opened = mean_open_fraction(study, zones, lambda hours: _opened(site, first, last, hours, holidays))
    return Grid(sky(site, first, last), opened)


@lru_cache(maxsize=16)
def _opened(site: Site, first: date, last: date, hours: Hours, holidays: tuple[date, ...]) -> FloatArray:
    """Share of each slot in opening hours; remembered likewise."""
    seen = sky(site, first, last)
    return open_fraction(seen.local_day, seen.hour, STEP_HOURS, hours, holidays)
