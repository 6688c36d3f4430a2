"""Prices by period, a line each: "afternoon 0.21 months 6-9 hours 14-18 weekdays"."""

import re
from collections.abc import Mapping
from typing import Any

_LINE = re.compile(
    r"\s*(?P<name>.+?)\s+(?P<price>[+-]?\d+\.?\d*|\.\d+)"
    r"(?:\s+months\s+(?P<months>[\d,\s-]+?))?"
    r"(?:\s+hours\s+(?P<first>[\d.]+)\s*(?:-|to)\s*(?P<last>[\d.]+))?"
    r"(?P<weekdays>\s+weekdays)?\s*",
    re.IGNORECASE,
)
HINT = "one price, or a line a period: afternoon 0.21 months 6-9 hours 14-18 weekdays"


def prices(text: str) -> float | list[dict[str, Any]]:
    """One price as a number; lines as the rows of a table. Raises ValueError for a line that is neither."""
    if re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)", text.strip()):
        return float(text)
    return [_row(line) for line in text.splitlines() if line.strip()]


def price_line(row: Mapping[str, Any]) -> str:
    """A row of the table as its line."""
    parts = [str(row.get("name")), f"{row.get('per_kwh')}"]
    if "months" in row:
        parts.append(f"months {','.join(map(str, row['months']))}")
    if "hours" in row:
        parts.append("hours " + "-".join(map(str, row["hours"])))
    return " ".join([*parts, "weekdays"] if row.get("weekdays_only") else parts)


def _row(line: str) -> dict[str, Any]:
    match = _LINE.fullmatch(line)
    if match is None:
        raise ValueError("is no price, and no line of a name, a price, and its months, hours, weekdays")
    row: dict[str, Any] = {"name": match["name"], "per_kwh": float(match["price"])}
    if match["months"]:
        row["months"] = whole_numbers(match["months"])
    if match["first"]:
        row["hours"] = [_plain(match["first"]), _plain(match["last"])]
    return row | ({"weekdays_only": True} if match["weekdays"] else {})


def whole_numbers(text: str) -> list[int]:
    """ "6, 7, 8" and "6-8" alike. Raises ValueError for anything else."""
    found: list[int] = []
    for part in re.split(r"[,\s]+", re.sub(r"\s*[-–]\s*", "-", text.strip())):
        ends = re.fullmatch(r"(\d{1,2})(?:-(\d{1,2}))?", part)
        if ends is None:
            raise ValueError("is not a list of whole numbers such as 6, 7, 8 or 6-8")
        found += range(int(ends[1]), int(ends[2] or ends[1]) + 1)
    return found


def _plain(text: str) -> int | float:
    value = float(text)
    return int(value) if value.is_integer() else value
