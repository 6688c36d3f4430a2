"""What the cells of each column are, and which column a stated name means."""

import re
from collections import Counter

from mv.base.errors import ReadingError
from mv.readers.layout import Layout, number_with_unit
from mv.readers.unit_names import Unit, unit_in, unit_of
from mv.readers.wanted import Wanted
from mv.readers.words import (
    TIME,
    plain,
)  # fmt: skip

NEARLY = 0.9  # share of epoch numbers in a column of times; the rest are of a clock not yet set; no source
MOSTLY = 0.8  # share of a column's filled cells that makes its kind; common practice, no source


def column_kinds(layout: Layout) -> list[str]:
    """The kind most filled cells of each column have; blank where none is filled."""
    kinds = []
    for column in range(layout.width):
        cells = [row[column] for row in layout.kinds if column < len(row)]
        count = Counter(kind for kind in cells if kind != "blank")
        total = sum(count.values())
        if not total:
            kinds.append("blank")
            continue
        if count["epoch"] >= NEARLY * total and (column == 0 or TIME.search(plain(layout.header[column]))):
            kinds.append("epoch")
            continue
        if count["number"] and count["epoch"] and count["number"] + count["epoch"] >= MOSTLY * total:
            kinds.append("number")
            continue
        kind, most = count.most_common(1)[0]
        if count["number"] + count["state"] >= MOSTLY * total and kind in ("number", "state"):
            kinds.append("number" if count["number"] > 0 else "state")
        else:
            kinds.append(kind if most >= 0.5 * total else "word")
    return kinds


def named_column(layout: Layout, name: str, *, key: str, wanted: Wanted, file: str) -> int:
    """The column a stated name means: its heading, or `column 2` in a file without one."""
    exact = [number for number, head in enumerate(layout.header) if head == name.strip()]
    loose = [number for number, head in enumerate(layout.header) if plain(head) == plain(name)]
    for found in (exact, loose):
        if found:
            return found[0]
    number = re.fullmatch(r"(?:column )?(\d+)", name.strip())
    if number and 1 <= int(number.group(1)) <= layout.width:
        return int(number.group(1)) - 1
    raise ReadingError(
        f"has no column {name!r}",
        file=file,
        place=f"line {layout.header_line}" if layout.header_line else None,
        value=", ".join(layout.header[:12]),
        remedy=f"Set {key} in {wanted.table} to one of these headings.",
    )


def heading_unit(layout: Layout, column: int) -> Unit | None:
    """The unit that the column's heading or the row of units below it says."""
    return unit_of(layout.units[column].strip("[]() ")) or unit_in(layout.header[column])


def column_unit(layout: Layout, column: int) -> Unit | None:
    """The unit of a column: as its heading says, else the one written beside its numbers."""
    named = heading_unit(layout, column)
    if named:
        return named
    written = {
        found[1] for row in layout.rows if column < len(row) and (found := number_with_unit(row[column]))
    }
    return unit_of(written.pop()) if len(written) == 1 else None
