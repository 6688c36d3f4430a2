"""Written numbers: which mark is the decimal one, and text cells into floats."""

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.readers.layout import Layout, number_with_unit
from mv.readers.words import OFF, ON, plain

_THOUSANDS_COMMA = re.compile(r"^[-+]?[1-9]\d{0,2}(,\d{3})+$")
_THOUSANDS_POINT = re.compile(r"^[-+]?[1-9]\d{0,2}(\.\d{3})+$")
_BLANKS = dict.fromkeys(map(ord, " \t\"'’=\u00a0\u202f\u2009"))


@dataclass(frozen=True, slots=True)
class Marks:
    """The decimal and thousands marks of a column, and how they were told."""

    decimal: str
    thousands: str | None
    why: str


def find_marks(layout: Layout, columns: tuple[int, ...], *, file: str, table: str) -> Marks:
    """Tell the decimal mark from the columns' cells; raises ReadingError where they cannot say.

    "1,234" alone is one thousand or one and a bit. The separator decides: a file that puts
    semicolons or tabs between cells where commas stand in numbers writes decimal commas.
    """
    cells = [row[c].translate(_BLANKS) for row in layout.rows for c in columns if c < len(row)]
    points, commas = [c for c in cells if "." in c], [c for c in cells if "," in c]
    both = next((c for c in cells if "." in c and "," in c), None)
    if both:
        if both.rfind(",") > both.rfind("."):
            return Marks(",", ".", f"decimal comma and thousands point, as in {both!r}")
        return Marks(".", ",", f"decimal point and thousands comma, as in {both!r}")
    if commas and points:
        return _mixed(points, commas, file=file, table=table)
    if commas:
        if not all(_THOUSANDS_COMMA.match(cell) for cell in commas):
            return Marks(",", None, f"decimal comma, as in {commas[0]!r}")
        if layout.delimiter == ";" or (not layout.quoted and layout.delimiter != ","):
            return Marks(
                ",", None, f"decimal comma, as in {commas[0]!r}: the cells are parted by {layout.delimiter!r}"
            )
        return Marks(".", ",", f"thousands comma, as in {commas[0]!r}: each is followed by three digits")
    grouped = bool(points) and all(_THOUSANDS_POINT.match(cell) for cell in points)
    if grouped and any(cell.count(".") > 1 for cell in points):
        return Marks(",", ".", f"thousands point, as in {points[0]!r}")
    return Marks(".", None, "")


def _mixed(points: list[str], commas: list[str], *, file: str, table: str) -> Marks:
    raise ReadingError(
        "some numbers are written with a comma and some with a point, so neither is surely the decimal "
        "comma or decimal point",
        file=file,
        value=f"{points[0]} and {commas[0]}",
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
    if marks.thousands:
        text = text.replace(marks.thousands, "")
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
