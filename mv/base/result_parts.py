"""Reading result.json without stumbling over a part that is absent or null."""

from collections.abc import Mapping, Sequence
from typing import Any

Result = Mapping[str, Any]


def part(result: Result, *keys: str) -> Any | None:
    """The value at a path of keys, or None where any of them is absent or null."""
    found: Any = result
    for key in keys:
        if not isinstance(found, Mapping):
            return None
        found = found.get(key)
    return found


def rows(result: Result, *keys: str) -> list[Mapping[str, Any]]:
    """The list of records at a path of keys; empty where absent."""
    found = part(result, *keys)
    if not isinstance(found, Sequence) or isinstance(found, str):
        return []
    return [row for row in found if isinstance(row, Mapping)]


def estimate(result: Result, *keys: str) -> Mapping[str, Any] | None:
    """The estimate at a path of keys; None where it cannot be given."""
    found = part(result, *keys)
    if not isinstance(found, Mapping) or found.get("estimate") is None:
        return None
    return found


def why_not(result: Result, *fragments: str) -> str | None:
    """The first reason in `cannot_say` whose subject mentions any of the fragments."""
    for entry in rows(result, "cannot_say"):
        subject = str(entry.get("what", "")).lower()
        if any(fragment.lower() in subject for fragment in fragments):
            return str(entry.get("why", "")) or None
    return None
