"""Lines among the readings that are none: totals, notes, and headings that come again."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.readers.layout import Layout, cell_kind, split_line
from mv.readers.parsed import FOOTER, HEADING
from mv.readers.source import Source
from mv.readers.words import FOOTER as FOOTER_WORDS
from mv.readers.words import plain

MOST_LINES = 10_000  # more lines without a time are no notes
LONGEST_LINE = 4000


def notes_among(source: Source, layout: Layout, lines: NDArray[np.int32]) -> dict[str, list[int]]:
    """Of the lines without a time: those that repeat the heading, and those that begin like a total.

    Raises ReadingError where a heading comes again with its columns in another order.
    """
    found: dict[str, list[int]] = {HEADING: [], FOOTER: []}
    if len(lines) > MOST_LINES:
        return found
    heading = [plain(name) for name in layout.header] if layout.header_line else []
    units = [plain(unit) for unit in layout.units]
    wanted, last = set(lines.tolist()), int(lines.max())
    with source.stream() as stream:
        for number, raw in enumerate(stream, 1):
            if number > last:
                break
            if number not in wanted:
                continue
            text = raw[:LONGEST_LINE].decode("utf-8", "replace").strip("\r\n")
            cells = [plain(cell) for cell in split_line(text, layout.delimiter)]
            if _same(cells, heading) or (any(units) and _same(cells, units)):
                found[HEADING].append(number)
            elif heading and _is_other_heading(cells, heading):
                raise _changed(source, layout, number, text)
            elif FOOTER_WORDS.match(plain(text[:200])):
                found[FOOTER].append(number)
    return found


def _same(cells: Sequence[str], names: Sequence[str]) -> bool:
    """The cells are the names; a column without a name may be empty."""
    width = max(len(cells), len(names))
    padded = [[*part, *[""] * (width - len(part))] for part in (cells, names)]
    return all(a == b or (not a and b.startswith("column ")) for a, b in zip(*padded, strict=True))


def _is_other_heading(cells: Sequence[str], heading: Sequence[str]) -> bool:
    """Words alone, one of them a heading's, but not where it stood or with others beside it."""
    filled = [cell for cell in cells if cell]
    if len(filled) < 2 or any(cell_kind(cell) not in ("word", "state") for cell in filled):
        return False
    shared = [cell for cell in filled if cell in heading]
    return len(shared) >= max(1, len(filled) // 2) and list(cells[: len(heading)]) != list(heading)


def _changed(source: Source, layout: Layout, number: int, text: str) -> ReadingError:
    return ReadingError(
        "holds a second heading with other columns, or the same in another order",
        file=source.name,
        place=f"line {number} against line {layout.header_line}",
        value=text[:80],
        remedy="Split the file there, one file a heading.",
    )
