"""What the words beside a reading say: its register, unit, interval and quality."""

import re

import numpy as np

from mv.base.errors import ReadingError
from mv.readers.beside_times import heed_zone_column
from mv.readers.body import Body
from mv.readers.channels import ACTIVE, Texts, choose_channel
from mv.readers.layout import Layout
from mv.readers.parsed import (
    FLAGGED,
    OTHER_UNIT,
    Parsed,
)  # fmt: skip
from mv.readers.roles import TextColumns
from mv.readers.unit_names import Unit, unit_in, unit_of
from mv.readers.wanted import Wanted
from mv.readers.words import (
    ESTIMATED,
    ESTIMATED_HEAD,
    NO_READING,
    YES,
    plain,
)  # fmt: skip


def apply_texts(parsed: Parsed, body: Body, layout: Layout, roles: TextColumns, wanted: Wanted) -> None:
    """Let the word columns speak: one register is kept, units and quality flags are heeded."""
    codes = Texts(body, parsed)
    _heed_multiplier(parsed, layout, roles, wanted)
    heed_zone_column(parsed, codes, layout, roles, wanted)
    choose_channel(parsed, codes, layout, roles, wanted)
    _interval_words(parsed, codes, layout, roles)
    _choose_unit(parsed, codes, roles, wanted)
    _apply_quality(parsed, codes, layout, roles)


_DURATION = re.compile(r"^PT(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?$")


def _interval_words(parsed: Parsed, codes: "Texts", layout: Layout, roles: TextColumns) -> None:
    """A column of ISO 8601 durations ("PT30M") states the interval."""
    for column in roles.keys:
        numbers, words = codes(column)
        used = [words[n] for n in np.unique(numbers) if n >= 0]
        if len(used) != 1 or not (match := _DURATION.match(used[0])):
            continue
        hours, minutes, seconds = (int(part or 0) for part in match.groups())
        parsed.interval_seconds = hours * 3600 + minutes * 60 + seconds or None
        parsed.interval_why = f"column {layout.header[column]!r} says {used[0]}"


def _heed_multiplier(parsed: Parsed, layout: Layout, roles: TextColumns, wanted: Wanted) -> None:
    """A column that names a multiplier does not say whether the readings hold it already."""
    if roles.multiplier is None or roles.multiplier[1] == 1.0 or wanted.multiplier is not None:
        return
    column, number = roles.multiplier
    raise ReadingError(
        "names a multiplier, and nothing says whether the readings include it",
        file=parsed.name,
        place=f"column {layout.header[column]!r}",
        value=f"{number:g}",
        remedy=f"Set multiplier in {wanted.table}: {number:g} if the readings are to be multiplied, 1.0 if "
        "they "
        "hold it already (compare a month's sum with the bill).",
    )


def _choose_unit(parsed: Parsed, codes: Texts, roles: TextColumns, wanted: Wanted) -> None:
    if roles.unit is None or len(parsed.lines) == 0:
        _unit_from_channel(parsed, codes, roles)
        return
    numbers, words = codes(roles.unit)
    used = [int(n) for n in np.unique(numbers) if n >= 0]
    units = {n: unit_of(words[n]) for n in used}
    if len(set(units.values())) <= 1:
        if used:
            parsed.unit, parsed.unit_why = units[used[0]], "from the unit column"
        return
    active = [n for n in used if (unit := units[n]) is not None and unit.measures in ACTIVE]
    measures = {u.measures for n in active if (u := units[n]) is not None}
    if wanted.quantity:
        wish = {"register": "energy"}.get(wanted.quantity, wanted.quantity)
        measures = measures & {wish} or measures
    if len(measures) != 1:
        raise ReadingError(
            "holds readings of several quantities",
            file=parsed.name,
            value=", ".join(words[n] for n in used),
            remedy=f"Set quantity (and channel, if there is one) in {wanted.table}.",
        )
    kind = measures.pop()
    fits = [n for n in active if (unit := units[n]) is not None and unit.measures == kind]
    factor = np.full(len(words) + 1, np.nan)
    for n in fits:
        factor[n] = units[n].factor  # type: ignore[union-attr]
    parsed.factor = factor[numbers]
    inside = units[fits[0]]
    assert inside is not None
    parsed.unit = Unit(inside.inside, kind, inside.inside)
    parsed.unit_why = (
        f"from the unit column, which mixes {', '.join(words[n] for n in fits)}; each in its own"
    )
    parsed.set_aside(OTHER_UNIT, ~np.isin(numbers, fits))


def _unit_from_channel(parsed: Parsed, codes: Texts, roles: TextColumns) -> None:
    """A register's own name may carry the unit ("Import (kWh)")."""
    if parsed.unit is not None or len(parsed.lines) == 0:
        return
    for column in roles.keys:
        numbers, words = codes(column)
        used = [words[n] for n in np.unique(numbers) if n >= 0]
        units = {unit_in(word) if len(word) > 2 else None for word in used}
        if len(units) == 1 and None not in units:
            parsed.unit, parsed.unit_why = units.pop(), f"from {used[0]!r}"
            return


def _apply_quality(parsed: Parsed, codes: Texts, layout: Layout, roles: TextColumns) -> None:
    """Utility flags: estimated readings are kept as such, readings flagged as none are set aside."""
    for column in roles.quality:
        if len(parsed.lines) == 0:
            return
        numbers, words = codes(column)
        head = plain(layout.header[column])
        yes_means_estimated = ESTIMATED_HEAD.search(head) is not None
        plains = [plain(word) for word in words]
        estimated = [
            n for n, w in enumerate(plains)
            if w and (ESTIMATED.match(w) or (yes_means_estimated and YES.match(w)))
        ]  # fmt: skip
        bad = [n for n, w in enumerate(plains) if w and NO_READING.match(w) and n not in estimated]
        drop = np.isin(numbers, bad)
        if bad and drop.mean() < 0.9:
            flags = np.isin(numbers, estimated)
            parsed.estimated = flags if parsed.estimated is None else parsed.estimated | flags
            parsed.inferred["quality"] = _quality_text(layout.header[column], words, estimated, bad)
            parsed.set_aside(FLAGGED, drop)
        elif estimated:
            flags = np.isin(numbers, estimated)
            if not flags.any():
                continue
            parsed.estimated = flags if parsed.estimated is None else parsed.estimated | flags
            parsed.inferred["quality"] = _quality_text(layout.header[column], words, estimated, [])


def _quality_text(head: str, words: list[str], estimated: list[int], bad: list[int]) -> str:
    said = [f"{', '.join(repr(words[n]) for n in estimated)} as estimated"] if estimated else []
    said += [f"{', '.join(repr(words[n]) for n in bad)} as no reading"] if bad else []
    return f"column {head!r}: {' and '.join(said)}"
