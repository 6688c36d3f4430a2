"""What stands beside stamps and numbers and changes their meaning: zones, offsets, unheaded cells."""

import re

from mv.base.errors import ReadingError
from mv.readers.channels import Texts
from mv.readers.layout import Layout
from mv.readers.parsed import Parsed
from mv.readers.roles import TextColumns
from mv.readers.wanted import Wanted
from mv.readers.words import plain

_ZONE_HEAD = re.compile(r"\b(tz|time ?zone|zone|zeitzone|fuseau|huso|offset|utc|gmt)\b")
_WHOLE = re.compile(r"^[-+]?\d+$")
_OFFSET = re.compile(r"^(?:utc|gmt)?\s*[+-]\d{1,2}(?::?\d{2})?$", re.IGNORECASE)


def heed_zone_column(
    parsed: Parsed, codes: Texts, layout: Layout, roles: TextColumns, wanted: Wanted
) -> None:
    """A column of one zone's name tells the clock; one of offsets leaves open whether stamps hold them."""
    for column in roles.keys:
        if not _ZONE_HEAD.search(plain(layout.header[column])):
            continue
        words = [word for word in codes(column)[1] if word]
        if words and all(_OFFSET.match(word) for word in words):
            if wanted.clock is None and parsed.stamps.offset is None:
                raise _open_offsets(parsed, layout.header[column], words, wanted)
        elif len(words) == 1:
            parsed.clock_words = f"{words[0]} {parsed.clock_words}"


def _open_offsets(parsed: Parsed, heading: str, words: list[str], wanted: Wanted) -> ReadingError:
    return ReadingError(
        "holds offsets in a column of their own, and nothing says whether the stamps are local or UTC",
        file=parsed.name,
        place=f"column {heading!r}",
        value=", ".join(words[:3]),
        remedy=f'Set clock in {wanted.table}: "site" where the stamps are the site\'s wall clock, "UTC" '
        "where the offset is still to be added.",
    )


def refuse_unheaded_numbers(layout: Layout, *, file: str) -> None:
    """Raise ReadingError where rows go on with whole numbers beyond the heading's last name: as where
    decimal commas are not quoted in a file parted by commas."""
    if layout.header_line is None or layout.delimiter != ",":
        return
    headed = [head != f"column {n}" or bool(layout.units[n - 1]) for n, head in enumerate(layout.header, 1)]
    named = max((n for n, said in enumerate(headed) if said), default=-1)
    if not 0 <= named < layout.width - 1:
        return
    cells = [row[named : named + 2] for row in layout.rows if len(row) > named + 1]
    whole = [_WHOLE.match(first) and second.isdigit() for first, second in cells]
    if cells and all(whole):
        raise ReadingError(
            "has more numbers in its rows than names in its heading, as where a decimal comma parts cells",
            file=file,
            place=f"line {layout.body_line}",
            value=",".join(cells[0]),
            remedy="Export it with semicolons between the cells, with quoted numbers or with decimal points; "
            "or give each column its heading.",
        )
