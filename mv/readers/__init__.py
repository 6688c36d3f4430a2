"""Files to raw readings: meters, motion logs, occupancy and weather, whatever their layout."""

from mv.readers.choice import ChoiceError
from mv.readers.logs import read_motion, read_occupancy, read_weather
from mv.readers.meter import read_meter
from mv.readers.query import fetch_query
from mv.readers.source import files_of
from mv.readers.zone_names import SHARED_NAME

__all__ = [
    "SHARED_NAME",
    "ChoiceError",
    "fetch_query",
    "files_of",
    "read_meter",
    "read_motion",
    "read_occupancy",
    "read_weather",
]
