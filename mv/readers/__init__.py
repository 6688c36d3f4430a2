"""Files to raw readings: meters, motion logs, occupancy and weather, whatever their layout."""

from mv.readers.choice import ChoiceError
from mv.readers.logs import read_motion, read_occupancy, read_weather
from mv.readers.meter import read_meter
from mv.readers.query import fetch_query
from mv.readers.source import files_of

__all__ = [
    "ChoiceError",
    "fetch_query",
    "files_of",
    "read_meter",
    "read_motion",
    "read_occupancy",
    "read_weather",
]
