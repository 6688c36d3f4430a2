"""How a delimited text is laid out: separator, preamble, heading, unit row and first body line."""

import csv
import re
from collections import Counter
from dataclasses import dataclass, field

from mv.readers.stamp_shapes import shape_of, shape_text
from mv.readers.unit_names import unit_of
from mv.readers.words import NO_VALUE_WORDS, OFF, ON, plain

SAMPLE_LINES = 400
FIRST_LINES = 40
_NUMBER = re.compile(
    r"^[-+]?(?:\d{1,3}(?:[ .,'’\u00a0\u202f]\d{3})+|\d+)?(?:[.,]\d*)?(?:[eE][-+]?\d{1,3})?-?$"
)
_DELIMITERS = (";", "\t", "|", ",")
WHITESPACE = r"\s+"
WIDE_LABELS = 20  # this many time-of-day headings make a one-row-a-day table; hourly has 24


@dataclass(frozen=True)
class Layout:
    """`body_line` is the 1-based line of the first reading; `header` names one cell a column."""

    delimiter: str
    header: list[str]
    units: list[str]
    body_line: int
    width: int
    quoted: bool
    rows: list[list[str]]
    kinds: list[list[str]]
    preamble: list[list[str]] = field(default_factory=list)
    header_line: int | None = None


def cell_kind(cell: str) -> str:
    """blank, number, epoch, stamp, date, clock, state or word, by the cell alone."""
    text = cell.strip().strip("\"'").removeprefix("=").strip("\"' \u00a0")
    if not text:
        return "blank"
    numeric = (text[0].isdigit() or text[0] in "+-.,") and len(text) < 40 and _NUMBER.match(text)
    if numeric and any(mark.isdigit() for mark in text):
        return "epoch" if _epoch_like(text) else "number"
    shape = shape_of(shape_text(text)) if len(text) <= 80 else None
    if shape is not None:
        if shape.has_date:
            return "stamp" if shape.has_clock else "date"
        return "clock"
    word = plain(text)
    if NO_VALUE_WORDS.match(word):
        return "blank"
    if number_with_unit(text):
        return "number"
    return "state" if ON.match(word) or OFF.match(word) else "word"


_WITH_UNIT = re.compile(r"^([-+]?[\d.,]+)\s*([A-Za-z°%][A-Za-z·²³]{0,9})$")


def number_with_unit(text: str) -> tuple[str, str] | None:
    """The number and the unit of a cell such as "1.5 kWh"; None where it is no such cell."""
    match = _WITH_UNIT.match(text.strip())
    if match and any(mark.isdigit() for mark in match.group(1)) and unit_of(match.group(2)):
        return match.group(1), match.group(2)
    return None


def _epoch_like(text: str) -> bool:
    """Digits that may be a time: epoch seconds to microseconds, or year to minute run together."""
    whole = re.sub(r"[.,]0*$", "", text)
    if not whole.isdigit():
        return False
    if len(whole) in (8, 12, 14) and 1970 <= int(whole[:4]) < 2200 and 1 <= int(whole[4:6]) <= 12:
        return 1 <= int(whole[6:8]) <= 31
    return len(whole) in (10, 13, 16) and 3e8 < int(whole) / 10 ** (len(whole) - 10) < 4.2e9


def split_line(line: str, delimiter: str) -> list[str]:
    """The cells of one line, outer quotes taken off; never joins lines."""
    if delimiter == WHITESPACE:
        return line.split()
    if '"' not in line:
        return [cell.strip() for cell in line.split(delimiter)]
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter), [])]
    except csv.Error:
        return [cell.strip() for cell in line.split(delimiter)]


def is_data_row(kinds: list[str]) -> bool:
    """A row with a time and something measured beside it."""
    clocks, numbers, epochs = kinds.count("clock"), kinds.count("number"), kinds.count("epoch")
    if clocks > 3 and clocks > numbers:
        return False  # a heading of times of day
    if not (clocks or epochs or "stamp" in kinds or "date" in kinds):
        return False
    return bool(numbers or epochs > 1 or "state" in kinds or "blank" in kinds)


def lines_of(text: str, *, complete: bool) -> list[str]:
    """The first lines of a text; the last is dropped where the text was cut."""
    even = text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text
    lines = even.split("\n", SAMPLE_LINES)
    if len(lines) > SAMPLE_LINES or (not complete and len(lines) > 1):
        lines.pop()
    return lines


def find_layout(lines: list[str]) -> Layout | None:
    """The layout that makes the most lines readings; None where no separator makes any.

    A few lines tell most files; a longer look is taken where they do not.
    """
    short = _best_layout(lines[:FIRST_LINES])
    if short is not None and (len(lines) <= FIRST_LINES or len(short.rows) >= FIRST_LINES // 2):
        return short
    return _best_layout(lines) if len(lines) > FIRST_LINES else short


def _best_layout(lines: list[str]) -> Layout | None:
    best: tuple[tuple[int, int, int], Layout] | None = None
    candidates = [mark for mark in _DELIMITERS if any(mark in line for line in lines)]
    for rank, delimiter in enumerate([*candidates, WHITESPACE]):
        if delimiter == WHITESPACE and best is not None:
            break
        layout = _layout_with(lines, delimiter)
        if layout is None:
            continue
        good = sum(is_data_row(kinds) for kinds in layout.kinds) or 1
        score = (good, -rank, layout.width)
        if best is None or score > best[0]:
            best = (score, layout)
    return best[1] if best else None


def _layout_with(lines: list[str], delimiter: str) -> Layout | None:
    rows = [split_line(line, delimiter) for line in lines]
    kinds = [[cell_kind(cell) for cell in row] for row in rows]
    data = [number for number, kind in enumerate(kinds) if len(kind) > 1 and is_data_row(kind)]
    data = _below_dated_notes(kinds, data) or _serial_rows(rows, kinds)
    if not data:
        return None
    modal = Counter(len(rows[number]) for number in data).most_common(1)[0][0]
    first = next(number for number in data if len(rows[number]) == modal)
    first = _before_odd_width(rows, data, first)
    first = _before_unset_clock(rows, kinds, first)
    width = max(len(rows[number]) for number in data if number >= first)
    header_row, unit_row = _heading_above(rows, kinds, first)
    header = rows[header_row] if header_row is not None else []
    width = max(width, len(header))
    names = [_clean(cell) for cell in header] + [""] * (width - len(header))
    names = [name or f"column {number}" for number, name in enumerate(names, 1)]
    units = [_clean(cell) for cell in rows[unit_row]] if unit_row is not None else []
    top = header_row if header_row is not None else first
    return Layout(
        delimiter=delimiter,
        header=names,
        units=units + [""] * (width - len(units)),
        body_line=first + 1,
        width=width,
        quoted=any('"' in line for line in lines[first:]),
        rows=[row for row in rows[first:] if any(row)],
        kinds=[kind for row, kind in zip(rows[first:], kinds[first:], strict=True) if any(row)],
        preamble=[row for row in rows[:top] if any(row)],
        header_line=None if header_row is None else header_row + 1,
    )


def _below_dated_notes(kinds: list[list[str]], data: list[int]) -> list[int]:
    """Without notes above a heading that hold a date and blank cells, such as "Started:;2024-02-01;"."""
    notes = 0
    while notes < len(data) and "word" in kinds[data[notes]] and "number" not in kinds[data[notes]]:
        notes += 1
    if not 0 < notes < len(data):
        return data
    heading = set(kinds[data[notes - 1] + 1]) <= {"word", "blank"}
    return data[notes:] if heading else data


SERIAL_DAYS = (20_000.0, 75_000.0)  # spreadsheet day numbers of 1954 to 2105


def _serial_rows(rows: list[list[str]], kinds: list[list[str]]) -> list[int]:
    """Rows of numbers alone whose first may be a spreadsheet's day number."""
    found = []
    for number, (row, kind) in enumerate(zip(rows, kinds, strict=True)):
        if len(kind) > 1 and kind[0] == "number" and set(kind) <= {"number", "blank", "epoch"}:
            try:
                day = float(row[0].replace(",", ".").strip('"'))
            except ValueError:
                continue
            if SERIAL_DAYS[0] < day < SERIAL_DAYS[1]:
                found.append(number)
    return found if len(found) > 1 else []


def _before_odd_width(rows: list[list[str]], data: list[int], first: int) -> int:
    """Data rows of another width directly above the first of the usual width belong to the body."""
    known = set(data)
    while first - 1 in known and abs(len(rows[first - 1]) - len(rows[first])) <= 8:
        first -= 1
    return first


_UNSET_SECONDS = 3e8  # epoch numbers below are of a clock that was not set yet (before 1979)


def _before_unset_clock(rows: list[list[str]], kinds: list[list[str]], first: int) -> int:
    """Rows of numbers above the first whose time is an epoch number that began at zero."""
    epochs = [column for column, kind in enumerate(kinds[first]) if kind == "epoch"]
    while first and epochs and len(rows[first - 1]) == len(rows[first]):
        above = kinds[first - 1]
        if set(above) - {"number", "blank", "state"} or above[epochs[0]] != "number":
            break
        if not 0 <= float(rows[first - 1][epochs[0]].strip('"').replace(",", ".") or -1) < _UNSET_SECONDS:
            break
        first -= 1
    return first


def _heading_above(
    rows: list[list[str]], kinds: list[list[str]], first: int
) -> tuple[int | None, int | None]:
    """The heading's and the unit row's numbers, looking up from the first reading."""
    unit_row = None
    for number in range(first - 1, max(first - 6, -1), -1):
        cells = [cell for cell in rows[number] if cell]
        if not cells or set("".join(cells)) <= set("-=_*+ "):
            continue
        if len(rows[number]) < 2:
            break
        bare = [cell for cell in cells if unit_of(cell.strip("[]() "))]
        others = [cell for cell in cells if cell not in bare]
        short = all(len(cell) <= 20 for cell in others)
        units = bool(bare) and short and len(bare) >= len(others)
        if unit_row is None and number > 0 and units and _has_heading(rows, number):
            unit_row = number
            continue
        return number, unit_row
    return None, unit_row


def _has_heading(rows: list[list[str]], number: int) -> bool:
    above = [cell for cell in rows[number - 1] if cell]
    return len(above) >= 2 and all(cell_kind(cell) in ("word", "state", "clock", "number") for cell in above)


def _clean(cell: str) -> str:
    text = cell.strip().strip('"').strip()
    if text.startswith('="'):
        text = text[2:].rstrip('"')
    return text.lstrip("\ufeff").strip()
