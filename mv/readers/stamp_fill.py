"""The parts of stamps of one shape, taken out by position: date, clock, offset."""

import numpy as np
from numpy.typing import NDArray

from mv.readers.calendar_days import days_from_civil, full_year, valid_date
from mv.readers.stamp_record import DAY_SECONDS, NO_OFFSET, Stamps
from mv.readers.stamp_shapes import Shape
from mv.readers.stamp_words import ABBREVIATIONS, MONTHS, SHARED, WEEKDAYS, ZONES, shared_offset
from mv.readers.words import plain

FEWEST_WEEKDAYS = 5  # unknown words before the dates that are so many are the days of some language


def _number(part: NDArray[np.uint8], span: tuple[int, int], lead: int) -> NDArray[np.int32]:
    columns = list(range(span[0] + lead, span[1] + lead))
    value: NDArray[np.int32] | None = None
    weight = 100
    while columns:
        pair, columns = columns[-2:], columns[:-2]
        digits = part[pair[0]] - np.uint8(48)
        if len(pair) == 2:  # two digits fit a byte, which is quicker than wide integers
            digits = digits * np.uint8(10) + (part[pair[1]] - np.uint8(48))
        if value is None:
            value = digits.astype(np.int32)
        else:
            value += digits * np.int32(weight)
            weight *= 100
    assert value is not None
    return value


def _words(part: NDArray[np.uint8], span: tuple[int, int], lead: int) -> tuple[list[str], NDArray[np.intp]]:
    piece = np.ascontiguousarray(part[span[0] + lead : span[1] + lead].T)
    cells = piece.view(f"S{piece.shape[1]}").ravel()
    words, where = np.unique(cells, return_inverse=True)
    return [word.decode("utf-8", "replace").casefold() for word in words.tolist()], where


def fill_stamps(
    part: NDArray[np.uint8], shape: Shape, lead: int, rows: NDArray[np.intp] | slice, out: Stamps
) -> None:
    """Read the cells of `part` (one column a cell), which share a shape, into the rows of `out`."""
    spans = shape.parts
    good = np.ones(part.shape[1], dtype=bool)
    if "wd" in spans:
        good &= _are_weekdays(part, spans["wd"], lead)
    if shape.has_date:
        out.has_date = True
        good &= _fill_date(part, spans, lead, rows, out)
    if shape.has_clock:
        out.has_clock = True
        good &= _fill_clock(part, spans, lead, rows, out)
    if "rest" in spans:
        out.has_range = True
    out.readable[rows] = good


def _fill_date(
    part: NDArray[np.uint8],
    spans: dict[str, tuple[int, int]],
    lead: int,
    rows: NDArray[np.intp] | slice,
    out: Stamps,
) -> NDArray[np.bool_]:
    """Store the days, or the numbers of those whose order is open; says which are dates."""
    if "y8" in spans:
        return _fill_compact(part, spans["y8"], lead, rows, out)
    if "a" in spans:
        first, second = _number(part, spans["a"], lead), _number(part, spans["b"], lead)
        third = _number(part, spans.get("y") or spans["c"], lead)
        _keep_pair(rows, first, second, third, out)
        return np.ones(part.shape[1], dtype=bool)
    year = _number(part, spans.get("y") or spans["yy"], lead)
    if "yy" in spans:
        year = full_year(year)
    day = _number(part, spans["d"], lead)
    if "mon" in spans:
        words, where = _words(part, spans["mon"], lead)
        month = np.array([_month(word) for word in words], dtype=np.int32)[where]
    else:
        month = _number(part, spans["m"], lead)
    return keep_days(rows, year, month, day, out)


def keep_days(
    rows: NDArray[np.intp] | slice,
    year: NDArray[np.int32],
    month: NDArray[np.int32],
    day: NDArray[np.int32],
    out: Stamps,
) -> NDArray[np.bool_]:
    """Store the days of the dates and say which are dates; each run of one date is worked out once."""
    code = (year * 13 + month) * 100 + day
    first = np.flatnonzero(np.concatenate([[True], code[1:] != code[:-1]]))
    year, month, day = year[first], month[first], day[first]
    good = valid_date(year, month, day)
    days = np.where(good, days_from_civil(year, np.maximum(month, 1), day), 0)
    runs = np.diff(np.append(first, len(code)))
    out.day[rows] = np.repeat(days, runs)
    return np.repeat(good, runs)


def _are_weekdays(part: NDArray[np.uint8], span: tuple[int, int], lead: int) -> NDArray[np.bool_]:
    """Which of the words before the dates name a day of the week; "Exported" and the like do not."""
    words, where = _words(part, span, lead)
    known = [plain(word).strip("., ") in WEEKDAYS for word in words]
    if not any(known) and len(words) >= FEWEST_WEEKDAYS:
        return np.ones(part.shape[1], dtype=bool)
    return np.array(known, dtype=bool)[where]


def _month(word: str) -> int:
    return MONTHS.get(plain(word).strip("."), 0)


def _fill_compact(
    part: NDArray[np.uint8],
    span: tuple[int, int],
    lead: int,
    rows: NDArray[np.intp] | slice,
    out: Stamps,
) -> NDArray[np.bool_]:
    """Eight digits: year first where that makes dates of all rows, else a day-month pair."""
    start = span[0]
    year, month = _number(part, (start, start + 4), lead), _number(part, (start + 4, start + 6), lead)
    day = _number(part, (start + 6, start + 8), lead)
    good = valid_date(year, month, day)
    if good.mean() > 0.5:
        return keep_days(rows, year, month, day, out)
    first, second = _number(part, (start, start + 2), lead), _number(part, (start + 2, start + 4), lead)
    _keep_pair(rows, first, second, _number(part, (start + 4, start + 8), lead), out)
    return np.ones(part.shape[1], dtype=bool)


def _keep_pair(
    rows: NDArray[np.intp] | slice,
    first: NDArray[np.int32],
    second: NDArray[np.int32],
    third: NDArray[np.int32],
    out: Stamps,
) -> None:
    count = len(out.readable)
    if out.pair is None or out.undecided is None:
        out.pair = (np.zeros(count, np.int16), np.zeros(count, np.int16), np.zeros(count, np.int16))
        out.undecided = np.zeros(count, bool)
    for store, numbers in zip(out.pair, (first, second, third), strict=True):
        store[rows] = numbers
    out.undecided[rows] = True


def _fill_clock(
    part: NDArray[np.uint8],
    spans: dict[str, tuple[int, int]],
    lead: int,
    rows: NDArray[np.intp] | slice,
    out: Stamps,
) -> NDArray[np.bool_]:
    hour = _number(part, spans["H"], lead)
    good = np.ones(part.shape[1], dtype=bool)
    seconds = np.zeros(part.shape[1], dtype=np.int32)
    if "ap" in spans:
        words, where = _words(part, spans["ap"], lead)
        clean = [word.replace(".", "").replace(" ", "") for word in words]
        afternoon = np.array([word == "pm" for word in clean])[where]
        good &= np.array([word in ("am", "pm") for word in clean])[where] & (hour >= 1) & (hour <= 12)
        hour = hour % 12 + 12 * afternoon
    for name, factor in (("M", 60), ("S", 1)):
        if name in spans:
            number = _number(part, spans[name], lead)
            good &= number < 60 + (name == "S")
            seconds += number * factor
    seconds += hour * 3600
    good &= seconds <= DAY_SECONDS
    out.second[rows] = np.where(good, seconds, 0)
    if "zs" in spans or "zn" in spans:
        good &= _fill_offset(part, spans, lead, rows, out)
    return good


def _fill_offset(
    part: NDArray[np.uint8],
    spans: dict[str, tuple[int, int]],
    lead: int,
    rows: NDArray[np.intp] | slice,
    out: Stamps,
) -> NDArray[np.bool_]:
    good = np.ones(part.shape[1], dtype=bool)
    offset = np.zeros(part.shape[1], dtype=np.int32)
    if "zn" in spans:
        words, where = _words(part, spans["zn"], lead)
        known = [ZONES.get(word, ABBREVIATIONS.get(word)) for word in words]
        shared = [word in SHARED for word in words]
        good &= np.array([a or hours is not None for a, hours in zip(shared, known, strict=True)])[where]
        seconds = [
            shared_offset(word) if a else round(3600 * (hours or 0))
            for word, a, hours in zip(words, shared, known, strict=True)
        ]
        offset += np.array(seconds, dtype=np.int32)[where]
    suffix = "" if "zs" in spans else "2" if "zs2" in spans else None
    if suffix is not None:
        signs, where = _words(part, spans["zs" + suffix], lead)
        sign = np.array([-1 if mark == "-" else 1 for mark in signs], dtype=np.int32)[where]
        size = _number(part, spans["zh" + suffix], lead) * 3600
        if "zm" + suffix in spans:
            size += _number(part, spans["zm" + suffix], lead) * 60
        good &= size <= 15 * 3600
        offset += sign * size
    if out.offset is None:
        out.offset = np.full(len(out.readable), NO_OFFSET, dtype=np.int32)
    out.offset[rows] = offset
    return good
