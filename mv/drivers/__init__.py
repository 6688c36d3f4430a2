"""What lighting energy depends on: calendar, opening hours, sun, occupancy and weather."""

from mv.drivers.daily import daily_drivers
from mv.drivers.grid import NIGHT_ELEVATIONS_DEG, night_hours_column
from mv.drivers.hourly import hourly_drivers
from mv.drivers.intervals import interval_conditions
from mv.drivers.opening import open_fraction, opening_hours, opening_hours_known
from mv.drivers.sun import SUNRISE_ELEVATION_DEG, fraction_below, sun_elevation_deg
from mv.drivers.typical import typical_year

__all__ = [
    "NIGHT_ELEVATIONS_DEG",
    "SUNRISE_ELEVATION_DEG",
    "daily_drivers",
    "fraction_below",
    "hourly_drivers",
    "interval_conditions",
    "night_hours_column",
    "open_fraction",
    "opening_hours",
    "opening_hours_known",
    "sun_elevation_deg",
    "typical_year",
]
