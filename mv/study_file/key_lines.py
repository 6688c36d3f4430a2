"""The line of a study file on which a key stands, for messages."""

import re

from mv.study_file.toml_text import sections


def line_of(text: str, location: tuple[str | int, ...]) -> int | None:
    """The line, from 1, of the key at a place such as ("zone", 0, "fixtures").

    A key that is written within another (an inline table, a list) is found on that other's line, one
    that is missing on the header of its table; None where neither stands in the text.
    """
    lines = text.splitlines(keepends=True)
    found = sections(lines)
    first = found[0].start if found else len(lines)
    for length in range(len(location), -1, -1):
        table, inner = location[:length], location[length:]
        section = next((each for each in found if each.place == table), None)
        start, end = (section.start + 1, section.end) if section else (0, first if not table else 0)
        at = _assigned(lines, start, end, inner[0]) if inner else None
        if at is None and section is not None:
            at = section.start
        if at is not None:
            return at + 1
    return None


def _assigned(lines: list[str], start: int, end: int, key: str | int) -> int | None:
    named = re.compile(rf"^\s*[\"']?{re.escape(str(key))}[\"']?\s*[=.]")
    return next((at for at in range(start, end) if named.match(lines[at])), None)
