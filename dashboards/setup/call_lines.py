"""Demand-response calls, a line each: "2024-07-16 15:00 to 18:00"."""

import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

_LINE = re.compile(
    r"\s*(\d{4}-\d\d-\d\d)[T ]+(\d\d?:\d\d)(?::00)?\s*(?:to|-|–)\s*"
    r"(?:(\d{4}-\d\d-\d\d)[T ]+)?(\d\d?:\d\d)(?::00)?\s*"
)
HINT = "a line a call, local clock: 2024-07-16 15:00 to 18:00"


def calls(text: str) -> list[dict[str, datetime]]:
    """The rows of the table. Raises ValueError for a line that is no call."""
    return [_row(line) for line in text.splitlines() if line.strip()]


def call_line(row: Mapping[str, Any]) -> str:
    """A row of the table as its line."""
    first, last = (datetime.fromisoformat(str(row.get(end))) for end in ("first", "last"))
    day = "" if last.date() == first.date() else f"{last:%Y-%m-%d} "
    return f"{first:%Y-%m-%d %H:%M} to {day}{last:%H:%M}"


def _row(line: str) -> dict[str, datetime]:
    match = _LINE.fullmatch(line)
    if match is None:
        raise ValueError("is no day with the begin and the end of a call")
    day, begin, last_day, end = match.groups()
    return {"first": _moment(day, begin), "last": _moment(last_day or day, end)}


def _moment(day: str, clock: str) -> datetime:
    return datetime.fromisoformat(f"{day}T{clock:0>5}:00")
