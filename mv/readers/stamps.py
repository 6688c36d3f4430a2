"""A column of written stamps into numbers: days, seconds of the day and offsets, by position."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mv.readers.calendar_days import days_from_civil, full_year, valid_date
from mv.readers.stamp_shapes import Shape, shape_of
from mv.readers.stamp_words import ABBREVIATIONS, MONTHS, ZONES

DAY_SECONDS = 86_400


NO_OFFSET = np.int32(-(10**6))


MAX_SHAPES = 64  # more shapes than this in one column is not a time column; common practice, no source


@dataclass
class Stamps:
    """What a column says. Undecided day-month pairs keep their numbers until the order is known.

    `day` days since 1970 (0 where undecided), `second` of the day (86400 for 24:00), `offset`
    seconds east (NO_OFFSET: none written). `pair` holds (first, second, third) for rows whose
    order the shape does not say; third is a full year, or below 100 two digits of one.
    """

    readable: NDArray[np.bool_]
    day: NDArray[np.int32]
    second: NDArray[np.int32]
    offset: NDArray[np.int32] | None = None
    undecided: NDArray[np.bool_] | None = None
    pair: tuple[NDArray[np.int16], NDArray[np.int16], NDArray[np.int16]] | None = None
    has_date: bool = True
    has_clock: bool = True
    has_range: bool = False
    shapes: list[str] = field(default_factory=list)


def read_stamps(cells: NDArray[np.bytes_]) -> Stamps:
    """Read a column of stamps, shape by shape; what has no known shape is not readable."""
    count = len(cells)
    if count == 0 or cells.dtype.itemsize == 0:
        return Stamps(np.zeros(count, bool), np.zeros(count, np.int32), np.zeros(count, np.int32))
    return read_stamp_matrix(
        np.ascontiguousarray(np.ascontiguousarray(cells).view(np.uint8).reshape(count, -1).T)
    )


def read_stamp_matrix(matrix: NDArray[np.uint8]) -> Stamps:
    """As `read_stamps`, of characters laid out one row a character and one column a stamp."""
    count = matrix.shape[1]
    out = Stamps(np.zeros(count, bool), np.zeros(count, np.int32), np.zeros(count, np.int32))
    out.has_date = out.has_clock = False
    remaining: NDArray[np.intp] | None = None  # None: all rows
    for _ in range(MAX_SHAPES):
        if remaining is not None and len(remaining) == 0:
            break
        block = matrix if remaining is None else matrix[:, remaining]
        taken = _read_one_shape(block, remaining, out)
        rows = np.flatnonzero(~taken)
        remaining = rows if remaining is None else remaining[rows]
    return out


def _read_one_shape(
    block: NDArray[np.uint8], rows: NDArray[np.intp] | None, out: Stamps
) -> NDArray[np.bool_]:
    """Read the cells of `block` (one column a cell, one row a character) that share the first one's
    shape; returns which those are."""
    first = block[:, 0].tobytes().rstrip(b"\0")
    text = _shape_bytes(first)
    shape = shape_of(text.strip())
    lead = len(text) - len(text.lstrip())
    taken = _same_shape(block, text)
    if shape is None:
        return taken
    chosen: NDArray[np.intp] | slice
    if rows is None and taken.all():
        chosen, part = slice(None), block
    else:
        local = np.flatnonzero(taken)
        part = block[:, local]
        chosen = local if rows is None else rows[local]
    _fill(part, shape, lead, chosen, out)
    out.shapes.append(text.strip())
    return taken


_LUT = np.arange(256, dtype=np.uint8)


_LUT[48:58] = ord("0")


for _code in (*range(65, 91), *range(97, 123), *range(128, 256)):
    _LUT[_code] = ord("a")


_LUT[ord("T")], _LUT[ord("Z")], _LUT[9] = ord("T"), ord("Z"), ord(" ")


def _shape_bytes(cell: bytes) -> str:
    return _LUT[np.frombuffer(cell, dtype=np.uint8)].tobytes().decode("ascii")


def _same_shape(block: NDArray[np.uint8], text: str) -> NDArray[np.bool_]:
    same = np.ones(block.shape[1], dtype=bool)
    for column in range(min(len(text) + 1, block.shape[0])):
        cells = block[column]
        mark = text[column] if column < len(text) else "\0"
        if mark == "0":
            same &= (cells - np.uint8(48)) < 10
        elif mark in "aTZ ":
            same &= _LUT[cells] == ord(mark)
        else:
            same &= cells == ord(mark)
    return same


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


def _fill(
    part: NDArray[np.uint8], shape: Shape, lead: int, rows: NDArray[np.intp] | slice, out: Stamps
) -> None:
    spans = shape.parts
    good = np.ones(part.shape[1], dtype=bool)
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


def _month(word: str) -> int:
    from mv.readers.words import plain

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
        good &= np.array([hours is not None for hours in known])[where]
        offset += np.array([round(3600 * (hours or 0)) for hours in known], dtype=np.int32)[where]
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


def joined_stamps(parts: list[Stamps]) -> Stamps:
    """Several chunks of one column as one."""
    if len(parts) == 1:
        return parts[0]
    out = Stamps(
        np.concatenate([part.readable for part in parts]),
        np.concatenate([part.day for part in parts]),
        np.concatenate([part.second for part in parts]),
    )
    if any(part.offset is not None for part in parts):
        out.offset = np.concatenate(
            [p.offset if p.offset is not None else np.full(len(p.day), NO_OFFSET) for p in parts]
        )
    if any(part.pair is not None for part in parts):
        out.undecided = np.concatenate(
            [p.undecided if p.undecided is not None else np.zeros(len(p.day), bool) for p in parts]
        )
        empty = [np.zeros(len(p.day), np.int16) for p in parts]
        columns = [
            np.concatenate([p.pair[i] if p.pair else empty[n] for n, p in enumerate(parts)]) for i in range(3)
        ]
        out.pair = (columns[0], columns[1], columns[2])
    out.has_date = any(part.has_date for part in parts)
    out.has_clock = any(part.has_clock for part in parts)
    out.has_range = any(part.has_range for part in parts)
    out.shapes = list(dict.fromkeys(shape for part in parts for shape in part.shapes))
    return out
