"""The time columns of a table as stamps, whatever form they are written in."""

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mv.readers.roles import TimeColumns
from mv.readers.stamp_record import DAY_SECONDS, EPOCH_SHAPE, Stamps
from mv.readers.stamps import read_stamps

_DAYS_TO_1970 = 25_569  # spreadsheet serial of 1970-01-01 in the 1900 date system


def _fill_down(date: Stamps, clock: Stamps, cells: NDArray[Any]) -> None:
    """A report may write the date once and leave it out on the rows below: there it is the same."""
    if cells.dtype.kind != "S":
        return
    empty = (first_bytes(cells) == 0) & clock.readable
    if not empty.any() or not date.readable.any():
        return
    last = np.maximum.accumulate(np.where(date.readable, np.arange(len(cells)), -1))
    rows = np.flatnonzero(empty & (last >= 0))
    source = last[rows]
    date.day[rows] = date.day[source]
    date.readable[rows] = True
    if date.undecided is not None and date.pair is not None:
        date.undecided[rows] = date.undecided[source]
        for part in date.pair:
            part[rows] = part[source]


def first_bytes(cells: NDArray[Any]) -> NDArray[np.uint8]:
    if len(cells) == 0:
        return np.zeros(0, np.uint8)
    return cells.view(np.uint8).reshape(len(cells), -1)[:, 0]


def moments(frame: pd.DataFrame, time: TimeColumns) -> Stamps:
    if time.form in ("epoch", "serial"):
        return instants(pd.to_numeric(frame[time.date], errors="coerce").to_numpy(float), time.form)
    date = read_stamps(_bare(frame[time.date].to_numpy()))
    if time.clock is None:
        return date
    if time.form in ("hour", "hhmm", "hhmmss"):
        numbers = pd.to_numeric(frame[time.clock], errors="coerce").to_numpy(float)
        clock = hours_of_day(numbers, form=time.form)
    else:
        clock = read_stamps(_bare(frame[time.clock].to_numpy()))
    _fill_down(date, clock, frame[time.date].to_numpy())
    date.second = np.where(clock.readable, clock.second, 0).astype(np.int32)
    date.readable &= clock.readable
    date.has_clock = True
    date.has_range = clock.has_range
    date.offset = clock.offset if clock.offset is not None else date.offset
    date.shapes += clock.shapes
    return date


def _bare(cells: NDArray[Any]) -> NDArray[np.bytes_]:
    """Cells without quotes, = guards and outer blanks; cheap where there are none."""
    if cells.dtype.kind != "S":
        return np.array([str(cell).encode() for cell in cells.tolist()], dtype="S90")
    if len(cells) == 0:
        return cells
    first = first_bytes(cells)
    if (first > 47).all() and not any(mark in cells[0] for mark in b'"=\xc2'):
        return cells
    stripped = np.char.strip(cells, b" \t\"'=")
    return np.char.replace(stripped, b"\xc2\xa0", b" ")


def instants(numbers: NDArray[np.float64], form: str) -> Stamps:
    """Epoch numbers (seconds to microseconds) as UTC stamps, or spreadsheet serials as wall-clock ones."""
    good = np.isfinite(numbers)
    filled = np.where(good, numbers, 0.0)
    if form == "epoch":
        size = np.nanmedian(np.abs(numbers[good])) if good.any() else 0.0
        scale = 10.0 ** (3 * round(max(np.log10(max(size, 1.0)) - 9.2, 0) / 3))
        seconds = np.floor(filled / scale + 1e-6)
    else:
        seconds = np.round((filled - _DAYS_TO_1970) * DAY_SECONDS)
    good &= (seconds > 0) & (seconds < 7.2e9)
    whole = np.where(good, seconds, 0).astype(np.int64)
    offset = np.zeros(len(whole), np.int32) if form == "epoch" else None
    day = (whole // DAY_SECONDS).astype(np.int32)
    stamps = Stamps(good, day, (whole % DAY_SECONDS).astype(np.int32), offset)
    stamps.shapes.append(EPOCH_SHAPE if form == "epoch" else "spreadsheet day numbers")
    return stamps


def hours_of_day(numbers: NDArray[np.float64], *, form: str) -> Stamps:
    """Hour numbers, or clocks written 15 for 00:15 and 2400; the unit stays hours for `ordinal` columns."""
    greatest = 240_000 if form == "hhmmss" else 2400
    good = np.isfinite(numbers) & (numbers >= 0) & (numbers <= greatest) & (numbers == np.floor(numbers))
    whole = np.where(good, numbers, 0).astype(np.int32)
    seconds = whole % 100 if form == "hhmmss" else np.zeros_like(whole)
    if form == "hhmmss":
        whole = whole // 100
    if form != "hour" or (good.any() and whole.max() > 100):
        good &= (whole % 100 < 60) & (seconds < 60)
        second = (whole // 100) * 3600 + (whole % 100) * 60 + seconds
    else:
        second = whole * 3600
    return Stamps(good, np.zeros(len(whole), np.int32), second.astype(np.int32), shapes=["hour number"])
