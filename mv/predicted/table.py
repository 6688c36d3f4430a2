"""The text of inventory.csv as rows of cells: encoding, separator and decimal mark told apart."""

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from mv.base.errors import ReadingError
from mv.base.ledger import Remark

SEPARATORS = (",", ";", "\t")
_COMMA_NUMBER = re.compile(r"^[+-]?\d+,\d+$")
_THOUSANDS_SHAPE = re.compile(r"^[+-]?[1-9]\d{0,2}(,\d{3})+$")
_POINT_NUMBER = re.compile(r"^[+-]?\d*\.\d+$")


@dataclass(frozen=True, slots=True)
class TableRow:
    """Cells by column name; `line` is the line in the file at which the row ends."""

    line: int
    cells: Mapping[str, str]
    surplus: int = 0


@dataclass(frozen=True, slots=True)
class Table:
    """A headed table of text, and how its numbers are written."""

    columns: tuple[str, ...]
    rows: tuple[TableRow, ...]
    separator: str
    decimal_comma: bool
    remarks: tuple[Remark, ...] = ()


def read_table(path: Path) -> Table:
    """Read a headed text table. Raises ReadingError where the file is missing, empty or binary."""
    text, remarks = _text(path)
    separator = _separator(text)
    lines = _cells(path, text, separator)
    if not lines:
        raise ReadingError("is empty", file=path, remedy="Give one header line and one row a space.")
    columns = tuple(cell.lower() for cell in lines[0][1])
    rows = tuple(_row(line, cells, columns) for line, cells in lines[1:])
    comma = separator != "," and decimal_comma_is_proven(
        [cell for row in rows for cell in row.cells.values()]
    )
    if comma:
        what = "numbers are written with a decimal comma, as cells such as '0,5' show"
        remarks += (Remark("decimal-comma", what, file=path.name),)
    return Table(columns, rows, separator, comma, remarks)


def decimal_comma_is_proven(cells: Sequence[str]) -> bool:
    """True where a comma can only be the decimal mark: '0,5' is there and no '0.5' is."""
    proven = any(_COMMA_NUMBER.match(cell) and not _THOUSANDS_SHAPE.match(cell) for cell in cells)
    return proven and not any(_POINT_NUMBER.match(cell) for cell in cells)


def may_mark_thousands(cell: str) -> bool:
    """True for a cell such as '3,100', whose comma may be either mark."""
    return bool(_THOUSANDS_SHAPE.match(cell))


def _text(path: Path) -> tuple[str, tuple[Remark, ...]]:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise ReadingError(
            f"cannot be read: {error.strerror or error}",
            file=path,
            remedy="Check the name under [predicted] inventory; it is relative to study.toml.",
        ) from error
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace"), ()
    if b"\0" in data:
        raise ReadingError(
            "is not a text table", file=path, remedy="Save the sheet as CSV and name that file."
        )
    try:
        return data.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        what = "is not UTF-8 and was read as Windows-1252"
        return data.decode("cp1252", errors="replace"), (Remark("encoding", what, file=path.name),)


def _separator(text: str) -> str:
    header = next((line for line in text.splitlines() if line.strip()), "")
    return max(SEPARATORS, key=header.count)


def _cells(path: Path, text: str, separator: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    lines = []
    try:
        for cells in reader:
            stripped = [cell.strip() for cell in cells]
            if any(stripped):
                lines.append((reader.line_num, stripped))
    except csv.Error as error:
        raise ReadingError(
            f"cannot be read as a table: {error}",
            file=path,
            place=f"line {reader.line_num}",
            remedy="Save the sheet as plain CSV again.",
        ) from error
    return lines


def _row(line: int, cells: list[str], columns: tuple[str, ...]) -> TableRow:
    padded = [*cells, *[""] * (len(columns) - len(cells))]
    surplus = len([cell for cell in cells[len(columns) :] if cell])
    return TableRow(line, dict(zip(columns, padded, strict=False)), surplus)
