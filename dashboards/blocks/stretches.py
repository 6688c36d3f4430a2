"""Stretches of days that a model does not explain, in words."""

from collections.abc import Mapping
from typing import Any

from mv.figures import day_words, estimate, rows, with_interval


def candidate_words(entry: Mapping[str, Any]) -> str:
    """When, and how far the meter lies from its model."""
    days = f"{day_words(entry['first'])} to {day_words(entry['last'])}"
    if entry.get("lasting"):
        days = f"since {day_words(entry['first'])}, to the end of the {entry.get('period')} period"
    a_day = estimate(entry, "kwh_per_day")
    if a_day is None:
        return days
    side = "more" if a_day["estimate"] > 0 else "less"
    size = a_day if a_day["estimate"] > 0 else _turned(a_day)
    return f"{days}, {with_interval(size, 'kWh')} a day {side} than the model"


def still_unexplained(result: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """The stretches that neither an event nor a finding of what changed explains."""
    return [row for row in rows(result, "event_candidates") if not (row.get("known") or row.get("finding"))]


def _turned(size: Mapping[str, Any]) -> dict[str, Any]:
    """The same amount told as "less": signs turned, ends exchanged."""
    ends = {"low": size.get("high"), "high": size.get("low")}
    told = {key: None if value is None else -value for key, value in ends.items()}
    return dict(size) | told | {"estimate": -size["estimate"]}
