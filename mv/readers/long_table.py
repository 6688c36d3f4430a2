"""Tables with one moment a row: long, wide by circuit, with a register, unit or quality column."""

import re

import numpy as np

from mv.base.ledger import Remark
from mv.readers.beside_times import refuse_unheaded_numbers
from mv.readers.body import Body, read_body
from mv.readers.cell_units import WRITTEN_BESIDE, heed_cell_units, refuse_scale
from mv.readers.column_kinds import heading_unit
from mv.readers.columns import find_roles
from mv.readers.layout import Layout
from mv.readers.notes import notes_among
from mv.readers.numbers import find_marks
from mv.readers.parsed import (
    NO_TIME,
    NOT_NUMBER,
    Parsed,
)  # fmt: skip
from mv.readers.roles import Roles
from mv.readers.row_words import apply_texts
from mv.readers.source import Source
from mv.readers.stamp_record import DAY_SECONDS
from mv.readers.states import has_state_words, heed_contacts, switchings
from mv.readers.unit_names import unit_in, unit_of
from mv.readers.wanted import Wanted
from mv.readers.words import (
    END,
    ON_TIME,
    REGISTER,
    START,
    plain,
)  # fmt: skip


def read_long(source: Source, layout: Layout, wanted: Wanted) -> Parsed:
    """Read a table whose rows are moments. Raises ReadingError where it cannot be told apart."""
    refuse_unheaded_numbers(layout, file=source.name)
    roles = find_roles(layout, wanted, file=source.name)
    marks = find_marks(source, layout, roles.values, wanted)
    body = read_body(source, layout, roles.start, roles.end, roles.values, roles.texts.all, marks)
    parsed = _rows_of(source, layout, roles, body, wanted)
    if marks.why:
        parsed.inferred["number style"] = marks.why
    _drop_blank(parsed, body)
    heed_cell_units(parsed, body, wanted)
    apply_texts(parsed, body, layout, roles.texts, wanted)
    _drop_unreadable(parsed, source, layout)
    return parsed


def _rows_of(source: Source, layout: Layout, roles: Roles, body: Body, wanted: Wanted) -> Parsed:
    values = body.values[0]
    if roles.on_and_off:
        values = switchings(body.values[0], body.values[1])
    elif len(body.values) > 1:
        values = np.sum(np.vstack(body.values), axis=0)
    stamps = body.start or body.end
    assert stamps is not None
    side, why = _side(roles, body, layout)
    heads = " ".join(layout.header[value] for value in roles.values)
    refuse_scale(heads, wanted, file=source.name)
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
        unit_why=_unit_why(layout, roles, heads),
        highest_words=all(HIGHEST.search(plain(layout.header[c])) for c in roles.values),
        register_words=bool(REGISTER.search(plain(heads))),
        state_words=roles.on_and_off or has_state_words(layout, roles.values[0]),
        on_time_words=bool(ON_TIME.search(plain(heads))),
        clock_words=" ".join([roles.time_words, *(" ".join(row) for row in layout.preamble)]),
        inferred=dict(roles.inferred),
    )
    if layout.preamble:
        parsed.inferred["preamble"] = f"{len(layout.preamble)} lines above the heading are not readings"
    if roles.time.form == "hour":
        _hour_numbers(parsed, body, layout, roles)
    if parsed.unit is None:
        unit_from_preamble(parsed, layout, layout.header[roles.values[0]])
    heed_contacts(parsed, layout, roles.values[0])
    if len(body.values) > 1 and not roles.on_and_off:
        _missing_phase(parsed, layout, roles, body)
    return parsed


def _unit_why(layout: Layout, roles: Roles, heads: str) -> str:
    if roles.units[0] is None:
        return ""
    return f"from the heading {heads!r}" if heading_unit(layout, roles.values[0]) else WRITTEN_BESIDE


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


HIGHEST = re.compile(r"\b(max|maximum|peak|highest|maximal|maximale|maximo|massima)\b")


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


def _drop_unreadable(parsed: Parsed, source: Source, layout: Layout) -> None:
    no_time = ~parsed.stamps.readable
    if no_time.any():
        for why, lines in notes_among(source, layout, parsed.lines[no_time]).items():
            parsed.set_aside(why, ~parsed.stamps.readable & np.isin(parsed.lines, lines))
        parsed.set_aside(NO_TIME, ~parsed.stamps.readable)
    infinite = np.isinf(parsed.values)
    if infinite.any():
        parsed.set_aside(NOT_NUMBER, infinite)
