"""Which column is the reading: as stated, by unit, by wording, or the phases of one meter."""

import re

from mv.base.errors import ReadingError
from mv.readers.choice import ChoiceError
from mv.readers.column_kinds import named_column
from mv.readers.layout import Layout
from mv.readers.unit_names import Unit, unit_of
from mv.readers.wanted import Wanted
from mv.readers.words import (
    CUMULATIVE,
    IDENTIFIER,
    LIGHT,
    VALUE,
    WHOLE,
    plain,
)  # fmt: skip

_OF_PURPOSE = {
    "meter": ("energy", "power", "current", "pulses"),
    "weather": ("temperature",),
    "occupancy": ("share",),
    "motion": (),
}


def value_columns(
    layout: Layout,
    heads: list[str],
    units: list[Unit | None],
    numeric: list[int],
    keys: tuple[int, ...],
    wanted: Wanted,
    file: str,
) -> tuple[tuple[int, ...], dict[str, str]]:
    if wanted.value_column:
        return _stated_values(layout, wanted, file), {}
    candidates = [c for c in numeric if c not in keys] or list(numeric)
    if not candidates:
        raise ReadingError(
            "has no column of numbers beside the time",
            file=file,
            place=f"line {layout.header_line or layout.body_line}",
            value=", ".join(layout.header[:12]),
            remedy=f"Set value_column in {wanted.table}, or leave the file out.",
        )
    if wanted.channel and any(plain(heads[c]) == plain(wanted.channel) for c in candidates):
        return (next(c for c in candidates if plain(heads[c]) == plain(wanted.channel)),), {}
    fitting = _fitting(heads, units, candidates, wanted)
    if len(fitting) == 1:
        return (fitting[0],), {
            "value column": f"{layout.header[fitting[0]]!r}{_why(units, candidates, fitting[0])}"
        }
    pair = _on_and_off(heads, candidates)
    if pair:
        names = " and ".join(repr(layout.header[c]) for c in pair)
        return pair, {"states": f"{names} mark switching on and off"}
    phases = _phases(heads, units, fitting)
    if phases:
        names = " + ".join(repr(layout.header[c]) for c in phases)
        return phases, {"value column": f"{names}: the phases of one meter, added"}
    raise ChoiceError(
        "several columns may be the reading",
        key="value_column",
        choices=[layout.header[c] for c in fitting],
        file=file,
        place=f"line {layout.header_line or layout.body_line}",
        value=", ".join(layout.header[c] for c in fitting[:12]),
        remedy=f"Set value_column in {wanted.table} to one of them (or to several joined by ' + ').",
    )


def _why(units: list[Unit | None], candidates: list[int], chosen: int) -> str:
    if len(candidates) == 1:
        return ": the only column of numbers"
    unit = units[chosen]
    return f": the one column that fits, of {len(candidates)} with numbers" + (
        f" (in {unit.name})" if unit else ""
    )


def _stated_values(layout: Layout, wanted: Wanted, file: str) -> tuple[int, ...]:
    name = str(wanted.value_column)
    names = [name] if name in layout.header or " + " not in name else name.split(" + ")
    return tuple(named_column(layout, n, key="value_column", wanted=wanted, file=file) for n in names)


def _fitting(heads: list[str], units: list[Unit | None], candidates: list[int], wanted: Wanted) -> list[int]:
    """The candidates left after unit, then wording, have spoken."""
    measures = _OF_PURPOSE[wanted.purpose]
    if wanted.quantity in ("energy", "power", "current", "pulses"):
        measures = (wanted.quantity,)
    elif wanted.quantity == "register":
        measures = ("energy",)
    with_unit = [c for c in candidates if (unit := units[c]) is not None and unit.measures in measures]
    stated = wanted.unit and unit_of(wanted.unit)
    if stated and len(with_unit) > 1:
        same = [c for c in with_unit if (unit := units[c]) is not None and unit.name == stated.name]
        with_unit = same or with_unit
    if wanted.purpose == "meter" and not wanted.quantity and len(with_unit) > 1:
        with_unit = _energy_over_power(units, with_unit)
    left = (
        with_unit
        or [c for c in candidates if units[c] is None or wanted.purpose in ("motion", "occupancy")]
        or candidates
    )
    if len(left) > 1:
        left = _by_words(heads, left, wanted)
    return left


def _energy_over_power(units: list[Unit | None], columns: list[int]) -> list[int]:
    """Where one column is energy and others power, volts or amperes, the energy is the reading."""
    for measures in ("energy", "power"):
        of_kind = [c for c in columns if (unit := units[c]) is not None and unit.measures == measures]
        if of_kind:
            return of_kind
    return columns


_WORDS = {
    "weather": r"dry ?bulb|outdoor|outside|out\b|oat|ambient|air ?temp|temp",
    "occupancy": r"occup|people|presence|count|person|headcount|attend",
    "motion": r"motion|occup|state|presence|pir|status|value",
}


_TOTAL = re.compile(r"(\b|kwh?)(total|sum|tot|all phases|3ph|combined|sigma)\b")


def _by_words(heads: list[str], columns: list[int], wanted: Wanted) -> list[int]:
    if wanted.purpose != "meter":
        for word in _WORDS[wanted.purpose].split("|"):
            said = [c for c in columns if re.search(word, heads[c])]
            if len(said) == 1:
                return said
            columns = said or columns
        return columns
    if wanted.measures == "lighting":
        lit = [c for c in columns if LIGHT.search(heads[c])]
        columns = lit or columns
    else:
        whole = [c for c in columns if WHOLE.search(heads[c])]
        columns = whole or columns
    if len(columns) > 1:
        plainly = [c for c in columns if not IDENTIFIER.search(heads[c])]
        columns = plainly or columns
    if len(columns) > 1 and wanted.quantity != "register":
        single = [c for c in columns if not CUMULATIVE.search(heads[c])]
        columns = single or columns
    if len(columns) > 1:
        mean = [c for c in columns if not re.search(r"\b(max|min|peak|high|low)(imum)?\b", heads[c])]
        columns = mean or columns
    if len(columns) > 1:
        total = [c for c in columns if _TOTAL.search(heads[c])]
        columns = total if len(total) == 1 else columns
    if len(columns) > 1:
        headed = [c for c in columns if VALUE.search(heads[c])]
        columns = headed if len(headed) == 1 else columns
    return columns


def _on_and_off(heads: list[str], columns: list[int]) -> tuple[int, ...]:
    """The two columns of an event log: "Light On" and "Light Off"."""
    ons = {re.sub(r"\bon\b", "", heads[c]).strip(): c for c in columns if re.search(r"\bon\b", heads[c])}
    offs = {re.sub(r"\boff\b", "", heads[c]).strip(): c for c in columns if re.search(r"\boff\b", heads[c])}
    both = ons.keys() & offs.keys()
    return (ons[stem := both.pop()], offs[stem]) if len(both) == 1 and len(columns) == 2 else ()


_PHASE = re.compile(r"(?<![a-z0-9])(?:l([123])|(?:phase|ph) ?([123abc])|([rst]) phase)(?![a-z0-9])")


def _phases(heads: list[str], units: list[Unit | None], columns: list[int]) -> tuple[int, ...]:
    """Two or three columns that differ only in the phase they name."""
    if len(columns) not in (2, 3):
        return ()
    if len({_PHASE.sub("", heads[c]) for c in columns}) != 1 or len({units[c] for c in columns}) != 1:
        return ()
    named = {match.group(0) for c in columns if (match := _PHASE.search(heads[c]))}
    return tuple(columns) if len(named) == len(columns) else ()
