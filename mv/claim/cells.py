"""Cells of the report's tables: the result's numbers as words, rounded to what they support."""

from collections.abc import Mapping
from typing import Any

from mv.base import wording
from mv.base.document import Block, Grid, Prose

Json = Mapping[str, Any]
NONE = "–"


def stated(table: Grid, otherwise: str) -> Block:
    """The table without columns in which nothing is stated; a sentence where nothing is at all."""
    kept = [n for n in range(len(table.columns)) if n == 0 or any(row[n] != NONE for row in table.rows)]
    if len(kept) < 2:
        return Prose(otherwise, "cannot")
    columns = tuple(table.columns[n] for n in kept)
    rows = tuple(tuple(row[n] for n in kept) for row in table.rows)
    return Grid(table.title, columns, rows, table.total_rows, table.note)


def energy(value: float | None) -> str:
    """kWh to the unit; a dash where there is none. The unit stands in the column's head."""
    return NONE if value is None else wording.number(value)


def interval(found: Json | None, *, scale: float = 1.0, least: float = 0.0) -> tuple[str, str, str]:
    """Estimate, low and high, all to the step that the interval supports, and not finer than `least`."""
    if found is None:
        return "cannot tell", NONE, NONE
    values = {key: found[key] * scale for key in ("estimate", "low", "high") if found.get(key) is not None}
    step = max(wording.shown_step(values), least)
    shown = [wording.number(values[key], step=step) if key in values else NONE for key in _ENDS]
    return shown[0], shown[1], shown[2]


_ENDS = ("estimate", "low", "high")


def kwh(found: Json | None) -> tuple[str, str, str]:
    """Estimate, low and high of an energy, as the screen rounds them."""
    return interval(found)


def amount(found: Json, unit: str, *, least: float = 0.0) -> tuple[str, str]:
    """Estimate and its interval with the unit, not finer than `least`."""
    best, low, high = interval(found, least=least)
    ends = "no interval" if low == NONE else wording.in_unit(f"{low} to {high}", unit)
    return wording.in_unit(best, unit), ends


def in_words(found: Json | None, unit: str) -> str:
    """Estimate and interval on one line, or that it cannot be told."""
    return wording.with_interval(found, unit, confidence=False)


def fixed(value: float | None, places: int) -> str:
    """A value with so many decimals; a dash where there is none. Never minus nought."""
    if value is None:
        return NONE
    text = f"{value:,.{places}f}"
    text = text.lstrip("-") if float(text.replace(",", "")) == 0 else text
    return text.replace("-", "−")


def significant(value: float | None, digits: int = 4) -> str:
    """A coefficient with so many significant digits."""
    if value is None:
        return NONE
    if wording.settled(value) == 0:
        return "0"
    text = f"{value:,.{digits}g}" if abs(value) < 10**digits else f"{value:,.0f}"
    return text.replace("-", "−")


def share(value: float | None, places: int = 1) -> str:
    """A fraction in per cent."""
    return NONE if value is None else wording.per_cent(value, places=places)


def said(value: object) -> str:
    """Any stated value: dates in words elsewhere, yes and no here; a dash where nothing is stated."""
    if value is None or value == "":
        return NONE
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    return str(value)


def day(value: object) -> str:
    """A date in words; a dash where none is stated."""
    return NONE if value in (None, "") else wording.day_words(value)
