"""One question of the setup page: its key in study.toml, how it is shown, and how an answer is read."""

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from dashboards.setup.call_lines import call_line, calls
from dashboards.setup.price_lines import price_line, prices, whole_numbers
from mv.base.errors import InputError
from mv.study_file.toml_text import Place

HOURS_LINE = re.compile(r"^\s*([A-Za-z-]+)\s*[:=]?\s+(.+)$")
DAY = re.compile(r"\d{4}-\d\d-\d\d")
YES_NO = {"": "not told", "yes": "yes", "no": "no"}
NEW = "new"  # in a place: the row that is not there yet
A_TABLE = "a table: change it in the text below"


@dataclass(frozen=True, slots=True)
class Field:
    """One question. `kind`: text, words (several lines of text), number, texts, days, span, hours, yes-no,
    choice, zone, numbers (a list of whole ones), amounts (a list of any), hour-span (of a day's clock),
    prices (one, or a line a period) or calls (a line each)."""

    place: Place
    key: str
    label: str
    kind: str = "text"
    hint: str = ""
    offered: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """Place and key as one text."""
        return json.dumps([*self.place, self.key])

    @property
    def told(self) -> str:
        """Table and key as messages on the study name them: "[[meter]] 1, unit"."""
        name, *inner = self.place
        if inner and not isinstance(inner[0], int):
            return ", ".join([f"[{name}]", *map(str, inner if inner[0] != NEW else inner[1:]), self.key])
        table = f"[[{name}]] {int(inner[0]) + 1}" if inner else f"[{name}]"
        return ", ".join([table, *map(str, inner[1:]), self.key])

    def shown(self, data: Mapping[str, Any]) -> str:
        """The value in the file, as the form shows it."""
        return _as_text(self.kind, at(data, self.place).get(self.key))

    def read(self, typed: str | None) -> Any:
        """What was typed, as the file holds it; None for nothing. Raises InputError naming the field."""
        text = (typed or "").strip()
        try:
            return _parsed(self.kind, text) if text else None
        except ValueError as error:
            raise InputError(str(error), place=self.label, value=text, remedy=self.hint or None) from None


def at(data: Mapping[str, Any], place: Place) -> Mapping[str, Any]:
    """The table at a place; an empty one where there is none."""
    found: Any = data
    for part in place:
        try:
            found = found[part]  # type: ignore[index]
        except (KeyError, IndexError, TypeError):
            return {}
    return found if isinstance(found, Mapping) else {}


def _as_text(kind: str, value: Any) -> str:
    if value is None:
        return ""
    if kind == "yes-no":
        return "yes" if value else "no"
    if kind == "hours":
        return "\n".join(f"{day} {_listed(text)}" for day, text in value.items())
    if kind in ("span", "hour-span"):
        return " to ".join(str(end) for end in value)
    if kind == "prices" and isinstance(value, list):
        return "\n".join(map(price_line, value))
    if kind == "calls":
        return "\n".join(map(call_line, value))
    if isinstance(value, list) and any(isinstance(entry, Mapping) for entry in value):
        return A_TABLE
    return _listed(value)


def _listed(value: Any) -> str:
    return ", ".join(str(entry) for entry in value) if isinstance(value, list) else str(value)


def _parsed(kind: str, text: str) -> Any:
    if kind == "number":
        return _number(text)
    if kind == "amounts":
        return [_number(part.strip()) for part in re.split(r"[,\n]", text) if part.strip()]
    if kind in LISTS:
        return LISTS[kind](text)
    if kind == "texts":
        return [part.strip() for part in re.split(r"[,\n]", text) if part.strip()]
    if kind in ("days", "span"):
        days = DAY.findall(text)
        if DAY.sub("", text).strip(" ,;\n-–to") or (kind == "span" and len(days) != 2):
            raise ValueError("is not " + ("a first and a last day" if kind == "span" else "a list of days"))
        return days
    if kind == "hours":
        return dict(_hours_line(line) for line in text.splitlines() if line.strip())
    return text == "yes" if kind == "yes-no" else text


def _number(text: str) -> int | float:
    if re.fullmatch(r"[+-]?\d+", text):
        return int(text)
    if not re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", text):
        raise ValueError("is not a number; decimals are written with a point")
    return float(text)


def _hours_line(line: str) -> tuple[str, str | list[str]]:
    match = HOURS_LINE.match(line)
    if match is None:
        raise ValueError("is not a day and its hours")
    spans = [part.strip() for part in match.group(2).split(",")]
    return match.group(1).lower(), spans[0] if len(spans) == 1 else spans


def _hour_span(text: str) -> list[int | float]:
    ends = re.fullmatch(r"\s*([\d.]+)\s*(?:to|-|–|,)\s*([\d.]+)\s*", text)
    if ends is None:
        raise ValueError("is not a first and a last hour such as 14 to 18")
    return [_number(ends.group(1)), _number(ends.group(2))]


LISTS: Mapping[str, Callable[[str], Any]] = {
    "numbers": whole_numbers,
    "hour-span": _hour_span,
    "prices": prices,
    "calls": calls,
}
