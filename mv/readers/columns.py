"""Which column is the time, which the reading, which the register, unit and quality."""

from dataclasses import replace

from mv.readers.column_kinds import column_kinds, column_unit
from mv.readers.layout import Layout
from mv.readers.roles import Roles
from mv.readers.text_columns import column_of, text_roles
from mv.readers.time_columns import time_columns
from mv.readers.value_columns import value_columns
from mv.readers.wanted import Wanted
from mv.readers.words import (
    plain,
)  # fmt: skip


def find_roles(layout: Layout, wanted: Wanted, *, file: str) -> Roles:
    """Tell the columns apart; raises ReadingError where the reading's column is not plain."""
    kinds = column_kinds(layout)
    heads = [plain(head) for head in layout.header]
    start, end, words = time_columns(layout, kinds, heads, wanted, file)
    taken = {column for time in (start, end) if time for column in time.all}
    units = [column_unit(layout, column) for column in range(layout.width)]
    words_about = text_roles(layout, taken)
    quality, keys = words_about.quality, words_about.keys
    numeric = [
        column
        for column in range(layout.width)
        if column not in taken
        and column not in quality
        and column != column_of(words_about.multiplier)
        and kinds[column] in ("number", "state", "epoch")
    ]
    values, inferred = value_columns(layout, heads, units, numeric, keys, wanted, file)
    return Roles(
        start=start,
        end=end,
        values=values,
        units=tuple(units[value] for value in values),
        texts=replace(words_about, keys=tuple(key for key in keys if key not in values)),
        time_words=words,
        on_and_off=inferred.get("states") is not None,
        inferred=inferred,
    )
