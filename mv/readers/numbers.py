"""Written numbers: which mark is the decimal one, and text cells into floats."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.readers.layout import Layout, number_with_unit, split_line
from mv.readers.source import Source
from mv.readers.unit_names import unit_of
from mv.readers.wanted import Wanted
from mv.readers.words import OFF, ON, plain

_GROUPS = {
    ",": re.compile(r"^[-+]?[1-9]\d{0,2}(,\d{3})+$"),
    ".": re.compile(r"^[-+]?[1-9]\d{0,2}(\.\d{3})+$"),
}
_POINT_AND_GROUPS = re.compile(r"^[-+]?[1-9]\d{0,2}(,\d{3})+\.\d*$")
_COMMA_AND_GROUPS = re.compile(r"^[-+]?[1-9]\d{0,2}(\.\d{3})+,\d*$")
_BARE_LONG = re.compile(r"^[-+]?[1-9]\d{3,}$")  # a thousand that is not parted
_BARE_SHORT = re.compile(r"^[-+]?[1-9]\d{0,2}$")
_BLANKS = dict.fromkeys(map(ord, " \t\"'’=\u00a0\u202f\u2009"))


@dataclass(frozen=True, slots=True)
class Marks:
    """The decimal and thousands marks of a column, and how they were told."""

    decimal: str
    thousands: str | None
    why: str


def find_marks(source: Source, layout: Layout, columns: tuple[int, ...], wanted: Wanted) -> Marks:
    """Tell the decimal mark from the columns' cells; raises ReadingError where they cannot say.

    The study's word counts first. The first lines tell most files; where each of their numbers could
    be either ("1,234" is one thousand or one and a bit) the file is looked at further.
    """
    cells = _cells(layout.rows, columns)
    if wanted.decimal_mark is not None:
        return _stated(cells, wanted.decimal_mark, file=source.name, table=wanted.table)
    both = next((c for c in cells if "." in c and "," in c), None)
    if both:
        if both.rfind(",") > both.rfind("."):
            return Marks(",", ".", f"decimal comma and thousands point, as in {both!r}")
        return Marks(".", ",", f"decimal point and thousands comma, as in {both!r}")
    points, commas = any("." in c for c in cells), any("," in c for c in cells)
    if commas and points:
        raise _mixed(cells, file=source.name, table=wanted.table)
    if not commas and (not points or layout.delimiter == "," or not _all_grouped(cells, ".")):
        return Marks(".", None, "")
    if commas and not _all_grouped(cells, ","):
        example = next(c for c in cells if "," in c)
        return Marks(",", None, f"decimal comma, as in {example!r}")
    return _by_groups(source, layout, columns, "," if commas else ".", wanted)


def _cells(rows: Sequence[Sequence[str]], columns: tuple[int, ...]) -> list[str]:
    return [row[c].translate(_BLANKS) for row in rows for c in columns if c < len(row)]


def _stated(cells: list[str], mark: str, *, file: str, table: str) -> Marks:
    other = "," if mark == "." else "."
    wrong = next((c for c in cells if other in c and not _GROUPS[other].match(c.split(mark)[0])), None)
    if wrong:
        raise ReadingError(
            f"decimal_mark = {mark!r} is stated, but the file's numbers are not written so",
            file=file,
            value=wrong,
            remedy=f"Take decimal_mark out of {table} or set it to {other!r}.",
        )
    return Marks(mark, other if any(other in c for c in cells) else None, "decimal mark as the study states")


def _all_grouped(cells: list[str], mark: str) -> bool:
    return all(_GROUPS[mark].match(cell) for cell in cells if mark in cell)


def _by_groups(source: Source, layout: Layout, columns: tuple[int, ...], mark: str, wanted: Wanted) -> Marks:
    """Every mark of the sample is followed by three digits: a second mark in one number, numbers without
    one, or the separator tell whether it parts thousands."""
    cells = _cells(_more_rows(source, layout), columns)
    other = "." if mark == "," else ","
    if any(other in cell for cell in cells):
        both = next(cell for cell in cells if other in cell)
        if mark not in both or both.rfind(mark) > both.rfind(other):
            return (
                Marks(mark, None, f"decimal {mark!r}, as further down")
                if mark not in both
                else Marks(mark, other, f"decimal {mark!r}, as in {both!r}")
            )
        return Marks(other, mark, f"decimal {other!r} and thousands {mark!r}, as in {both!r}")
    marked = [cell for cell in cells if mark in cell]
    twice = next((cell for cell in marked if cell.count(mark) > 1), None)
    if twice:
        return Marks(other, mark, f"thousands {mark!r}, as in {twice!r}")
    odd = next((cell for cell in marked if not _GROUPS[mark].match(cell)), None)
    long = next((cell for cell in cells if _BARE_LONG.match(cell)), None)
    if odd or long:
        return Marks(mark, None, f"decimal {mark!r}, as in {odd or long!r}")
    short = next((cell for cell in cells if _BARE_SHORT.match(cell)), None)
    if short and (mark == "," or any(cell.endswith("0") for cell in marked)):
        return Marks(other, mark, f"thousands {mark!r}: {marked[0]!r} stands beside {short!r}")
    if mark == "," and layout.delimiter == ";":
        return Marks(",", None, f"decimal comma, as in {marked[0]!r}: the cells are parted by ';'")
    raise ReadingError(
        f"every number has three digits behind its {'comma' if mark == ',' else 'point'}, so it may part "
        "thousands or decimals",
        file=source.name,
        place=f"line {layout.body_line}",
        value=marked[0],
        remedy=f'Set decimal_mark in {wanted.table} to "," or ".".',
    )


def _more_rows(source: Source, layout: Layout) -> list[list[str]]:
    """The rows of the file's beginning, far beyond the first lines."""
    lines = source.head_text().splitlines()[layout.body_line - 1 :]
    return [split_line(line, layout.delimiter) for line in lines]


def _mixed(cells: list[str], *, file: str, table: str) -> ReadingError:
    points, commas = next(c for c in cells if "." in c), next(c for c in cells if "," in c)
    return ReadingError(
        "some numbers are written with a comma and some with a point, so neither is surely the decimal "
        "comma or decimal point",
        file=file,
        value=f"{points} and {commas}",
        remedy=f"Split the file in two, one file a style, and name both in {table}.",
    )


def numbers_of(cells: NDArray[np.object_], marks: Marks) -> NDArray[np.float64]:
    """Text cells as floats under the marks; NaN where a cell is no number. On and off become 1 and 0."""
    out = np.full(len(cells), np.nan)
    known: dict[object, float] = {}
    for row, cell in enumerate(cells.tolist()):
        value = known.get(cell)
        if value is None:
            value = number_of(cell, marks)
            if len(known) < 100_000:
                known[cell] = value
        out[row] = value
    return out


def number_of(cell: object, marks: Marks) -> float:
    """One cell as a float; NaN where it is no number."""
    if isinstance(cell, bool | int | float):
        return float(cell)
    text = str(cell).translate(_BLANKS)
    if not text or len(text) > 60:
        return float("nan")
    if text.endswith("-") and text[:1].isdigit():  # a trailing minus, as ledgers write
        text = "-" + text[:-1]
    if text.startswith("(") and text.endswith(")"):  # brackets for minus, as ledgers write
        text = "-" + text[1:-1]
    if marks.thousands or (_POINT_AND_GROUPS if marks.decimal == "." else _COMMA_AND_GROUPS).match(text):
        text = text.replace("," if marks.decimal == "." else ".", "")
    if marks.decimal != ".":
        if "." in text:
            return float("nan")
        text = text.replace(marks.decimal, ".")
    with_unit = None if text[-1].isdigit() else number_with_unit(text)
    if with_unit:
        text = with_unit[0]
    try:
        return float(text) if text[-1] in "0123456789." and "_" not in text else _state(str(cell))
    except ValueError:
        return _state(str(cell))


def _state(text: str) -> float:
    word = plain(text)
    if ON.match(word):
        return 1.0
    if OFF.match(word):
        return 0.0
    return float("nan")


def units_of_cells(cells: NDArray[np.object_]) -> tuple[NDArray[np.int8], list[str]]:
    """The unit each cell carries itself, as codes into the list; -1 for none, -2 for no number or 0."""
    codes = np.full(len(cells), -2, np.int8)
    names: list[str] = []
    known: dict[object, int] = {}
    for row, cell in enumerate(cells.tolist()):
        code = known.get(cell)
        if code is None:
            code = known[cell] = _unit_code(cell, names)
        codes[row] = code
    return codes, names


def _unit_code(cell: object, names: list[str]) -> int:
    if not isinstance(cell, str):
        return -2 if not cell or cell != cell else -1
    found = number_with_unit(cell.translate(_BLANKS))
    if found and (unit := unit_of(found[1])):
        if unit.name not in names:
            names.append(unit.name)
        return names.index(unit.name)
    bare = cell.translate(_BLANKS)
    return -1 if any(mark in "123456789" for mark in bare) else -2
