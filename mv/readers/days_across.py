"""Tables with one day a column: a row for each interval of the day, headed by its time or its number."""

from dataclasses import replace

import numpy as np

from mv.readers.layout import Layout, cell_kind, find_layout, lines_of, split_line
from mv.readers.parsed import Parsed
from mv.readers.source import HEAD_BYTES, Source
from mv.readers.wanted import Wanted
from mv.readers.wide_table import find_day_row, read_wide

FEWEST_DAYS = 2
HEADING_LINES = 40
MOST_BYTES = 32 * 1024**2
_DELIMITERS = (";", "\t", "|", ",")


def read_days_across(source: Source, wanted: Wanted) -> Parsed | None:
    """Read a table whose columns are days; None where it is none."""
    found = _heading(source.head_text().split("\n", HEADING_LINES)[:HEADING_LINES])
    if found is None:
        return None
    number, delimiter = found
    with source.stream() as stream:
        text = stream.read(MOST_BYTES).decode("cp1252" if source.encoding == "cp1252" else "utf-8", "replace")
    lines = text.splitlines()
    heading = split_line(lines[number], delimiter)
    days = [column for column, cell in enumerate(heading) if cell_kind(cell) == "date"]
    rows = [
        (at, cells)
        for at, line in enumerate(lines[number + 1 :], number + 2)
        if len(cells := split_line(line, delimiter)) > 1 and cells[0] and any(_filled(cells, days))
    ]
    turned, layout, lines_of_rows = _turned(source, lines[:number], heading, days, rows, delimiter)
    day = find_day_row(layout) if layout else None
    if layout is None or day is None:
        return None
    parsed = read_wide(turned, layout, day, wanted)
    _with_lines(parsed, np.array(lines_of_rows, np.int32), number + 1)
    parsed.inferred["layout"] = f"one day a column, {len(days)} days"
    return parsed


def _heading(lines: list[str]) -> tuple[int, str] | None:
    """The number of the line that holds days, and its delimiter."""
    for number, line in enumerate(lines):
        for delimiter in _DELIMITERS:
            cells = split_line(line, delimiter)
            kinds = [cell_kind(cell) for cell in cells[1:] if cell]
            days = kinds.count("date")
            if days >= max(len(kinds) - 2, FEWEST_DAYS) and cell_kind(cells[0]) in ("word", "blank"):
                return number, delimiter
    return None


def _filled(cells: list[str], columns: list[int]) -> list[bool]:
    return [column < len(cells) and bool(cells[column].strip()) for column in columns]


def _turned(
    source: Source,
    preamble: list[str],
    heading: list[str],
    days: list[int],
    rows: list[tuple[int, list[str]]],
    delimiter: str,
) -> tuple[Source, Layout | None, list[int]]:
    """The table with one day a row, as text; its layout; and the line of each of its columns."""
    labels = [cells[0] for _, cells in rows]
    keep = [n for n, label in enumerate(labels) if cell_kind(label) in ("clock", "number", "word")]
    mark = "\t" if delimiter != "\t" else ";"
    body = [mark.join(["date", *(labels[n] for n in keep)])]
    for day in days:
        cells = [rows[n][1][day] if day < len(rows[n][1]) else "" for n in keep]
        body.append(mark.join([heading[day], *cells]))
    text = "\n".join([*(line.replace(mark, " ") for line in preamble), *body]) + "\n"
    data = text.encode("utf-8")
    turned = replace(source, encoding="utf-8", head=data[:HEAD_BYTES], packed=False, data=data)
    layout = find_layout(lines_of(turned.head_text(), complete=True))
    return turned, layout, [rows[n][0] for n in keep]


def _with_lines(parsed: Parsed, lines: "np.ndarray[tuple[int], np.dtype[np.int32]]", heading: int) -> None:
    """The lines of the file, where a row of the turned table is a column of it."""
    if parsed.ordinal is not None and len(parsed.lines):
        parsed.lines = lines[np.minimum(parsed.ordinal, len(lines) - 1)]
    parsed.unreadable = {why: np.full(len(n), heading, np.int32) for why, n in parsed.unreadable.items()}
