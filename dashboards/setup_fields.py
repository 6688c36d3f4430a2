"""What the setup page asks, each with its key in study.toml, and how an answer is read."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from mv.base.errors import InputError
from mv.toml_text import Place

HOURS_LINE = re.compile(r"^\s*([A-Za-z-]+)\s*[:=]?\s+(.+)$")
DAY = re.compile(r"\d{4}-\d\d-\d\d")
YES_NO = {"": "not told", "yes": "yes", "no": "no"}
NEW = "new"


@dataclass(frozen=True, slots=True)
class Field:
    """One question. `kind`: text, number, texts, days, span, hours, yes-no, or choice."""

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

    def shown(self, data: Mapping[str, Any]) -> str:
        """The value in the file, as the form shows it."""
        return _as_text(self.kind, _at(data, self.place).get(self.key))

    def read(self, typed: str | None) -> Any:
        """What was typed, as the file holds it; None for nothing. Raises InputError naming the field."""
        text = (typed or "").strip()
        try:
            return _parsed(self.kind, text) if text else None
        except ValueError as error:
            raise InputError(str(error), place=self.label, value=text, remedy=self.hint or None) from None


def _at(data: Mapping[str, Any], place: Place) -> Mapping[str, Any]:
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
    if kind == "span":
        return " to ".join(str(day) for day in value)
    return _listed(value)


def _listed(value: Any) -> str:
    return ", ".join(str(entry) for entry in value) if isinstance(value, list) else str(value)


def _parsed(kind: str, text: str) -> Any:
    if kind == "number":
        return _number(text)
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


SITE = (
    Field(("study",), "title", "Title of the study"),
    Field(("site",), "name", "Name of the site"),
    Field(("site",), "latitude", "Latitude", "number", "degrees, north positive, such as 44.52"),
    Field(("site",), "longitude", "Longitude", "number", "degrees, east positive, such as -89.57"),
    Field(("site",), "timezone", "Time zone", "zone", "IANA name, such as America/Chicago"),
)
PERIODS = (
    Field(
        ("periods",), "baseline", "Before the retrofit", "span", "first to last day: 2023-01-01 to 2023-12-31"
    ),
    Field(
        ("periods",), "reporting", "After it", "span", "what lies between the two is installation, set aside"
    ),
)
PROMISE = (
    Field(("predicted",), "annual_kwh", "Saving promised, kWh a year", "number"),
    Field(("predicted",), "peak_kw", "Peak reduction promised, kW", "number"),
    Field(("predicted",), "inventory", "Or the inventory they follow from", hint="a CSV in the folder"),
)
USE = (
    Field(
        ("occupancy",),
        "hours",
        "Opening hours",
        "hours",
        "a line a day or span of days: mon-fri 08:00-18:00",
    ),
    Field(("occupancy",), "holidays", "Days treated as closed", "days", "such as 2023-07-04; commas between"),
    Field(("occupancy",), "files", "Occupancy files", "texts", "paths in the folder; commas between"),
    Field(("weather",), "files", "Outdoor temperature files", "texts", "for whole-building meters"),
)


def meter_fields(number: int) -> tuple[Field, ...]:
    """The keys by which a meter's files are read."""
    at: Place = ("meter", number)
    return (
        Field(at, "files", "Files", "texts", "paths in the folder; * stands for any text; commas between"),
        Field(at, "measures", "Feeds", "choice", offered=("lighting", "whole building")),
        Field(
            at,
            "quantity",
            "Quantity",
            offered=("energy", "power", "register", "current", "on-off", "pulses"),
        ),
        Field(at, "unit", "Unit", hint="such as kWh, W or A"),
        Field(at, "stamp", "Stamp stands at the interval's", offered=("start", "end")),
        Field(
            at,
            "clock",
            "Clock of the file",
            hint="site, UTC, -06:00 or an IANA zone",
            offered=("site", "UTC"),
        ),
        Field(at, "date_order", "Order of dates", offered=("day first", "month first", "year first")),
        Field(at, "time_column", "Time column"),
        Field(at, "value_column", "Value column"),
        Field(at, "channel", "Channel"),
        Field(at, "multiplier", "Multiplier", "number", "of the transformers, where the file leaves it out"),
        Field(at, "interval_minutes", "Interval, minutes", "number"),
    )


def zone_fields(number: int | str) -> tuple[Field, ...]:
    """A zone and what was agreed for it at hand-over."""
    at: Place = ("zone", number)
    agreed: Place = ("zone", number, "commissioned")
    return (
        Field(at, "id", "Name of the zone"),
        Field(at, "meter", "Its meter"),
        Field(at, "fixtures", "Fixtures", "number"),
        Field(at, "watts_before", "Watts of one fixture before", "number", "input power"),
        Field(at, "watts_after", "Watts of one fixture after", "number", "input power"),
        Field(at, "motion", "Motion logs", "texts", "paths in the folder; commas between"),
        Field(agreed, "high_trim", "Agreed: full-on level", "number", "share of connected load, 0 to 1"),
        Field(agreed, "low_level", "Agreed: level when vacant", "number", "0 to 1; 0 is off"),
        Field(agreed, "hold_minutes", "Agreed: minutes after the last motion", "number"),
        Field(agreed, "daylight_dimming", "Agreed: dims with daylight", "yes-no"),
        Field(agreed, "scheduled_off", "Agreed: off outside opening hours when vacant", "yes-no"),
        Field(agreed, "standby_watts", "Agreed: watts of one fixture when off", "number"),
    )
