"""Changes one value or one row of a TOML text; every other line, comment and blank stays as it is.

A place is a path of names and row numbers: ("site",), ("meter", 0), ("zone", 1, "commissioned").
Each change is made by lines and then read back: where the text does not mean exactly what was asked
for, the change is made by tomlkit's own document instead.
"""

import copy
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

Place = tuple[str | int, ...]
Table = dict[str, Any]
OPEN_MARK = re.compile(r"FILL IN:\s*")
_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\[\]=]+?)\s*\]\]?\s*(#.*)?$")
_SHUT_HEADER = re.compile(r"^\s*#\s*\[\[?\s*([^\[\]=]+?)\s*\]\]?")


@dataclass(frozen=True, slots=True)
class Section:
    """The lines from a header to the next one; `keys_end` is the line after its last key."""

    place: Place
    start: int
    end: int
    keys_end: int


def with_value(text: str, place: Place, key: str, value: Any) -> str:
    """The text with `key` set in the table at `place`; None turns the key's line into a comment."""
    wanted = tomllib.loads(text)
    if value is None and key not in (_table(wanted, place) or {}):
        return text
    if value is not None and (_table(wanted, place) or {}).get(key) == value:
        return text
    _set(wanted, place, key, value)
    ways: list[Callable[[str, Place, str, Any], str | None]]
    ways = [_commented_out] if value is None else [_replaced, _opened_again, _inserted, _appended]
    for way in ways:
        changed = way(text, place, key, value)
        if changed is not None and _means(changed, wanted):
            return changed
    return _by_document(text, lambda document: _set(document, place, key, value))


def with_row(text: str, name: str, values: Mapping[str, Any]) -> str:
    """The text with one more [[name]], after the last one."""
    row = _without_none(values)
    wanted = tomllib.loads(text)
    wanted.setdefault(name, []).append(row)
    lines = text.splitlines(keepends=True)
    blocks = [section for section in sections(lines) if section.place[:1] == (name,)]
    at = max((section.keys_end for section in blocks), default=len(lines))
    changed = _spliced(lines, at, at, ["", *_row_lines(name, row)])
    if _means(changed, wanted):
        return changed
    return _by_document(text, lambda document: document.setdefault(name, tomlkit.aot()).append(row))


def without_row(text: str, name: str, number: int) -> str:
    """The text without the row `number` of [[name]]; comments before and after it stay."""
    wanted = tomllib.loads(text)
    del wanted[name][number]
    if not wanted[name]:
        del wanted[name]
    lines = text.splitlines(keepends=True)
    own = [section for section in sections(lines) if section.place[:2] == (name, number)]
    if own:
        changed = _spliced(lines, own[0].start, max(section.keys_end for section in own), [])
        if _means(changed, wanted):
            return changed
    return _by_document(text, lambda document: _drop(document, name, number))


def without_empty_table(text: str, name: str) -> str:
    """The text with the header of [name] as a comment where the table holds nothing."""
    wanted = tomllib.loads(text)
    if wanted.get(name) != {}:
        return text
    del wanted[name]
    lines = text.splitlines(keepends=True)
    found = _section(lines, (name,))
    if found is not None:
        lines[found.start] = f"# {lines[found.start].lstrip()}"
        if _means("".join(lines), wanted):
            return "".join(lines)
    return _by_document(text, lambda document: document.pop(name))


def _drop(document: Any, name: str, number: int) -> None:
    del document[name][number]
    if not document[name]:
        del document[name]


def _replaced(text: str, place: Place, key: str, value: Any) -> str | None:
    """The value of a key that is there, its comment kept but for the mark that it was to be filled in."""
    if key not in (_table(tomllib.loads(text), place) or {}):
        return None
    changed = _by_document(text, lambda document: _set(document, place, key, value))
    lines = changed.splitlines(keepends=True)
    found, named = _section(lines, place), _naming(key)
    for at in range(found.start + 1, found.end) if found is not None else ():
        if named.match(lines[at]):
            lines[at] = re.sub(rf"#\s*{OPEN_MARK.pattern}", "# ", lines[at])
    return "".join(lines)


def _opened_again(text: str, place: Place, key: str, value: Any) -> str | None:
    """A key, or its whole table, that stands there as a comment."""
    lines = text.splitlines(keepends=True)
    found = _section(lines, place)
    shut = re.compile(rf"^\s*#\s*{re.escape(key)}\s*=[^#]*(#.*)?$")
    if found is not None:
        start, header = found.start + 1, None
        end = next((i for i in range(start, found.end) if _SHUT_HEADER.match(lines[i])), found.end)
    else:
        header = _shut_header(lines, place)
        if header is None:
            return None
        start = header + 1
        end = next((i for i in range(start, len(lines)) if not lines[i].lstrip().startswith("#")), len(lines))
    for at in range(start, end):
        match = shut.match(lines[at].rstrip("\r\n"))
        if match:
            note = OPEN_MARK.sub("", match.group(1) or "")
            new = f"{_assignment(key, value):<39}{note}".rstrip()
            if header is not None:
                lines[header] = re.sub(r"#\s*", "", lines[header], count=1)
            return _spliced(lines, at, at + 1, [new])
    return None


def _shut_header(lines: list[str], place: Place) -> int | None:
    for number, line in enumerate(lines):
        match = _SHUT_HEADER.match(line)
        if match and tuple(_names(match.group(1))) == place and "[[" not in line:
            return number
    return None


def _inserted(text: str, place: Place, key: str, value: Any) -> str | None:
    """After the last key of the table, or in a new table within its row."""
    lines = text.splitlines(keepends=True)
    found = _section(lines, place)
    if found is not None:
        return _spliced(lines, found.keys_end, found.keys_end, [_assignment(key, value)])
    row = _section(lines, place[:-1]) if len(place) == 3 else None
    if row is None:
        return None
    new = [_header(place), _assignment(key, value)]
    return _spliced(lines, row.keys_end, row.keys_end, new)


def _appended(text: str, place: Place, key: str, value: Any) -> str | None:
    lines = text.splitlines(keepends=True)
    new = ["", _header(place), _assignment(key, value)]
    return _spliced(lines, len(lines), len(lines), new)


def _commented_out(text: str, place: Place, key: str, value: None) -> str | None:
    lines = text.splitlines(keepends=True)
    found = _section(lines, place)
    if found is None:
        return None
    named = _naming(key)
    for at in range(found.start + 1, found.end):
        if named.match(lines[at]):
            lines[at] = f"# {lines[at].lstrip()}"
            return "".join(lines)
    return None


def _naming(key: str) -> re.Pattern[str]:
    return re.compile(rf"^\s*[\"']?{re.escape(key)}[\"']?\s*=")


def sections(lines: list[str]) -> list[Section]:
    """The tables of the text, each with its lines."""
    headers = [(number, match) for number, line in enumerate(lines) if (match := _HEADER.match(line))]
    counts: dict[tuple[str, ...], int] = {}
    found = []
    for order, (start, match) in enumerate(headers):
        names = tuple(_names(match.group(2)))
        if match.group(1) == "[[":
            counts[names] = counts.get(names, -1) + 1
        end = headers[order + 1][0] if order + 1 < len(headers) else len(lines)
        found.append(Section(_place(names, counts), start, end, _keys_end(lines, start, end)))
    return found


def _keys_end(lines: list[str], start: int, end: int) -> int:
    while end > start + 1 and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
        end -= 1
    return end


def _section(lines: list[str], place: Place) -> Section | None:
    return next((section for section in sections(lines) if section.place == place), None)


def _place(names: tuple[str, ...], counts: Mapping[tuple[str, ...], int]) -> Place:
    """The names with the numbers of the rows that they are in."""
    place: list[str | int] = []
    for length, name in enumerate(names, 1):
        place.append(name)
        if names[:length] in counts:
            place.append(counts[names[:length]])
    return tuple(place)


def _names(dotted: str) -> list[str]:
    return [part.strip().strip("\"'") for part in dotted.split(".")]


def _header(place: Place) -> str:
    return f"[{'.'.join(_key(str(part)) for part in place if isinstance(part, str))}]"


def _row_lines(name: str, row: Mapping[str, Any]) -> list[str]:
    plain = [_assignment(key, value) for key, value in row.items() if not isinstance(value, Mapping)]
    lines = [f"[[{name}]]", *plain]
    for sub, values in row.items():
        if isinstance(values, Mapping) and values:
            lines += [f"[{name}.{_key(sub)}]", *(_assignment(key, value) for key, value in values.items())]
    return lines


def _assignment(key: str, value: Any) -> str:
    return f"{_key(key)} = {tomlkit.item(value).as_string()}"


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else tomlkit.item(name).as_string()


def _spliced(lines: list[str], start: int, end: int, new: list[str]) -> str:
    """The lines with those from `start` to `end` replaced; line ends are those of the text."""
    ending = "\r\n" if lines and lines[0].endswith("\r\n") else "\n"
    before = "".join(lines[:start])
    if new and before and not before.endswith("\n"):
        before += ending
    return before + "".join(f"{line}{ending}" for line in new) + "".join(lines[end:])


def _table(data: Any, place: Place) -> Any:
    for part in place:
        if isinstance(part, int) or part in data:
            data = data[part]
        else:
            return None
    return data


def _set(data: Any, place: Place, key: str, value: Any) -> None:
    for part in place:
        data = data[part] if isinstance(part, int) else data.setdefault(part, {})
    if value is None:
        del data[key]
    else:
        data[key] = copy.deepcopy(value)


def _without_none(values: Mapping[str, Any]) -> Table:
    inner = {key: _without_none(v) if isinstance(v, Mapping) else v for key, v in values.items()}
    return {key: value for key, value in inner.items() if value is not None and value != {}}


def _means(text: str, wanted: Table) -> bool:
    try:
        return tomllib.loads(text) == wanted
    except tomllib.TOMLDecodeError:
        return False


def _by_document(text: str, change: Callable[[Any], Any]) -> str:
    try:
        document = tomlkit.parse(text)
        change(document)
        return document.as_string()
    except TOMLKitError as error:
        raise ValueError(f"the text cannot be changed in place: {error}") from None
