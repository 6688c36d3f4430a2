"""Which column is the time, which the reading, which the register, unit and quality."""

import re
from collections import Counter
from dataclasses import dataclass, field, replace

from mv.base.errors import ReadingError
from mv.readers.choice import ChoiceError
from mv.readers.layout import SERIAL_DAYS, Layout, number_with_unit
from mv.readers.unit_names import Unit, unit_in, unit_of
from mv.readers.wanted import Wanted
from mv.readers.words import (
    ACTUAL,
    CHANNEL,
    END,
    ESTIMATED,
    ESTIMATED_HEAD,
    IDENTIFIER,
    LIGHT,
    NO_READING,
    QUALITY,
    START,
    TIME,
    UNIT,
    VALUE,
    WHOLE,
    plain,
)  # fmt: skip

MOSTLY = 0.8  # share of a column's filled cells that makes its kind; common practice, no source
_OF_PURPOSE = {
    "meter": ("energy", "power", "current", "pulses"),
    "weather": ("temperature",),
    "occupancy": ("share",),
    "motion": (),
}


@dataclass(frozen=True)
class TimeColumns:
    """Where a moment is written: one column, or a date beside a clock or an hour number.

    `form` is text, epoch, serial, hour, hhmm or hhmmss.
    """

    date: int
    clock: int | None = None
    form: str = "text"

    @property
    def all(self) -> list[int]:
        """Every column it takes."""
        return [self.date] if self.clock is None else [self.date, self.clock]


@dataclass(frozen=True)
class TextColumns:
    """Columns beside time and reading: unit, quality flags, and keys that part registers or meters.

    `multiplier` is a column of one number that the file names a multiplier.
    """

    unit: int | None = None
    quality: tuple[int, ...] = ()
    keys: tuple[int, ...] = ()
    multiplier: tuple[int, float] | None = None

    @property
    def all(self) -> tuple[int, ...]:
        """Every column whose words are read."""
        unit = () if self.unit is None else (self.unit,)
        return tuple(dict.fromkeys([*self.keys, *self.quality, *unit]))


@dataclass(frozen=True)
class Roles:
    """The columns by what they are for."""

    start: TimeColumns | None
    end: TimeColumns | None
    values: tuple[int, ...]
    units: tuple[Unit | None, ...]
    texts: "TextColumns"
    time_words: str = ""
    inferred: dict[str, str] = field(default_factory=dict)

    @property
    def time(self) -> TimeColumns:
        """The column that stamps the reading: its start where there is one."""
        chosen = self.start or self.end
        assert chosen is not None
        return chosen


def column_kinds(layout: Layout) -> list[str]:
    """The kind most filled cells of each column have; blank where none is filled."""
    kinds = []
    for column in range(layout.width):
        cells = [row[column] for row in layout.kinds if column < len(row)]
        count = Counter(kind for kind in cells if kind != "blank")
        total = sum(count.values())
        if not total:
            kinds.append("blank")
            continue
        if count["number"] and count["epoch"] and count["number"] + count["epoch"] >= MOSTLY * total:
            kinds.append("number")
            continue
        kind, most = count.most_common(1)[0]
        if count["number"] + count["state"] >= MOSTLY * total and kind in ("number", "state"):
            kinds.append("number" if count["number"] > 0 else "state")
        else:
            kinds.append(kind if most >= 0.5 * total else "word")
    return kinds


def named_column(layout: Layout, name: str, *, key: str, wanted: Wanted, file: str) -> int:
    """The column a stated name means: its heading, or `column 2` in a file without one."""
    exact = [number for number, head in enumerate(layout.header) if head == name.strip()]
    loose = [number for number, head in enumerate(layout.header) if plain(head) == plain(name)]
    for found in (exact, loose):
        if found:
            return found[0]
    number = re.fullmatch(r"(?:column )?(\d+)", name.strip())
    if number and 1 <= int(number.group(1)) <= layout.width:
        return int(number.group(1)) - 1
    raise ReadingError(
        f"has no column {name!r}",
        file=file,
        place=f"line {layout.header_line}" if layout.header_line else None,
        value=", ".join(layout.header[:12]),
        remedy=f"Set {key} in {wanted.table} to one of these headings.",
    )


def find_roles(layout: Layout, wanted: Wanted, *, file: str) -> Roles:
    """Tell the columns apart; raises ReadingError where the reading's column is not plain."""
    kinds = column_kinds(layout)
    heads = [plain(head) for head in layout.header]
    start, end, words = _time_columns(layout, kinds, heads, wanted, file)
    taken = {column for time in (start, end) if time for column in time.all}
    units = [_column_unit(layout, column) for column in range(layout.width)]
    words_about = text_roles(layout, taken)
    quality, keys = words_about.quality, words_about.keys
    numeric = [
        column
        for column in range(layout.width)
        if column not in taken
        and column not in quality
        and column != _at(words_about.multiplier)
        and kinds[column] in ("number", "state", "epoch")
    ]
    values, inferred = _value_columns(layout, heads, units, numeric, keys, wanted, file)
    return Roles(
        start=start,
        end=end,
        values=values,
        units=tuple(units[value] for value in values),
        texts=replace(words_about, keys=tuple(key for key in keys if key not in values)),
        time_words=words,
        inferred=inferred,
    )


def _at(multiplier: tuple[int, float] | None) -> int | None:
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
        and _column_unit(layout, column) is None
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


def _column_unit(layout: Layout, column: int) -> Unit | None:
    named = unit_of(layout.units[column].strip("[]() ")) or unit_in(layout.header[column])
    if named:
        return named
    written = {
        found[1] for row in layout.rows if column < len(row) and (found := number_with_unit(row[column]))
    }
    return unit_of(written.pop()) if len(written) == 1 else None


def _time_columns(
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
        return TimeColumns(dates[0], form="text"), None, heads[dates[0]]
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
            r"hb|time|period|interval|slot|"
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
        if column in taken or re.search(r"day|week|month|season|holiday", head):
            continue
        cells = {row[column] for row in layout.rows if column < len(row)} - {""}
        if (
            kinds[column] == "word"
            and len(cells) <= max(2, 0.5 * len(layout.rows), 60 * (len(layout.rows) > 300))
        ) or (
            (
                kinds[column] in ("number", "epoch")
                and CHANNEL.search(head)
                and not _column_unit(layout, column)
            )
            and (
                len(cells) <= 60
                and all(re.fullmatch(r'(="?)?\d+"?', cell) for cell in cells)
                and not VALUE.search(head)
            )
        ):
            keys.append(column)
    return keys


def _value_columns(
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
    if len(columns) > 1:
        mean = [c for c in columns if not re.search(r"\b(max|min|peak|high|low)(imum)?\b", heads[c])]
        columns = mean or columns
    if len(columns) > 1:
        total = [
            c for c in columns if re.search(r"\b(total|sum|tot|all phases|3ph|combined|sigma)\b", heads[c])
        ]
        columns = total if len(total) == 1 else columns
    if len(columns) > 1:
        headed = [c for c in columns if VALUE.search(heads[c])]
        columns = headed if len(headed) == 1 else columns
    return columns


_PHASE = re.compile(r"(?<![a-z0-9])(?:l([123])|(?:phase|ph) ?([123abc])|([rst]) phase)(?![a-z0-9])")


def _phases(heads: list[str], units: list[Unit | None], columns: list[int]) -> tuple[int, ...]:
    """Two or three columns that differ only in the phase they name."""
    if len(columns) not in (2, 3):
        return ()
    if len({_PHASE.sub("", heads[c]) for c in columns}) != 1 or len({units[c] for c in columns}) != 1:
        return ()
    named = {match.group(0) for c in columns if (match := _PHASE.search(heads[c]))}
    return tuple(columns) if len(named) == len(columns) else ()
