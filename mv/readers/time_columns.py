"""Which columns hold the time: one stamp, a date beside a clock or an hour number, start and end."""

import re

from mv.base.errors import ReadingError
from mv.readers.column_kinds import named_column
from mv.readers.layout import SERIAL_DAYS, Layout
from mv.readers.roles import TimeColumns
from mv.readers.wanted import Wanted
from mv.readers.words import (
    END,
    START,
    TIME,
    plain,
)  # fmt: skip


def time_columns(
    layout: Layout, kinds: list[str], heads: list[str], wanted: Wanted, file: str
) -> tuple[TimeColumns | None, TimeColumns | None, str]:
    if wanted.time_column:
        return _stated_time(layout, kinds, heads, wanted, file)
    moments = [c for c, kind in enumerate(kinds) if kind in ("stamp", "epoch") and not _other_use(heads[c])]
    stamps = [c for c in moments if kinds[c] == "stamp"] or _epochs(layout, moments)
    if stamps and "clock" in kinds:  # a workbook writes a date as its midnight
        at_midnight = [c for c in stamps if _all_midnight(layout, c)]
        kinds = ["date" if c in at_midnight else kind for c, kind in enumerate(kinds)]
        stamps = [c for c in stamps if c not in at_midnight]
    if not stamps:
        return _date_and_clock(layout, kinds, heads, wanted, file)
    if len(stamps) > 1:
        varying = [column for column in stamps if _varies(layout, column)]
        stamps = varying or stamps
    forms = {column: _form(layout, column, kinds[column]) for column in stamps}
    starts = [c for c in stamps if START.search(heads[c]) and not END.search(heads[c])]
    ends = [c for c in stamps if END.search(heads[c]) and not START.search(heads[c])]
    if starts and ends:
        start, end = starts[0], ends[0]
        return TimeColumns(start, form=forms[start]), TimeColumns(end, form=forms[end]), heads[start]
    chosen = starts[0] if starts else stamps[0]
    if not starts and ends and len(stamps) == 1:
        return None, TimeColumns(ends[0], form=forms[ends[0]]), heads[ends[0]]
    return TimeColumns(chosen, form=forms[chosen]), None, heads[chosen]


def _all_midnight(layout: Layout, column: int) -> bool:
    cells = [row[column].strip() for row in layout.rows if column < len(row) and row[column].strip()]
    return bool(cells) and all(re.search(r"[T ]00:00(:00)?$", cell) for cell in cells)


def _other_use(head: str) -> bool:
    return bool(
        re.search(
            r"update|modif|import(ed)? (at|on)|export(ed)? (at|on)|creat|received|publish|processed", head
        )
    )


def _epochs(layout: Layout, columns: list[int]) -> list[int]:
    """Of the columns that may hold epoch numbers, those that vary and are headed or come first."""
    return [c for c in columns if _varies(layout, c) and (c == 0 or TIME.search(plain(layout.header[c])))]


def _varies(layout: Layout, column: int) -> bool:
    return len({row[column] for row in layout.rows if column < len(row)} - {""}) > 1 or len(layout.rows) == 1


def _form(layout: Layout, column: int, kind: str) -> str:
    if kind != "epoch":
        return "text"
    cell = next(row[column] for row in layout.rows if column < len(row) and row[column].strip())
    digits = re.sub(r"[.,]0*$", "", cell.strip().strip('"'))
    return "text" if len(digits) in (8, 12, 14) else "epoch"


def _stated_time(
    layout: Layout, kinds: list[str], heads: list[str], wanted: Wanted, file: str
) -> tuple[TimeColumns | None, TimeColumns | None, str]:
    name = str(wanted.time_column)
    if " + " in name and name not in layout.header:
        first, second = (
            named_column(layout, part, key="time_column", wanted=wanted, file=file)
            for part in name.split(" + ", 1)
        )
        beside = _clock_beside(layout, kinds, heads, first)
        form = beside.form if beside and beside.clock == second else "text"
        return TimeColumns(first, second, form), None, f"{heads[first]} {heads[second]}"
    column = named_column(layout, name, key="time_column", wanted=wanted, file=file)
    words = heads[column]
    if kinds[column] == "number" and _serials(layout, column):
        return TimeColumns(column, form="serial"), None, words
    if kinds[column] == "date" or (kinds[column] == "epoch" and len(_first_cell(layout, column)) == 8):
        found = _clock_beside(layout, kinds, heads, column)
        if found:
            return found, None, f"{words} {heads[found.clock or 0]}"
    if kinds[column] not in ("stamp", "date", "epoch"):
        raise ReadingError(
            f"column {layout.header[column]!r} does not hold times",
            file=file,
            place=f"line {layout.body_line}",
            value=_first_cell(layout, column),
            remedy=f"Set time_column in {wanted.table} to the heading of the times.",
        )
    time = TimeColumns(column, form=_form(layout, column, kinds[column]))
    if END.search(words) and not START.search(words):
        return None, time, words
    return time, None, words


def _first_cell(layout: Layout, column: int) -> str:
    return next((r[column].strip() for r in layout.rows if column < len(r) and r[column].strip()), "")


def _date_and_clock(
    layout: Layout, kinds: list[str], heads: list[str], wanted: Wanted, file: str
) -> tuple[TimeColumns | None, TimeColumns | None, str]:
    dates = [c for c, kind in enumerate(kinds) if kind == "date"]
    dates += [c for c, k in enumerate(kinds) if k == "epoch" and len(_first_cell(layout, c)) == 8]
    clocks = [c for c, kind in enumerate(kinds) if kind == "clock"]
    if dates and len(clocks) >= 2:
        times = _paired(dates, clocks, heads)
        if times:
            return times
    if dates:
        for date in dates:
            found = _clock_beside(layout, kinds, heads, date)
            if found and found.clock is not None:
                words = f"{heads[found.date]} {heads[found.clock]}"
                if END.search(heads[found.clock]) and not START.search(words):
                    return None, found, words
                return found, None, words
        return _dates_alone(layout, kinds, heads, dates)
    serial = [
        c
        for c, kind in enumerate(kinds)
        if kind == "number" and _serials(layout, c) and TIME.search(heads[c])
    ]
    if serial:
        return TimeColumns(serial[0], form="serial"), None, heads[serial[0]]
    raise ReadingError(
        "has no column of dates and times that can be told",
        file=file,
        place=f"line {layout.header_line or layout.body_line}",
        value=", ".join(layout.header[:12]),
        remedy=f"Set time_column in {wanted.table}.",
    )


def _dates_alone(
    layout: Layout, kinds: list[str], heads: list[str], dates: list[int]
) -> tuple[TimeColumns | None, TimeColumns | None, str]:
    """Dates without a clock: the first and the last day of each reading, or the day of each."""
    varying = [c for c in dates if kinds[c] == "date" and _varies(layout, c)]
    starts = [c for c in varying if START.search(heads[c]) and not END.search(heads[c])]
    ends = [c for c in varying if END.search(heads[c]) and not START.search(heads[c])]
    if starts and ends:
        return TimeColumns(starts[0]), TimeColumns(ends[0]), heads[starts[0]]
    return TimeColumns(dates[0], form="text"), None, heads[dates[0]]


def _paired(
    dates: list[int], clocks: list[int], heads: list[str]
) -> tuple[TimeColumns | None, TimeColumns | None, str] | None:
    """Start and end clocks, each with its own date or one date for both."""
    starts = [c for c in clocks if START.search(heads[c])]
    ends = [c for c in clocks if END.search(heads[c])]
    if not starts or not ends:
        return None
    start_dates = [d for d in dates if START.search(heads[d])] or dates[:1]
    end_dates = [d for d in dates if END.search(heads[d])]
    start = TimeColumns(start_dates[0], starts[0])
    end = TimeColumns(end_dates[0], ends[0]) if end_dates else None
    return start, end, f"{heads[start.date]} {heads[starts[0]]}"


def _clock_beside(layout: Layout, kinds: list[str], heads: list[str], date: int) -> TimeColumns | None:
    clocks = [c for c, kind in enumerate(kinds) if kind == "clock"]
    if clocks:
        headed = [c for c in clocks if TIME.search(heads[c])]
        return TimeColumns(date, (headed or clocks)[0])
    hours = [
        c
        for c, kind in enumerate(kinds)
        if kind in ("number", "state") and c != date and re.search(r"^(hora|hour|heure|stunde|ora|uur|he|"
            r"hb|time|period[eo]?|intervalo?|slot|"
        r"hour ?(ending|beginning|of day|no)?|settlement ?period|hh|hhmm|zeit|uhrzeit|tijd|quarter|"
        r"int)\b", heads[c])
    ]  # fmt: skip
    if not hours:
        return None
    cells = [row[hours[0]].strip() for row in layout.rows if hours[0] < len(row) and row[hours[0]].strip()]
    digits = {len(cell) if cell.isdigit() else 0 for cell in cells}
    form = {4: "hhmm", 6: "hhmmss"}.get(digits.pop(), "hour") if len(digits) == 1 else "hour"
    return TimeColumns(date, hours[0], form)


def _serials(layout: Layout, column: int) -> bool:
    try:
        cells = [
            float(row[column].replace(",", ".")) for row in layout.rows if column < len(row) and row[column]
        ]
    except ValueError:
        return False
    return (
        bool(cells) and all(SERIAL_DAYS[0] < cell < SERIAL_DAYS[1] for cell in cells) and len(set(cells)) > 1
    )
