"""Where the sun stands over the site, and for how long it stands below a given elevation."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pandas as pd

FloatArray = npt.NDArray[np.float64]

# Elevation of the sun's centre, without refraction, when its upper limb touches a level horizon:
# 34' of refraction and 16' of radius (US Naval Observatory's definition of sunrise and sunset).
SUNRISE_ELEVATION_DEG = -0.833
EPOCH_2000 = pd.Timestamp("2000-01-01 12:00", tz="UTC")  # J2000.0; UTC stands for universal time


def sun_elevation_deg(instants: pd.DatetimeIndex, latitude: float, longitude: float) -> FloatArray:
    """Geometric elevation of the sun's centre (no refraction), degrees, at each UTC instant.

    Source: the low-precision formulas of the Astronomical Almanac, as in Michalsky 1988, Solar Energy
    40:227 (from memory), with Greenwich mean sidereal time for universal time. Within 0.02 degrees of
    NREL's SPA from 1950 to 2050 (the tests hold it to SPA and to pvlib). Valid at every latitude;
    `latitude` north positive, `longitude` east positive.
    """
    stamps = np.asarray((instants - EPOCH_2000) / pd.Timedelta(days=1), dtype=np.float64)
    anomaly = np.radians((357.528 + 0.9856003 * stamps) % 360.0)
    mean_longitude = 280.460 + 0.9856474 * stamps
    ecliptic = np.radians((mean_longitude + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2 * anomaly)) % 360.0)
    tilt = np.radians(23.439 - 4e-7 * stamps)
    ascension = np.arctan2(np.cos(tilt) * np.sin(ecliptic), np.cos(ecliptic))
    sine_declination = np.sin(tilt) * np.sin(ecliptic)
    sidereal_hours = (18.697374558 + 24.06570982441908 * stamps) % 24.0
    hour_angle = np.radians(15.0 * sidereal_hours + longitude) - ascension
    north = np.radians(latitude)
    cosine = np.sqrt(1.0 - sine_declination**2)
    sine = np.sin(north) * sine_declination + np.cos(north) * cosine * np.cos(hour_angle)
    return np.asarray(np.degrees(np.arcsin(np.clip(sine, -1.0, 1.0))), dtype=np.float64)


@lru_cache(maxsize=16)
def elevation_on_grid(
    start: pd.Timestamp, slots: int, step_minutes: int, latitude: float, longitude: float
) -> FloatArray:
    """Elevation at the `slots` + 1 edges of a regular grid from `start`; read-only, remembered."""
    edges = pd.date_range(start, periods=slots + 1, freq=f"{step_minutes}min")
    elevation = sun_elevation_deg(edges, latitude, longitude)
    elevation.flags.writeable = False
    return elevation


def fraction_below(edges_deg: FloatArray, threshold_deg: float) -> FloatArray:
    """Share of each slot in which the sun stands below `threshold_deg`.

    `edges_deg` holds the elevation at the n + 1 edges of n slots; within a slot it is taken as a
    straight line, so a crossing is found to seconds on a 5-minute grid, and a polar day or night
    needs no special case.
    """
    return _share_below(*_lowest_and_highest(edges_deg), threshold_deg)


def slots_below(
    edges_deg: FloatArray, thresholds_deg: Sequence[float], first_slots: npt.NDArray[np.int64]
) -> list[FloatArray]:
    """The same summed from each of `first_slots` to the next, for each of rising thresholds.

    Slots that lie below or above all of them, which are most, are counted once.
    """
    low, high = _lowest_and_highest(edges_deg)
    always = np.add.reduceat((high < thresholds_deg[0]).astype(np.float64), first_slots)
    near = np.flatnonzero((high >= thresholds_deg[0]) & (low <= thresholds_deg[-1]))
    group = np.searchsorted(first_slots, near, side="right") - 1
    low, high = low[near], high[near]
    return [
        always + np.bincount(group, _share_below(low, high, threshold), minlength=len(first_slots))
        for threshold in thresholds_deg
    ]


def _lowest_and_highest(edges_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
    return np.minimum(edges_deg[:-1], edges_deg[1:]), np.maximum(edges_deg[:-1], edges_deg[1:])


def _share_below(low: FloatArray, high: FloatArray, threshold_deg: float) -> FloatArray:
    span = np.where(high > low, high - low, 1.0)
    share = np.where(high > low, (threshold_deg - low) / span, low < threshold_deg)
    return np.clip(share, 0.0, 1.0)
