"""Columns of words beside time and reading: unit, quality flags, registers, a multiplier."""

import re

from mv.readers.column_kinds import column_kinds, column_unit
from mv.readers.layout import Layout
from mv.readers.roles import TextColumns
from mv.readers.unit_names import unit_of
from mv.readers.words import (
    ACTUAL,
    CHANNEL,
    ESTIMATED,
    ESTIMATED_HEAD,
    NO_READING,
    QUALITY,
    UNIT,
    VALUE,
    plain,
)  # fmt: skip


def column_of(multiplier: tuple[int, float] | None) -> int | None:
    return multiplier[0] if multiplier else None


def text_roles(layout: Layout, taken: set[int]) -> TextColumns:
    """The columns of words among those not taken by times (and, in a day's row, by intervals)."""
    kinds = column_kinds(layout)
    heads = [plain(head) for head in layout.header]
    unit = _unit_column(layout, kinds, heads, taken)
    quality = tuple(
        column
        for column, head in enumerate(heads)
        if column not in taken
        and column != unit
        and QUALITY.search(head)
        and column_unit(layout, column) is None
        and _may_flag(layout, column, head)
    )
    keys = _key_columns(layout, kinds, heads, {*taken, *quality, *([] if unit is None else [unit])})
    return TextColumns(unit, quality, tuple(keys), _multiplier(layout, heads, taken))


_MULTIPLIER = re.compile(r"^(mult|multiplier|meter mult|ct ratio|ratio|factor|kh|konstante|wandlerfaktor)\b")


def _multiplier(layout: Layout, heads: list[str], taken: set[int]) -> tuple[int, float] | None:
    for column, head in enumerate(heads):
        if column in taken or not _MULTIPLIER.match(head):
            continue
        cells = {row[column] for row in layout.rows if column < len(row)} - {""}
        try:
            numbers = {float(cell.replace(",", ".")) for cell in cells}
        except ValueError:
            continue
        if len(numbers) == 1:
            return column, numbers.pop()
    return None


def _unit_column(layout: Layout, kinds: list[str], heads: list[str], taken: set[int]) -> int | None:
    for column, head in enumerate(heads):
        cells = {row[column] for row in layout.rows if column < len(row)} - {""}
        if column in taken or not cells or kinds[column] not in ("word", "state") or len(cells) > 12:
            continue
        if all(unit_of(cell) for cell in cells) and (
            UNIT.search(head) or all(len(cell) > 1 for cell in cells)
        ):
            return column
    return None


def _may_flag(layout: Layout, column: int, head: str) -> bool:
    """The cells are quality words or short codes, not the names of registers."""
    cells = {plain(row[column]) for row in layout.rows if column < len(row)} - {""}
    if len(cells) > 12:
        return False
    known = [c for c in cells if ESTIMATED.match(c) or ACTUAL.match(c) or NO_READING.match(c) or len(c) <= 2]
    return not cells or len(known) >= 0.5 * len(cells) or ESTIMATED_HEAD.search(head) is not None


def _key_columns(layout: Layout, kinds: list[str], heads: list[str], taken: set[int]) -> list[int]:
    keys = []
    for column, head in enumerate(heads):
        if column in taken or re.search(r"day|week|month|season|holiday|\bdst\b|summer|sommer", head):
            continue
        cells = {row[column] for row in layout.rows if column < len(row)} - {""}
        if (
            kinds[column] == "word"
            and len(cells) <= max(2, 0.5 * len(layout.rows), 60 * (len(layout.rows) > 300))
        ) or (
            (
                kinds[column] in ("number", "epoch")
                and CHANNEL.search(head)
                and not column_unit(layout, column)
            )
            and (
                len(cells) <= 60
                and all(re.fullmatch(r'(="?)?\d+"?', cell) for cell in cells)
                and not VALUE.search(head)
            )
        ):
            keys.append(column)
    return keys
