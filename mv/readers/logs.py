"""Occupancy, weather and motion files: the same tables as meters, to series on the inner clock."""

from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.base.ledger import Remark
from mv.base.series import MotionLog, OccupancySeries, WeatherSeries
from mv.base.study_records import Occupancy, Weather, Zone
from mv.readers.meter import parse_file
from mv.readers.outside import outside_remarks, unquoted
from mv.readers.parsed import Parsed
from mv.readers.series_settle import Log, settle_logs
from mv.readers.source import files_of
from mv.readers.wanted import Wanted

FLICKER_SECONDS = 2.0  # an off this short between two ons is the sensor's re-trigger; no source
SILENCE_DAYS = 7  # a motion log without a change for longer is suspect; common practice, no source
TEMPERATURE_RANGE_C = (-70.0, 60.0)  # beyond the extremes on record at the ground (from memory)


def _log(patterns: tuple[str, ...], folder: Path, wanted: Wanted) -> Log:
    paths = files_of(patterns, folder, key=f"{wanted.table}, files")
    with unquoted(paths, folder):
        parsed: list[Parsed] = [found for path in paths for found in parse_file(path, wanted)]
        log = settle_logs(parsed, wanted)
    log.remarks += outside_remarks(paths, folder)
    return log


def read_motion(zone: Zone, folder: Path, site_timezone: str) -> MotionLog:
    """The motion changes of a zone's logs: 1 when motion starts, 0 when it ends.

    Repeated states are carried over; an off of up to FLICKER_SECONDS between two ons is dropped
    as flicker. The log is known from its first row to its last.
    """
    wanted = Wanted.of_motion(zone, site_timezone)
    log = _log(zone.motion, folder, wanted)
    known = np.isin(log.value, (0.0, 1.0))
    log.set_aside("not an on or off state", ~known)
    log.drop_repeats(keep_conflicts=True)
    if len(log.start) == 0:
        raise ReadingError("holds no motion changes", file=log.names[0], remedy="Check motion in the zone.")
    remarks = list(log.remarks)
    first, last = int(log.start[0]), int(log.start[-1])
    state = log.value.astype(np.int8)
    keep = _without_flicker(log.start, state)
    if (~keep).any():
        log.inferred["flicker"] = (
            f"{int((~keep).sum())} changes of an off of at most {FLICKER_SECONDS:g} s between two ons are "
            "left out"
        )
        log.set_aside("flicker", ~keep)
        state = state[keep]
    changed = np.concatenate([[True], np.diff(state) != 0])
    log.set_aside("repeats the state before", ~changed)
    remarks += _silences(log)
    stamps = _index(log.start)
    return MotionLog(
        zone=zone.id,
        state=pd.Series(state[changed], index=stamps, name="state"),
        known_from=_moment(first),
        known_to=_moment(last),
        ledger=log.ledger(zone.id, tuple(remarks)),
    )


def _without_flicker(start: NDArray[np.int64], state: NDArray[np.int8]) -> NDArray[np.bool_]:
    keep = np.ones(len(start), dtype=bool)
    if len(start) < 3:
        return keep
    short = (state[1:-1] == 0) & (state[:-2] == 1) & (state[2:] == 1)
    short &= (start[2:] - start[1:-1]) <= FLICKER_SECONDS
    rows = np.flatnonzero(short) + 1
    keep[rows] = False
    keep[rows + 1] = False
    return keep


def _silences(log: Log) -> list[Remark]:
    gaps = np.diff(log.start)
    long = np.flatnonzero(gaps > SILENCE_DAYS * 86_400)
    if len(long) == 0:
        return []
    row = int(long[0])
    return [
        Remark(
            "long-silence",
            f"{len(long)} time(s) no motion change for over {SILENCE_DAYS} days, the first from "
            f"{_moment(int(log.start[row])):%Y-%m-%d}",
            file=log.names[0],
            remedy="Check the sensor's battery and place; a closed building is silent too.",
        )
    ]


def read_occupancy(occupancy: Occupancy, folder: Path, site_timezone: str) -> OccupancySeries:
    """How occupied the site was. What is measured is as stated, or told from the numbers:

    only 0 and 1 at irregular times are motion changes, numbers from 0 to 1 with parts are a
    fraction, whole numbers above 1 are a count.
    """
    wanted = Wanted.of_occupancy(occupancy, site_timezone)
    log = _log(occupancy.files, folder, wanted)
    log.drop_repeats()
    _refuse_empty(log, "[occupancy]")
    measures = occupancy.measures or _measures(log)
    if (measures == "fraction" and log.unit == "%") or (
        measures == "fraction" and float(log.value.max()) > 1.5
    ):
        log.value = log.value / 100.0 if log.unit != "%" else log.value
        log.inferred["scale"] = "per cent, divided by 100"
    if measures == "motion" and log.interval_seconds_regular is None:
        index, values, minutes = _motion_fractions(log)
    else:
        index, values, minutes = _regular(log)
    return OccupancySeries(
        measures=measures,
        interval_minutes=minutes,
        value=pd.Series(values, index=index, name="occupancy"),
        ledger=log.ledger("occupancy", tuple(log.remarks)),
    )


def _refuse_empty(log: Log, table: str) -> None:
    if len(log.start) == 0:
        raise ReadingError(
            "holds no usable row: all share their moments with rows of other values",
            file=log.names[0],
            remedy=f"Check time_column and value_column in {table}.",
        )


def _measures(log: Log) -> str:
    values = log.value
    whole = bool((values == np.floor(values)).all())
    if whole and values.max() <= 1.0:
        measures = "motion" if log.interval_seconds_regular is None else "fraction"
        log.inferred["measures"] = f"{measures}: only 0 and 1 occur" + (
            " at irregular times" if measures == "motion" else " at regular times"
        )
        return measures
    if log.unit == "%":
        log.inferred["measures"] = "fraction: the heading says per cent"
        return "fraction"
    if values.max() <= 1.0 and values.min() >= 0:
        log.inferred["measures"] = "fraction: all numbers lie between 0 and 1"
        return "fraction"
    if whole and values.min() >= 0:
        log.inferred["measures"] = "count: whole numbers above 1 occur"
        return "count"
    raise ReadingError(
        "the occupancy may be a fraction, a per cent or a count",
        file=log.names[0],
        value=f"{values.min():g} to {values.max():g}",
        remedy='Set measures in [occupancy] to "fraction", "count" or "motion".',
    )


MOTION_GRID_SECONDS = 300


def _motion_fractions(log: Log) -> tuple[pd.DatetimeIndex, NDArray[np.float64], float]:
    """Motion changes as the fraction of each five minutes with motion."""
    first = int(log.start[0]) // MOTION_GRID_SECONDS * MOTION_GRID_SECONDS
    count = (int(log.start[-1]) - first) // MOTION_GRID_SECONDS + 1
    _check_span(count, log)
    edges = first + MOTION_GRID_SECONDS * np.arange(count + 1, dtype=np.int64)
    held = np.diff(log.start, append=log.start[-1:])
    on = np.concatenate([[0.0], np.cumsum(held * (log.value > 0))])
    times = np.append(log.start, log.start[-1])
    filled = np.interp(edges, times, on)
    fraction = np.clip(np.diff(filled) / MOTION_GRID_SECONDS, 0.0, 1.0)
    return _index(edges[:-1]), fraction, MOTION_GRID_SECONDS / 60.0


def _regular(log: Log) -> tuple[pd.DatetimeIndex, NDArray[np.float64], float]:
    """The values on their own regular grid; what falls between is meaned into its interval."""
    step = log.interval_seconds_regular or 3600
    first = int(log.start[0]) - (0 if log.on_grid(step) else int(log.start[0]) % step)
    place = (log.start - first) // step
    count = int(place[-1]) + 1
    _check_span(count, log)
    sums = np.bincount(place, log.value, count)
    numbers = np.bincount(place, minlength=count)
    with np.errstate(invalid="ignore"):
        values = sums / np.where(numbers == 0, np.nan, numbers)
    return _index(first + step * np.arange(count, dtype=np.int64)), values, step / 60.0


def _check_span(count: int, log: Log) -> None:
    if count > 60_000_000:
        raise ReadingError(
            "the first and last stamp lie too far apart",
            file=log.names[0],
            value=f"{_moment(int(log.start[0]))} to {_moment(int(log.start[-1]))}",
            remedy="Check the dates in the file.",
        )


def read_weather(weather: Weather, folder: Path, site_timezone: str) -> WeatherSeries:
    """Outdoor temperature in degrees Celsius; Fahrenheit and kelvin are converted."""
    wanted = Wanted.of_weather(weather, site_timezone)
    log = _log(weather.files, folder, wanted)
    unit = weather.unit or log.unit
    if unit not in ("C", "F", "K"):
        unit = _temperature_unit(log)
    if unit == "F":
        log.value = (log.value - 32.0) / 1.8
    elif unit == "K":
        log.value = log.value - 273.15
    log.inferred.setdefault(
        "unit", f"{unit}, from the heading" if not weather.unit else f"{unit}, as the study states"
    )
    low, high = TEMPERATURE_RANGE_C
    log.set_aside("no possible outdoor temperature", (log.value < low) | (log.value > high))
    log.drop_repeats()
    if len(log.start) == 0:
        raise ReadingError(
            "holds no possible outdoor temperature",
            file=log.names[0],
            remedy="Check unit and value_column in [weather].",
        )
    index, values, minutes = _regular(log)
    return WeatherSeries(
        interval_minutes=minutes,
        temperature_c=pd.Series(values, index=index, name="temperature_c"),
        ledger=log.ledger("weather", tuple(log.remarks)),
    )


def _temperature_unit(log: Log) -> str:
    """Where only one unit makes the numbers outdoor temperatures, it is that one."""
    low, high = (float(np.quantile(log.value, share)) for share in (0.01, 0.99))
    if low > 200:
        log.inferred["unit"] = f"K: the numbers lie near {low:.0f} to {high:.0f}"
        return "K"
    if high > 60:
        log.inferred["unit"] = f"F: the numbers reach {high:.0f}"
        return "F"
    if low < -30 and high < 45:
        log.inferred["unit"] = f"C: the numbers lie between {low:.0f} and {high:.0f}"
        return "C"
    raise ReadingError(
        "nothing says whether the temperatures are Celsius or Fahrenheit",
        file=log.names[0],
        value=f"{low:.0f} to {high:.0f}",
        remedy='Set unit in [weather] to "C" or "F".',
    )


def _index(start: NDArray[np.int64]) -> pd.DatetimeIndex:
    return pd.DatetimeIndex(start.astype("datetime64[s]").astype("datetime64[us]")).tz_localize("UTC")


def _moment(second: int) -> pd.Timestamp:
    return pd.Timestamp(second, unit="s", tz="UTC")
