"""Tables with one moment a row: long, wide by circuit, with a register, unit or quality column."""

import re

import numpy as np
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.base.ledger import Remark
from mv.readers.body import Body, read_body
from mv.readers.choice import ChoiceError
from mv.readers.columns import Roles, TextColumns, find_roles
from mv.readers.layout import Layout
from mv.readers.numbers import find_marks
from mv.readers.parsed import (
    FLAGGED,
    FOOTER,
    NO_TIME,
    NOT_NUMBER,
    OTHER_CHANNEL,
    OTHER_UNIT,
    Parsed,
)  # fmt: skip
from mv.readers.source import Source
from mv.readers.stamps import DAY_SECONDS, Stamps
from mv.readers.unit_names import Unit, unit_in, unit_of
from mv.readers.wanted import Wanted
from mv.readers.words import (
    END,
    ESTIMATED,
    ESTIMATED_HEAD,
    EXPORT,
    IMPORT,
    LIGHT,
    NO_READING,
    REGISTER,
    START,
    YES,
    plain,
)  # fmt: skip
from mv.readers.words import (
    FOOTER as FOOTER_WORDS,
)

_ACTIVE = ("energy", "power", "current", "pulses")


def read_long(source: Source, layout: Layout, wanted: Wanted) -> Parsed:
    """Read a table whose rows are moments. Raises ReadingError where it cannot be told apart."""
    roles = find_roles(layout, wanted, file=source.name)
    marks = find_marks(layout, roles.values, file=source.name, table=wanted.table)
    body = read_body(source, layout, roles.start, roles.end, roles.values, roles.texts.all, marks)
    parsed = _parsed(source, layout, roles, body, wanted)
    if marks.why:
        parsed.inferred["number style"] = marks.why
    _drop_blank(parsed, body)
    apply_texts(parsed, body, layout, roles.texts, wanted)
    _drop_unreadable(parsed, source, layout)
    return parsed


def apply_texts(parsed: Parsed, body: Body, layout: Layout, roles: TextColumns, wanted: Wanted) -> None:
    """Let the word columns speak: one register is kept, units and quality flags are heeded."""
    codes = _Texts(body, parsed)
    _heed_multiplier(parsed, layout, roles, wanted)
    _choose_channel(parsed, codes, layout, roles, wanted)
    _interval_words(parsed, codes, layout, roles)
    _choose_unit(parsed, codes, roles, wanted)
    _apply_quality(parsed, codes, layout, roles)


_DURATION = re.compile(r"^PT(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?$")


def _interval_words(parsed: Parsed, codes: "_Texts", layout: Layout, roles: TextColumns) -> None:
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


class _Texts:
    """The word columns of the readings still kept, in step with `parsed`."""

    def __init__(self, body: Body, parsed: Parsed) -> None:
        self._body, self._parsed, self._first = body, parsed, int(body.lines[0]) if len(body.lines) else 0

    def __call__(self, column: int) -> tuple[NDArray[np.int32], list[str]]:
        codes, words = self._body.texts[column]
        return codes[self._parsed.lines - self._first], words


def _parsed(source: Source, layout: Layout, roles: Roles, body: Body, wanted: Wanted) -> Parsed:
    values = body.values[0]
    if len(body.values) > 1:
        values = np.sum(np.vstack(body.values), axis=0)
    stamps = body.start or body.end
    assert stamps is not None
    side, why = _side(roles, body, layout)
    heads = " ".join(layout.header[value] for value in roles.values)
    parsed = Parsed(
        name=source.name,
        signature=tuple(layout.header),
        stamps=stamps,
        values=values,
        lines=body.lines,
        end_stamps=body.end if body.start is not None else None,
        side=side,
        side_why=why,
        unit=roles.units[0],
        unit_why=f"from the heading {heads!r}" if roles.units[0] else "",
        register_words=bool(REGISTER.search(plain(heads))),
        clock_words=" ".join([roles.time_words, *(" ".join(row) for row in layout.preamble)]),
        inferred=dict(roles.inferred),
    )
    if layout.preamble:
        parsed.inferred["preamble"] = f"{len(layout.preamble)} lines above the heading are not readings"
    if roles.time.form == "hour":
        _hour_numbers(parsed, body, layout, roles)
    if parsed.unit is None:
        unit_from_preamble(parsed, layout, layout.header[roles.values[0]])
    if len(body.values) > 1:
        _missing_phase(parsed, layout, roles, body)
    return parsed


def _side(roles: Roles, body: Body, layout: Layout) -> tuple[str | None, str]:
    if body.start is not None and body.end is not None:
        return "start", "the file has a column for the start and one for the end"
    if (body.start or body.end) is not None and (body.start or body.end).has_range:  # type: ignore[union-attr]
        return "start", "each stamp names its interval from start to end"
    words = roles.time_words
    if END.search(words) and not START.search(words):
        return "end", f"the heading {_heading(layout, roles)!r} says end"
    if START.search(words) and not END.search(words):
        return "start", f"the heading {_heading(layout, roles)!r} says start"
    return None, ""


def _heading(layout: Layout, roles: Roles) -> str:
    return " + ".join(layout.header[column] for column in roles.time.all)


def _hour_numbers(parsed: Parsed, body: Body, layout: Layout, roles: Roles) -> None:
    """Hours 1 to 24 (25 on the long day) count the day's intervals; hours 0 to 23 start them."""
    stamps = parsed.stamps
    hours = stamps.second // 3600
    good = stamps.readable
    if not good.any() or (stamps.second % 3600 != 0).any():
        return  # HHMM clock numbers are clocks
    low, high = int(hours[good].min()), int(hours[good].max())
    name = layout.header[roles.time.clock or 0]
    count = 24 if high <= 25 else 48 if high <= 50 else 96 if high <= 100 else 0
    if not count:
        return
    if (low >= 1 and high >= count) or (low >= 1 and END.search(plain(name))):
        parsed.ordinal = (hours - 1).astype(np.int32)
        parsed.interval_seconds = DAY_SECONDS // count
        parsed.interval_why = f"column {name!r} counts {count} intervals a day"
        parsed.side, parsed.side_why = "start", f"column {name!r} counts a day's intervals from 1"
        stamps.second = np.zeros_like(stamps.second)
    elif low == 0 and count == 24:
        parsed.side, parsed.side_why = "start", f"column {name!r} counts hours from 0"


def unit_from_preamble(parsed: Parsed, layout: Layout, heading: str) -> None:
    """A preamble line such as "Units: kWh", or a key block that names the value column."""
    head = plain(heading)
    for row in layout.preamble:
        cells = [cell for part in row for cell in part.split(":") if cell.strip()]
        if len(cells) < 2:
            continue
        label, rest = plain(cells[0]), [cell.strip() for cell in cells[1:]]
        unit = next((u for cell in rest if (u := unit_of(cell) or unit_in(cell))), None)
        if head and label == head:
            parsed.inferred["point"] = f"{heading!r} is {' '.join(rest)!r}"
        elif not re.match(r"unit|uom|einheit|unite|unidad|eenheid|measure", label):
            continue
        if unit:
            parsed.unit, parsed.unit_why = unit, f"from the line {' '.join(row)!r} above the heading"
            return


def _missing_phase(parsed: Parsed, layout: Layout, roles: Roles, body: Body) -> None:
    sums = [float(np.nansum(np.abs(values))) for values in body.values]
    for column, total in zip(roles.values, sums, strict=True):
        if total <= 0.001 * max(sums):
            parsed.remarks.append(
                Remark(
                    "missing-phase",
                    f"phase column {layout.header[column]!r} reads nothing while the others do",
                    file=parsed.name,
                    remedy="Check whether that phase carries load; if it does, its measurement is missing.",
                )
            )


def _drop_blank(parsed: Parsed, body: Body) -> None:
    if body.blank.any():
        parsed.keep(~body.blank)  # empty lines are not readings


def _choose_channel(
    parsed: Parsed, codes: _Texts, layout: Layout, roles: TextColumns, wanted: Wanted
) -> None:
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
    active = [n for n in groups if units[n] is None or ((unit := units[n]) and unit.measures in _ACTIVE)]
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
    parsed: Parsed, codes: _Texts, roles: TextColumns, channel: str
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


def _combos(codes: _Texts, columns: list[int]) -> tuple[NDArray[np.int64], dict[int, str]]:
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
    parsed: Parsed, codes: _Texts, roles: TextColumns, combos: NDArray[np.int64], labels: dict[int, str]
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


def _choose_unit(parsed: Parsed, codes: _Texts, roles: TextColumns, wanted: Wanted) -> None:
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
    active = [n for n in used if (unit := units[n]) is not None and unit.measures in _ACTIVE]
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


def _unit_from_channel(parsed: Parsed, codes: _Texts, roles: TextColumns) -> None:
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


def _apply_quality(parsed: Parsed, codes: _Texts, layout: Layout, roles: TextColumns) -> None:
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


def _drop_unreadable(parsed: Parsed, source: Source, layout: Layout) -> None:
    no_time = ~parsed.stamps.readable
    if no_time.any():
        footers = _footer_lines(source, layout, parsed.lines[no_time])
        is_footer = no_time & np.isin(parsed.lines, footers)
        parsed.set_aside(FOOTER, is_footer)
        parsed.set_aside(NO_TIME, ~parsed.stamps.readable)
    infinite = np.isinf(parsed.values)
    if infinite.any():
        parsed.set_aside(NOT_NUMBER, infinite)


def _footer_lines(source: Source, layout: Layout, lines: NDArray[np.int32]) -> list[int]:
    """Of the lines without a time, those that begin like a total or a note."""
    if len(lines) > 10_000:
        return []
    wanted = set(lines.tolist())
    found, last = [], max(wanted)
    with source.stream() as stream:
        for number, raw in enumerate(stream, 1):
            if number > last:
                break
            if number in wanted and FOOTER_WORDS.match(plain(raw[:200].decode("utf-8", "replace"))):
                found.append(number)
    return found
