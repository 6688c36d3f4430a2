"""One register or circuit of a file that holds several."""

import numpy as np
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.readers.body import Body
from mv.readers.choice import ChoiceError
from mv.readers.layout import Layout
from mv.readers.parsed import (
    OTHER_CHANNEL,
    Parsed,
)  # fmt: skip
from mv.readers.roles import TextColumns
from mv.readers.stamp_record import Stamps
from mv.readers.unit_names import Unit, unit_in, unit_of
from mv.readers.wanted import Wanted
from mv.readers.words import (
    EXPORT,
    IMPORT,
    LIGHT,
    plain,
)  # fmt: skip

ACTIVE = ("energy", "power", "current", "pulses")


class Texts:
    """The word columns of the readings still kept, in step with `parsed`."""

    def __init__(self, body: Body, parsed: Parsed) -> None:
        self._body, self._parsed, self._first = body, parsed, int(body.lines[0]) if len(body.lines) else 0

    def __call__(self, column: int) -> tuple[NDArray[np.int32], list[str]]:
        codes, words = self._body.texts[column]
        return codes[self._parsed.lines - self._first], words


def choose_channel(parsed: Parsed, codes: Texts, layout: Layout, roles: TextColumns, wanted: Wanted) -> None:
    """Keep one register or circuit of a file that holds several."""
    if len(parsed.lines) == 0:
        return
    varying = [c for c in roles.keys if len(np.unique(codes(c)[0][codes(c)[0] >= 0])) > 1]
    if wanted.channel:
        keep, seen = _rows_of_channel(parsed, codes, roles, wanted.channel)
        if not keep.any():
            raise ReadingError(
                f"holds no register or circuit {wanted.channel!r}",
                file=parsed.name,
                value=", ".join(seen[:12]) or None,
                remedy=f"Set channel in {wanted.table} to one that is there.",
            )
        parsed.set_aside(OTHER_CHANNEL, ~keep)
        varying = [c for c in varying if len(np.unique(codes(c)[0][codes(c)[0] >= 0])) > 1]
    if not varying or not _stamps_collide(parsed):
        return
    combos, labels = _combos(codes, varying)
    groups = np.unique(combos)
    parting = [number for number in groups if _parts(parsed, combos, int(number))]
    if len(groups) < 2 or not parting:
        return
    units = _channel_units(parsed, codes, roles, combos, labels)
    active = [n for n in groups if units[n] is None or ((unit := units[n]) and unit.measures in ACTIVE)]
    chosen = _one_channel([int(n) for n in active], labels, units, wanted)
    if chosen is None:
        raise ChoiceError(
            "holds several registers or circuits",
            key="channel",
            choices=[labels[int(n)] for n in groups],
            file=parsed.name,
            place=f"column {', '.join(repr(layout.header[c]) for c in varying)}",
            value="; ".join(labels[int(n)] for n in groups[:10]),
            remedy=f"Set channel in {wanted.table} to the one that is this meter.",
        )
    parsed.inferred["channel"] = f"{labels[chosen]!r}: the only one of {len(groups)} that fits"
    parsed.set_aside(OTHER_CHANNEL, combos != chosen)


def _rows_of_channel(
    parsed: Parsed, codes: Texts, roles: TextColumns, channel: str
) -> tuple[NDArray[np.bool_], list[str]]:
    seen: list[str] = []
    columns = [*roles.keys, *roles.quality]
    for column in columns:
        numbers, words = codes(column)
        hits = [n for n, word in enumerate(words) if _same_name(word, channel)]
        if hits:
            return np.isin(numbers, hits), []
        seen += [word for word in words if word]
    parts = [part.strip() for part in channel.split(" / ")]
    if len(parts) > 1:
        keep = np.ones(len(parsed.lines), dtype=bool)
        for part in parts:
            keep &= _rows_of_channel(parsed, codes, roles, part)[0]
        return keep, seen
    return np.zeros(len(parsed.lines), dtype=bool), seen


def _same_name(word: str, name: str) -> bool:
    return plain(word) == plain(name)


def _combos(codes: Texts, columns: list[int]) -> tuple[NDArray[np.int64], dict[int, str]]:
    """One number a combination of the columns' words, and what each combination is called."""
    combined = np.zeros(len(codes(columns[0])[0]), dtype=np.int64)
    for column in columns:
        numbers, words = codes(column)
        combined = combined * (len(words) + 1) + (numbers + 1)
    labels = {}
    for number in np.unique(combined):
        row = int(np.argmax(combined == number))
        parts = [codes(c)[1][codes(c)[0][row]].strip('="') for c in columns if codes(c)[0][row] >= 0]
        labels[int(number)] = " / ".join(parts) or "(blank)"
    return combined, labels


def _stamps_collide(parsed: Parsed) -> bool:
    """More than a few rows share their moment with another, beyond what a doubled hour makes."""
    moments = _moment_numbers(parsed.stamps)[parsed.stamps.readable]
    if len(moments) < 2:
        return False
    return bool((len(moments) - len(np.unique(moments))) > max(0.02 * len(moments), 0))


def _moment_numbers(stamps: Stamps) -> NDArray[np.int64]:
    day = stamps.day.astype(np.int64)
    if stamps.pair is not None:
        first, second, third = (part.astype(np.int64) for part in stamps.pair)
        day = day + (third * 10_000 + second * 100 + first) * 100_000
    return day * 100_000 + stamps.second


def _parts(parsed: Parsed, combos: NDArray[np.int64], number: int) -> bool:
    """True where a group's own rows do not collide, so that the groups explain the collisions."""
    moments = _moment_numbers(parsed.stamps)[(combos == number) & parsed.stamps.readable]
    return len(moments) > 0 and len(moments) - len(np.unique(moments)) <= 0.02 * len(moments) + 8


def _channel_units(
    parsed: Parsed, codes: Texts, roles: TextColumns, combos: NDArray[np.int64], labels: dict[int, str]
) -> dict[int, Unit | None]:
    units: dict[int, Unit | None] = {}
    for number, label in labels.items():
        unit = unit_in(label) if len(label) > 2 else None
        if roles.unit is not None:
            numbers, words = codes(roles.unit)
            own = np.unique(numbers[combos == number])
            if len(own) == 1 and own[0] >= 0:
                unit = unit_of(words[own[0]])
        units[number] = unit or parsed.unit
    return units


def _one_channel(
    active: list[int], labels: dict[int, str], units: dict[int, Unit | None], wanted: Wanted
) -> int | None:
    """The only channel that can be meant; None where several can."""
    if len(active) == 1:
        return active[0]
    if wanted.purpose != "meter":
        return None
    if wanted.quantity or wanted.unit:
        stated = unit_of(wanted.unit or "")
        measures = (
            stated.measures if stated else {"register": "energy"}.get(wanted.quantity or "", wanted.quantity)
        )
        active = [n for n in active if (unit := units[n]) is not None and unit.measures == measures] or active
    energy = [n for n in active if (unit := units[n]) is not None and unit.measures == "energy"]
    if len(energy) == 1:
        return energy[0]
    lit = [n for n in active if LIGHT.search(plain(labels[n]))]
    if (
        wanted.measures == "lighting"
        and len(lit) == 1
        and not any(EXPORT.search(plain(labels[n])) or IMPORT.search(plain(labels[n])) for n in active)
    ):
        return lit[0]
    return active[0] if len(active) == 1 else None
