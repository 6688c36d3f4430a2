"""Where the sun stands over the site, and for how long it stands below a given elevation."""

import warnings
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pandas as pd

FloatArray = npt.NDArray[np.float64]

# Elevation of the sun's centre, without refraction, when its upper limb touches a level horizon:
# 34' of refraction and 16' of radius (US Naval Observatory's definition of sunrise and sunset).
SUNRISE_ELEVATION_DEG = -0.833


def sun_elevation_deg(instants: pd.DatetimeIndex, latitude: float, longitude: float) -> FloatArray:
    """Geometric elevation of the sun's centre (no refraction), degrees, at each UTC instant.

    Source: pvlib's `ephemeris` (Sandia's algorithm), within 0.02 degrees of NREL's SPA from 1950
    to 2050. Valid at every latitude; `latitude` north positive, `longitude` east positive.
    """
    from pvlib.solarposition import ephemeris

    if len(instants) == 0:
        return np.empty(0)
    with warnings.catch_warnings():  # pvlib still asks pandas 3 for names due to leave in pandas 4
        warnings.simplefilter("ignore", DeprecationWarning)
        position = ephemeris(instants, latitude, longitude)
    return np.asarray(position["elevation"], dtype=np.float64)


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
    low = np.minimum(edges_deg[:-1], edges_deg[1:])
    high = np.maximum(edges_deg[:-1], edges_deg[1:])
    span = np.where(high > low, high - low, 1.0)
    share = np.where(high > low, (threshold_deg - low) / span, low < threshold_deg)
    return np.clip(share, 0.0, 1.0)
