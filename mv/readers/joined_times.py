"""Tables whose time stands in columns of year, month, day, hour and minute, or in months alone.

Their lines are rewritten with one date (and one clock), line by line, so that line numbers hold; what
follows reads them like any other table.
"""

import re
from dataclasses import replace

from mv.readers.layout import split_line
from mv.readers.source import HEAD_BYTES, Source
from mv.readers.stamp_words import MONTHS
from mv.readers.words import plain

HEADING_LINES = 40  # the heading stands in the first lines; common practice, no source
_DELIMITERS = (";", "\t", "|", ",")
_YEAR = re.compile(r"^(year|yr|yyyy|jahr|annee|ano|anno|jaar|ar)$")
_MONTH = re.compile(r"^(month|mon|mo|mm|monat|mois|mes|mese|maand|manad|maned)$")
_DAY = re.compile(r"^(day|dd|dom|day of month|tag|jour|dia|giorno|dag)$")
_HOUR = re.compile(r"^(hour|hr|hh|stunde|heure|hora|ora|uur|timme|time)$")
_MINUTE = re.compile(r"^(minute|minutes|min|mi|minuten|minuto|minuut|minut)$")
_DATE = re.compile(r"^(date|datum|fecha|data|dato|day|tag)$")
_HINT = re.compile(r"\b(mon|mo|mm|mes|mese|mois|min|mi)\b|month|monat|maand|m[aå]n[ae]d|minu", re.IGNORECASE)
_MONTH_NUMBERS = re.compile(r"^(?:(?P<y>\d{4})[-/.](?P<m>\d{1,2})|(?P<m2>\d{1,2})[-/.](?P<y2>\d{4}))$")
_MONTH_WORDS = re.compile(
    r"^(?:(?P<w>[^\W\d]{3,10})\.?[ \-/'’]+(?P<y>\d{4}|\d\d)|(?P<y2>\d{4})[ \-/]+(?P<w2>[^\W\d]{3,10})\.?)$"
)
_MOSTLY = 0.8  # share of lines below the heading that must have the form; common practice, no source


def with_joined_times(source: Source) -> Source | None:
    """The source with year, month and day (or hour and minute) in one column; None where it has no such."""
    text = "\n".join(source.head_text().split("\n", HEADING_LINES)[:HEADING_LINES])
    if not _HINT.search(text):
        return None
    for number, line in enumerate(text.split("\n")):
        for delimiter in _DELIMITERS:
            heads = [plain(cell) for cell in split_line(line, delimiter)]
            places = _places(heads)
            if places:
                return _rewritten(source, number, delimiter, places)
    return None


def _places(heads: list[str]) -> list[tuple[str, tuple[int, ...]]]:
    """The columns to be joined: their new name and their numbers, in the order of the parts."""
    if len(heads) < 4:
        return []
    found = [_only(heads, words) for words in (_YEAR, _MONTH, _DAY, _HOUR, _MINUTE)]
    year, month, day, hour, minute = found
    places: list[tuple[str, tuple[int, ...]]] = []
    if year is not None and month is not None and day is not None:
        places.append(("date", (year, month, day)))
    if hour is not None and minute is not None and (places or _only(heads, _DATE) is not None):
        places.append(("time", (hour, minute)))
    return places


def _only(heads: list[str], words: re.Pattern[str]) -> int | None:
    columns = [column for column, head in enumerate(heads) if words.match(head)]
    return columns[0] if len(columns) == 1 else None


def _rewritten(
    source: Source, heading: int, delimiter: str, places: list[tuple[str, tuple[int, ...]]]
) -> Source | None:
    with source.stream() as stream:
        lines = stream.read().decode(_codec(source), "replace").splitlines()
    out, joined = [], 0
    for number, line in enumerate(lines):
        cells = split_line(line, delimiter) if line.strip() else []
        if number == heading:
            out.append(delimiter.join(_with_joined(cells, places, [name for name, _ in places])))
            continue
        parts = [_joined_cell(name, cells, columns) for name, columns in places] if number > heading else []
        if parts and all(parts):
            joined += 1
            out.append(delimiter.join(_quoted(c, delimiter) for c in _with_joined(cells, places, parts)))
        else:
            out.append(line)
    if joined < _MOSTLY * max(len([line for line in lines[heading + 1 :] if line.strip()]), 1):
        return None
    return _as_source(source, out)


def _with_joined(cells: list[str], places: list[tuple[str, tuple[int, ...]]], parts: list[str]) -> list[str]:
    """The cells with each group's first replaced by its joined form and its others left out."""
    gone = {column for _, columns in places for column in columns[1:]}
    new = {columns[0]: part for (_, columns), part in zip(places, parts, strict=True)}
    return [new.get(column, cell) for column, cell in enumerate(cells) if column not in gone]


def _quoted(cell: str, delimiter: str) -> str:
    return '"' + cell.replace('"', '""') + '"' if delimiter in cell else cell


def _joined_cell(name: str, cells: list[str], columns: tuple[int, ...]) -> str:
    if max(columns) >= len(cells):
        return ""
    texts = [cells[column].strip().removesuffix(".0") for column in columns]
    if name == "date" and not texts[1].isdigit():
        texts[1] = str(MONTHS.get(plain(texts[1]).strip("."), ""))
    if not all(text.isdigit() for text in texts):
        return ""
    if name == "date":
        return f"{texts[0]}-{int(texts[1]):02d}-{int(texts[2]):02d}" if len(texts[0]) == 4 else ""
    return f"{int(texts[0]):02d}:{int(texts[1]):02d}"


def with_month_dates(source: Source) -> Source | None:
    """The source with months ("Jan 2023", "2023-01", "01/2023") as their first days; None without any."""
    with source.stream() as stream:
        lines = stream.read(HEAD_BYTES).decode(_codec(source), "replace").splitlines()
    if len(lines) > 1000:
        return None  # more months than these are not bills
    for delimiter in _DELIMITERS:
        out: list[str] = []
        found = filled = 0
        for line in lines:
            cells = split_line(line, delimiter)
            first = _first_of_month(cells[0]) if len(cells) > 1 else ""
            filled += len(cells) > 1
            if first and not found and out:  # a month names its readings' beginning
                out[-1] = delimiter.join(["month (start)", *split_line(out[-1], delimiter)[1:]])
            found += bool(first)
            out.append(delimiter.join(_quoted(c, delimiter) for c in [first, *cells[1:]]) if first else line)
        if found >= 2 and found >= 0.5 * filled:
            return _as_source(source, out)
    return None


def _first_of_month(cell: str) -> str:
    text = cell.strip().strip("\"'")
    numbers, words = _MONTH_NUMBERS.match(text), _MONTH_WORDS.match(text)
    if numbers:
        year, month = numbers["y"] or numbers["y2"], int(numbers["m"] or numbers["m2"])
    elif words:
        year, month = words["y"] or words["y2"], MONTHS.get(plain(words["w"] or words["w2"]), 0)
        year = year if len(year) == 4 else f"20{year}"
    else:
        return ""
    return f"{year}-{month:02d}-01" if 1 <= month <= 12 else ""


def _codec(source: Source) -> str:
    return "cp1252" if source.encoding == "cp1252" else "utf-8"


def _as_source(source: Source, lines: list[str]) -> Source:
    data = ("\n".join(lines) + "\n").encode("utf-8")
    return replace(source, encoding="utf-8", head=data[:HEAD_BYTES], packed=False, data=data)
