"""Tables with one day a row: a column for each interval, headed by its time or its number."""

import re
from dataclasses import dataclass, replace

import numpy as np

from mv.base.errors import ReadingError
from mv.readers.body import Body, read_body
from mv.readers.column_kinds import column_kinds
from mv.readers.layout import Layout
from mv.readers.long_table import unit_from_preamble
from mv.readers.numbers import find_marks
from mv.readers.parsed import NOT_NUMBER, Parsed
from mv.readers.roles import TimeColumns
from mv.readers.row_words import apply_texts
from mv.readers.source import Source
from mv.readers.stamp_record import DAY_SECONDS, Stamps
from mv.readers.text_columns import text_roles
from mv.readers.unit_names import unit_in
from mv.readers.wanted import Wanted
from mv.readers.words import ESTIMATED, QUALITY, plain

FEWEST = 20  # labelled columns that make a day's row; hourly has 24
_COUNTS = (24, 48, 96, 144, 288, 1440)
_CLOCK = re.compile(
    r"^[a-z]{0,4}\s?(\d{1,2})[:h.](\d{2})(?::\d{2})?\s*(am|pm|a|p)?(?:\s*(?:-|to|bis|tot|a)\s*\d.*)?$"
)
_HOUR = re.compile(r"^(\d{1,2}) ?(am|pm)$")
_HHMM = re.compile(r"^[a-z ]{0,6}([0-2]\d)([0-5]\d)$")
_NUMBER = re.compile(r"^[a-z .#]{0,12}(\d{1,4})(?: ?kwh| ?kw)?$")


@dataclass(frozen=True)
class DayRow:
    """The interval columns in order, their length, and whether clock or count places them.

    `starts` is each column's start in seconds of the day by its label; `extra` the number of
    columns beyond the usual day, which serve the long day of autumn.
    """

    columns: tuple[int, ...]
    seconds: int
    starts: tuple[int, ...]
    side: str
    extra: int
    why: str


def find_day_row(layout: Layout) -> DayRow | None:
    """The interval columns of a one-day-a-row table; None where the table is not one."""
    heads = [plain(head) for head in layout.header]
    for reader in (_by_clock, _by_digits, _by_count):
        found = reader(heads)
        if found:
            return found
    return None


def _by_clock(heads: list[str]) -> DayRow | None:
    labels = {
        column: minutes for column, head in enumerate(heads) if (minutes := _clock_minutes(head)) is not None
    }
    return _from_minutes(labels, heads)


def _by_digits(heads: list[str]) -> DayRow | None:
    labels = {
        column: int(match.group(1)) * 60 + int(match.group(2))
        for column, head in enumerate(heads)
        if (match := _HHMM.match(head))
    }
    return _from_minutes(labels, heads)


def _clock_minutes(head: str) -> int | None:
    match = _CLOCK.match(head)
    if not match:
        hour_only = _HOUR.match(head)
        if not hour_only or not 1 <= int(hour_only.group(1)) <= 12:
            return None
        return (int(hour_only.group(1)) % 12 + 12 * (hour_only.group(2) == "pm")) * 60
    hour, minute = int(match.group(1)), int(match.group(2))
    if match.group(3):
        hour = hour % 12 + 12 * match.group(3).startswith("p")
    return hour * 60 + minute if hour * 60 + minute <= 1440 and minute < 60 else None


def _from_minutes(labels: dict[int, int], heads: list[str]) -> DayRow | None:
    if len(labels) < FEWEST:
        return None
    columns = sorted(labels)
    minutes = [labels[column] for column in columns]
    steps = np.diff(minutes)
    step = int(np.median(steps))
    if step <= 0 or 1440 % step or (steps == step).mean() < 0.8:
        return None
    count = 1440 // step
    if len(columns) < count:
        return None
    first, last = minutes[0], minutes[count - 1]
    if first == step and last % 1440 == 0:
        side, why = "end", f"the columns run from {heads[columns[0]]} to {heads[columns[count - 1]]}"
    elif first == 0 and last == 1440 - step:
        side, why = "start", f"the columns run from {heads[columns[0]]} to {heads[columns[count - 1]]}"
    else:
        return None
    starts = [minute * 60 - (step * 60 if side == "end" else 0) for minute in minutes[:count]]
    starts += [DAY_SECONDS + n * step * 60 for n in range(len(columns) - count)]
    return DayRow(tuple(columns), step * 60, tuple(starts), side, len(columns) - count, why)


def _by_count(heads: list[str]) -> DayRow | None:
    """Columns numbered through, such as H01 to H24 or Q1 to Q96 (Q100 on the long day)."""
    groups: dict[str, list[tuple[int, int]]] = {}
    for column, head in enumerate(heads):
        match = _NUMBER.match(head)
        if match:
            stem = head[: match.start(1)].strip(" .#")
            groups.setdefault(stem, []).append((int(match.group(1)), column))
    for members in groups.values():
        numbers = [number for number, _ in members]
        if len(members) < FEWEST or numbers != list(range(numbers[0], numbers[0] + len(numbers))):
            continue
        count = max((size for size in _COUNTS if size <= len(numbers)), default=0)
        if not count or numbers[0] not in (0, 1) or len(numbers) - count > max(count // 24, 1):
            continue
        seconds = DAY_SECONDS // count
        columns = tuple(column for _, column in members)
        why = f"the columns count from {heads[columns[0]]} to {heads[columns[-1]]}"
        starts = tuple(n * seconds for n in range(len(columns)))
        return DayRow(columns, seconds, starts, "start", len(columns) - count, why)
    return None


def read_wide(source: Source, layout: Layout, day: DayRow, wanted: Wanted) -> Parsed:
    """Each filled cell is one reading of its day and interval."""
    rest = _without(layout, day)
    date = _date_column(layout, day, wanted, source.name)
    flag_columns = _flag_columns(layout, day)
    texts = text_roles(rest, {*day.columns, *flag_columns, date.date})
    marks = find_marks(source, layout, day.columns, wanted)
    body = read_body(source, layout, date, None, day.columns, (*texts.all, *flag_columns), marks)
    assert body.start is not None
    keep = ~body.blank
    days = Stamps(
        body.start.readable, body.start.day, body.start.second, None, body.start.undecided, body.start.pair
    )
    width = len(day.columns)
    rows = Parsed(
        name=source.name,
        signature=tuple(layout.header),
        stamps=days,
        values=np.arange(len(body.lines), dtype=float),  # stands for the row until cells are laid out
        lines=body.lines,
        clock_words=" ".join(" ".join(row) for row in layout.preamble),
        side="start",
        side_why=day.why,
        interval_seconds=day.seconds,
        interval_why=f"{width - day.extra} columns a day",
    )
    rows.keep(keep)
    unit_from_preamble(rows, layout, "")
    named = {unit_in(layout.header[column]) for column in day.columns}
    if len(named) == 1 and (unit := named.pop()) is not None:
        rows.unit, rows.unit_why = unit, "from the headings of the intervals"
    if marks.why:
        rows.inferred["number style"] = marks.why
    apply_texts(rows, body, rest, texts, wanted)
    flags = _flags(body, flag_columns)
    if flags is not None and flags.any():
        rows.inferred["quality"] = "flags behind each interval's column"
    return _cells(rows, np.column_stack(body.values), day, flags)


def _flag_columns(layout: Layout, day: DayRow) -> tuple[int, ...]:
    """Columns of quality flags, one behind each interval's column; none where there are no such."""
    beside = tuple(column + 1 for column in day.columns)
    if set(beside) & set(day.columns) or max(beside) >= layout.width:
        return ()
    heads = {re.sub(r"[\d: .]+$", "", plain(layout.header[column])) for column in beside}
    flags = all(QUALITY.search(head) or re.match(r"^(q|f|qc|st)\b", head) for head in heads)
    return beside if flags and len(heads) == 1 else ()


def _without(layout: Layout, day: DayRow) -> Layout:
    """The same layout with the interval columns' headings emptied, so that they claim no role."""
    header = [f"column {n}" if n in day.columns else head for n, head in enumerate(layout.header)]
    return replace(layout, header=header)


def _date_column(layout: Layout, day: DayRow, wanted: Wanted, file: str) -> TimeColumns:
    kinds = column_kinds(layout)
    dates = [c for c, kind in enumerate(kinds) if kind in ("date", "stamp") and c not in day.columns]
    dates += [
        c
        for c, kind in enumerate(kinds)
        if kind == "epoch"
        and c not in day.columns
        and all(len(row[c].strip()) == 8 for row in layout.rows if c < len(row))
    ]
    if wanted.time_column:
        named = [c for c in range(layout.width) if plain(layout.header[c]) == plain(wanted.time_column)]
        dates = named or dates
    if not dates:
        raise ReadingError(
            "has a column for each interval of the day, but none for the date",
            file=file,
            place=f"line {layout.header_line}",
            value=", ".join(layout.header[:6]),
            remedy=f"Set time_column in {wanted.table} to the heading of the date.",
        )
    return TimeColumns(dates[0])


def _flags(body: Body, columns: tuple[int, ...]) -> "np.ndarray[tuple[int, int], np.dtype[np.bool_]] | None":
    """Which cells their own flag calls estimated, a row a day."""
    if not columns:
        return None
    marked = []
    for column in columns:
        codes, words = body.texts[column]
        bad = [n for n, word in enumerate(words) if plain(word) and ESTIMATED.match(plain(word))]
        marked.append(np.isin(codes, bad))
    return np.column_stack(marked)


def _estimated(
    rows: Parsed,
    repeat: "np.ndarray[tuple[int], np.dtype[np.intp]]",
    own: "np.ndarray[tuple[int], np.dtype[np.bool_]] | None",
) -> "np.ndarray[tuple[int], np.dtype[np.bool_]] | None":
    by_row = None if rows.estimated is None else rows.estimated[repeat]
    if own is None or by_row is None:
        return by_row if own is None else own
    return own | by_row


def _cells(
    rows: Parsed,
    matrix: "np.ndarray[tuple[int, int], np.dtype[np.float64]]",
    day: DayRow,
    flags: "np.ndarray[tuple[int, int], np.dtype[np.bool_]] | None",
) -> Parsed:
    """One reading a cell; an empty cell beyond the usual day is no reading."""
    which = rows.values.astype(np.intp)
    matrix = matrix[which]
    count, width = matrix.shape
    usual = width - day.extra
    values = matrix.ravel()
    real = np.isfinite(matrix)
    real[:, :usual] = True
    chosen = real.ravel()
    order = np.tile(np.arange(width, dtype=np.int32), count)
    repeat = np.repeat(np.arange(count), width)
    stamps = rows.stamps
    pair = stamps.pair
    parsed = Parsed(
        name=rows.name,
        signature=rows.signature,
        stamps=Stamps(
            stamps.readable[repeat],
            stamps.day[repeat],
            np.zeros(count * width, np.int32),
            None,
            None if stamps.undecided is None else stamps.undecided[repeat],
            None if pair is None else (pair[0][repeat], pair[1][repeat], pair[2][repeat]),
            shapes=["one day a row"],
        ),
        values=values,
        lines=rows.lines[repeat],
        ordinal=order,
        estimated=_estimated(rows, repeat, None if flags is None else flags[which].ravel()),
        factor=None if rows.factor is None else rows.factor[repeat],
        unreadable={why: np.repeat(lines, usual) for why, lines in rows.unreadable.items()},
        unit=rows.unit,
        unit_why=rows.unit_why,
        side="start",
        side_why=day.why,
        clock_words=rows.clock_words,
        interval_seconds=day.seconds,
        interval_why=rows.interval_why,
        inferred=rows.inferred,
        remarks=rows.remarks,
    )
    parsed.keep(chosen)
    parsed.set_aside(NOT_NUMBER, np.isinf(parsed.values))
    return parsed
