"""What the reader has chosen to look at, as it stands in the address bar."""

from dataclasses import asdict, dataclass, replace
from typing import Any
from urllib.parse import parse_qs, quote, urlencode

import pandas as pd

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

    @classmethod
    def read(cls, search: str | None) -> "Choice":
        """From an address's query; unknown keys are ignored, over-long values refused."""
        found = parse_qs((search or "").lstrip("?"), max_num_fields=20)
        known = {key: values[0] for key, values in found.items() if key in cls.__dataclass_fields__}
        return cls(**{key: value for key, value in known.items() if len(value) <= 250})

    def query(self) -> str:
        """The query, `?` included; empty where nothing is chosen."""
        chosen = {key: value for key, value in asdict(self).items() if value}
        return f"?{urlencode(chosen, quote_via=quote)}" if chosen else ""

    def but(self, **changes: Any) -> "Choice":
        """The same with some choices changed."""
        return replace(self, **changes)


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
