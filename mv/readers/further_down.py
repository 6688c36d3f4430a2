"""What stands below the sample that told the layout: cells quoted there alone, numbers that commas part."""

import re
from itertools import pairwise

from mv.base.errors import ReadingError
from mv.readers.layout import Layout
from mv.readers.source import Source

_BLOCK_BYTES = 1 << 20
_WHOLE = re.compile(rb"^[-+]?\d{1,3}$")
_REST = re.compile(rb"^\d+(\.\d*)?$")


def quoted_below(source: Source, layout: Layout) -> bool:
    """True where cells are quoted further down than the sample shows, as thousands in "1,234.5" are.

    A quote that no other closes on its line is a mark of inches or a slip and parts nothing. Raises
    ReadingError where a comma that no quote holds parts a number, so that a line has a cell too many.
    """
    quotes, commas, lines = _marks(source)
    if quotes:
        with source.stream() as stream:
            if all(line.count(b'"') % 2 == 0 for line in stream):
                return True
    if layout.delimiter == "," and commas > (layout.width - 1) * (lines + 1 - layout.body_line):
        _refuse_parted_numbers(source, layout)
    return False


def _marks(source: Source) -> tuple[int, int, int]:
    """Quotes, commas and line ends of the whole file."""
    quotes = commas = lines = 0
    with source.stream() as stream:
        for block in iter(lambda: stream.read(_BLOCK_BYTES), b""):
            quotes += block.count(b'"')
            commas += block.count(b",")
            lines += block.count(b"\n")
    return quotes, commas, lines


def _refuse_parted_numbers(source: Source, layout: Layout) -> None:
    with source.stream() as stream:
        for number, line in enumerate(stream, 1):
            if number >= layout.body_line and line.count(b",") >= layout.width:
                _refuse_parted(line.rstrip(b"\r\n, "), layout.width, file=source.name, number=number)


def _refuse_parted(line: bytes, width: int, *, file: str, number: int) -> None:
    cells = [cell.strip() for cell in line.split(b",")]
    if not 0 < len(cells) - width <= width:  # a comma in each number at most; more is no parted number
        return
    for first, second in pairwise(cells):
        if _WHOLE.match(first) and _REST.match(second):
            raise ReadingError(
                "has a cell more than the lines above, as where a comma inside a number parts cells",
                file=file,
                place=f"line {number}",
                value=b",".join((first, second)).decode(),
                remedy="Export it with semicolons between the cells, or with numbers that are quoted or hold "
                "no comma.",
            )
