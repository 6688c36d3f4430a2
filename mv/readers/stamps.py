"""A column of written stamps into numbers: days, seconds of the day and offsets, by position."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.readers.stamp_shapes import Shape, shape_of

DAY_SECONDS = 86_400
NO_OFFSET = np.int32(-(10**6))
MAX_SHAPES = 64  # more shapes than this in one column is not a time column; common practice, no source
YEARS = (1970, 2200)  # a stamp outside is not a meter reading; common practice, no source
_PIVOT_YEAR = 70  # two-digit years from 70 are 19xx; POSIX strptime's %y rule uses 69
_MONTHS = {
    1: "jan january janvier janv januar januari enero ene gennaio gen janeiro jaenner",
    2: "feb february fevrier fev fevr februar februari febrero febbraio fevereiro",
    3: "mar march mars marz maerz mrt maart marzo marco mrz",
    4: "apr april avril avr abril abr aprile",
    5: "may mai mei mayo maggio mag maj maio",
    6: "jun june juin juni junio giugno giu junho",
    7: "jul july juillet juil juli julio luglio lug julho",
    8: "aug august aout augustus agosto ago agustus",
    9: "sep september sept septembre septiembre settembre set setembro",
    10: "oct october octobre oktober okt octubre ottobre ott outubro out",
    11: "nov november novembre noviembre novembro",
    12: "dec december decembre dezember dez dic diciembre dicembre desember des dezembro",
}
MONTHS = {word: number for number, words in _MONTHS.items() for word in words.split()}
ZONES = {"z": 0, "utc": 0, "gmt": 0, "ut": 0, "wet": 0}
ABBREVIATIONS = {  # hours east; only those whose meaning is not shared by two regions' civil time
    "est": -5, "edt": -4, "cdt": -5, "mst": -7, "mdt": -6, "pst": -8, "pdt": -7, "akst": -9, "akdt": -8,
    "hst": -10, "cet": 1, "mez": 1, "cest": 2, "mesz": 2, "eet": 2, "eest": 3, "bst": 1, "west": 1,
    "aest": 10, "aedt": 11, "acst": 9.5, "acdt": 10.5, "awst": 8, "nzst": 12, "nzdt": 13,
    "jst": 9, "kst": 9, "sgt": 8,
    "hkt": 8,
}  # fmt: skip


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


def days_from_civil(
    year: NDArray[np.int32], month: NDArray[np.int32], day: NDArray[np.int32]
) -> NDArray[np.int32]:
    """Days since 1970-01-01 of Gregorian dates; month 1..12.

    Source: the standard era-based day count of the proleptic Gregorian calendar (from memory);
    checked in tests against Python's own calendar.
    """
    y = year - (month <= 2)
    era_year = y + 4800
    shifted = (month + 9) % 12
    day_of_year = (153 * shifted + 2) // 5 + day - 1
    days = era_year * 365 + era_year // 4 - era_year // 100 + era_year // 400 + day_of_year
    return (days - 2_472_632).astype(np.int32)


_MONTH_DAYS = np.array([0, 31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31], dtype=np.int32)


def valid_date(
    year: NDArray[np.int32], month: NDArray[np.int32], day: NDArray[np.int32]
) -> NDArray[np.bool_]:
    """True where the three numbers are a date of the Gregorian calendar within YEARS."""
    good = (year >= YEARS[0]) & (year < YEARS[1]) & (month >= 1) & (month <= 12) & (day >= 1)
    good &= day <= _MONTH_DAYS[np.where(good, month, 0)]
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    good &= (month != 2) | (day < 29) | leap
    return good


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
    return _keep_days(rows, year, month, day, out)


def _keep_days(
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


def full_year(two_digits: NDArray[np.int32]) -> NDArray[np.int32]:
    """The four-digit year two digits stand for."""
    return two_digits + np.where(two_digits >= _PIVOT_YEAR, 1900, 2000).astype(np.int32)


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
        return _keep_days(rows, year, month, day, out)
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


def settle_pairs(stamps: Stamps, order: str) -> None:
    """Give undecided rows their day under the order named ("day first", "month first", "year first")."""
    if stamps.undecided is None or stamps.pair is None:
        return
    rows = stamps.undecided
    first, second, third = (part[rows].astype(np.int32) for part in stamps.pair)
    if order == "year first":
        year, month, day = full_year(first), second, third
    else:
        day, month = (first, second) if order == "day first" else (second, first)
        year = np.where(third < 100, full_year(third), third)
    stamps.readable[rows] &= _keep_days(np.flatnonzero(rows), year, month, day, stamps)
    stamps.undecided = None
    stamps.pair = None


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


def order_of_pairs(stamps: Stamps) -> tuple[str, str] | None:
    """Day first, month first or year first, with the evidence; None where the column cannot tell.

    The numbers decide where one exceeds 12. Else the run of days does: under the right order
    consecutive rows are mostly of the same or the next day, under the wrong one they leap by months.
    Raises ReadingError where the column holds both orders.
    """
    if stamps.undecided is None or stamps.pair is None or not stamps.undecided.any():
        return None
    first, second, third = (part[stamps.undecided] for part in stamps.pair)
    if (third < 100).all() and (first > 31).any():
        return "year first", f"the first number reaches {int(first.max())}"
    if (third < 100).all() and _runs_year_first(first, second, third):
        return "year first", "read so the days follow one another"
    day_first, month_first = bool((first > 12).any()), bool((second > 12).any())
    if day_first and month_first:
        raise ReadingError(
            "the dates are day-first in some rows and month-first in others",
            value=f"{_pair_text(first, second, third, first > 12)} and "
            f"{_pair_text(first, second, third, second > 12)}",
            remedy="Split the file where the date order changes, one file an order, "
            "or give the lines of one order as their own meter with date_order set.",
        )
    if day_first:
        return "day first", f"{_pair_text(first, second, third, first > 12)} can only be day first"
    if month_first:
        return "month first", f"{_pair_text(first, second, third, second > 12)} can only be month first"
    return _order_by_run(first, second, third)


def _runs_year_first(first: NDArray[np.int16], second: NDArray[np.int16], third: NDArray[np.int16]) -> bool:
    """Two-digit years in front: the last number then runs through the days."""
    numbers = [part.astype(np.int32) for part in (first, second, third)]
    years = full_year(numbers[0])
    if not valid_date(years, numbers[1], numbers[2]).all() or len(np.unique(numbers[2])) < 3:
        return False
    steps = np.abs(np.diff(days_from_civil(years, numbers[1], numbers[2])))
    steps = steps[steps > 0]
    return len(np.unique(numbers[0])) <= 3 and len(steps) >= 2 and float((steps > 1).mean()) <= 0.2


def _order_by_run(
    first: NDArray[np.int16], second: NDArray[np.int16], third: NDArray[np.int16]
) -> tuple[str, str] | None:
    year = np.where(third < 100, full_year(third.astype(np.int32)), third.astype(np.int32))
    numbers = first.astype(np.int32), second.astype(np.int32)
    leaps = {}
    for order, (day, month) in {"day first": numbers, "month first": numbers[::-1]}.items():
        if not valid_date(year, month, day).all():
            continue
        steps = np.abs(np.diff(days_from_civil(year, month, day)))
        steps = steps[steps > 0]
        if len(steps) < 2:
            return None
        leaps[order] = float((steps > 1).mean())
    if len(leaps) == 2:
        good, bad = sorted(leaps, key=lambda order: leaps[order])
        if leaps[good] <= 0.2 and leaps[bad] >= 0.6:  # common practice, no source
            return good, f"read so the days follow one another; {bad} they would leap by months"
    return None


def _pair_text(
    first: NDArray[np.int16], second: NDArray[np.int16], third: NDArray[np.int16], where: NDArray[np.bool_]
) -> str:
    row = int(np.argmax(where))
    return f"{first[row]:02d}/{second[row]:02d}/{third[row]:02d}"
