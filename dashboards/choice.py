"""What the reader has chosen to look at, as it stands in the address bar."""

import re
from dataclasses import asdict, dataclass, replace
from typing import Any
from urllib.parse import parse_qs, quote, urlencode

import pandas as pd

LONGEST_QUERY = 4000  # characters; what browsers and proxies carry without trouble, common practice
STAMP = re.compile(r"\d{4}-\d\d-\d\d([T ]\d\d:\d\d(:\d\d(\.\d+)?)?)?")
MONTH = re.compile(r"\d{4}-(0[1-9]|1[0-2])")
SPANS = {"day": 1, "week": 7, "month": 31}  # days shown


@dataclass(frozen=True, slots=True)
class Choice:
    """Every choice is a text in the address, so that a view can be kept, sent and gone back to."""

    meter: str = ""
    zone: str = ""
    setting: str = ""
    bridge: str = ""
    start: str = ""  # local wall clock, ISO
    end: str = ""
    month: str = ""
    finding: str = ""

    @classmethod
    def read(cls, search: str | None) -> "Choice":
        """From an address's query; what is unknown, over-long or no date where one belongs is ignored."""
        query = (search or "").lstrip("?")
        if len(query) > LONGEST_QUERY:
            return cls()
        found = parse_qs(query)
        known = {key: values[0] for key, values in found.items() if key in cls.__dataclass_fields__}
        return cls(**{key: value for key, value in known.items() if _sensible(key, value)})

    def query(self) -> str:
        """The query, `?` included; empty where nothing is chosen."""
        chosen = {key: value for key, value in asdict(self).items() if value}
        return f"?{urlencode(chosen, quote_via=quote)}" if chosen else ""

    def but(self, **changes: Any) -> "Choice":
        """The same with some choices changed."""
        return replace(self, **changes)


def _sensible(key: str, value: str) -> bool:
    if key == "month":
        return MONTH.fullmatch(value) is not None
    if key not in ("start", "end"):
        return len(value) <= 250
    try:
        return STAMP.fullmatch(value) is not None and 1900 <= pd.Timestamp(value).year <= 2200
    except ValueError:
        return False


def window_from(choice: Choice, days: int, last: pd.Timestamp) -> Choice:
    """A window of `days` local days that begins where the choice does, else ends at `last`."""
    start = pd.Timestamp(choice.start) if choice.start else last - pd.Timedelta(days=days - 1)
    start = start.normalize()
    return choice.but(start=_text(start), end=_text(start + pd.Timedelta(days=days)))


def shifted(choice: Choice, direction: int) -> Choice:
    """The window before (-1) or after (+1) the chosen one."""
    start, end = pd.Timestamp(choice.start), pd.Timestamp(choice.end)
    step = (end - start) * direction
    return choice.but(start=_text(start + step), end=_text(end + step))


def _text(stamp: pd.Timestamp) -> str:
    return stamp.strftime("%Y-%m-%dT%H:%M")
