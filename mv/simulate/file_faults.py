"""Faults of recording and of files, put in as they really occur."""

from collections.abc import Callable

import numpy as np

from mv.simulate.arrays import Ints
from mv.simulate.meter import FaultKind, FileFault, MeterDesign, Readings


def with_faults(readings: Readings, meter: MeterDesign, timezone: str) -> Readings:
    """The readings after every fault of the meter's design, duplicates last."""
    ordered = sorted(meter.faults, key=lambda fault: (fault.kind == "duplicate", fault.when))
    for fault in ordered:
        readings = _FAULTS[fault.kind](readings, fault, _rows(readings, fault, timezone))
    return readings


def _rows(readings: Readings, fault: FileFault, timezone: str) -> Ints:
    wall = readings.stamps.tz_convert(timezone).tz_localize(None)
    begin = np.datetime64(fault.when)
    end = begin + np.timedelta64(max(fault.minutes, 1), "m")
    inside = (wall.to_numpy() >= begin) & (wall.to_numpy() < end)
    return np.flatnonzero(inside).astype(np.int64)


def _without(readings: Readings, rows: Ints) -> Readings:
    keep = np.ones(len(readings.values), dtype=np.bool_)
    keep[rows] = False
    return readings.chosen(keep)


def _gap(readings: Readings, fault: FileFault, rows: Ints) -> Readings:
    return _without(readings, rows)


def _lump(readings: Readings, fault: FileFault, rows: Ints) -> Readings:
    """Communication lost: the readings are missing and the first one after holds all their energy."""
    values = readings.values.copy()
    if len(rows) and rows[-1] + 1 < len(values):
        values[rows[-1] + 1] += values[rows].sum()
    return _without(Readings(readings.stamps, values), rows)


def _spike(readings: Readings, fault: FileFault, rows: Ints) -> Readings:
    values = readings.values.copy()
    values[rows[:1]] = np.maximum(values[rows[:1]], np.median(values)) * fault.size
    return Readings(readings.stamps, values)


def _text(readings: Readings, fault: FileFault, rows: Ints) -> Readings:
    values = readings.values.copy()
    values[rows] = np.nan
    return Readings(readings.stamps, values)


def _clock(readings: Readings, fault: FileFault, rows: Ints) -> Readings:
    """The recorder's clock is wrong for a while."""
    late = np.zeros(len(readings.values), dtype="timedelta64[s]")
    late[rows] = np.timedelta64(round(fault.size * 60), "s")
    return Readings(readings.stamps + late, readings.values)


def _duplicate(readings: Readings, fault: FileFault, rows: Ints) -> Readings:
    """A block of rows uploaded twice: the same rows again, right after."""
    after = int(rows[-1]) + 1 if len(rows) else 0
    order = np.concatenate([np.arange(after), rows, np.arange(after, len(readings.values))])
    return readings.chosen(order)


_FAULTS: dict[FaultKind, Callable[[Readings, FileFault, Ints], Readings]] = {
    "gap": _gap,
    "lump": _lump,
    "spike": _spike,
    "text": _text,
    "clock": _clock,
    "duplicate": _duplicate,
}
