"""What cannot be said, in plain names, each reason told once."""

import re
from typing import Any

from mv.base import wording
from mv.base.result_parts import Result, rows
from mv.base.setting_words import SETTINGS

_IN_ZONE = re.compile(r"^(\w+) in (.+)$", re.DOTALL)
NAMES = {
    "avoided_kwh": "Energy avoided in the reporting period",
    "normalised_annual_kwh": "Saving in a typical year",
    "peak_kw": "Peak reduction",
    "realisation_rate": "Share of the promise",
}


def unsaid_words(result: Result) -> list[tuple[str, str]]:
    """What, and why: settings by their plain names; what has the same reason stands together."""
    meters = list(_by_meter(result))
    by_reason: dict[str, list[str]] = {}
    for entry in rows(result, "cannot_say"):
        why = told_once(str(entry.get("why") or ""), meters)
        by_reason.setdefault(why, []).append(plain_name(str(entry.get("what") or "")))
    return [("; ".join(dict.fromkeys(names)), why) for why, names in by_reason.items()]


def _by_meter(result: Result) -> dict[str, Any]:
    savings = result.get("savings")
    found = savings.get("by_meter") if isinstance(savings, dict) else None
    return found if isinstance(found, dict) else {}


def plain_name(what: str) -> str:
    """In a client's words: "realisation_rate" as "Share of the promise"."""
    return NAMES.get(what) or spoken_name(what)


def spoken_name(what: str) -> str:
    """In the trade's words: "high_trim in stairs" as "Full-on level in stairs"."""
    match = _IN_ZONE.match(what)
    if match and match[1] in SETTINGS:
        return f"{SETTINGS[match[1]].name} in {match[2]}"
    text = SETTINGS[what].name if what in SETTINGS else what.replace("_", " ")
    return text[:1].upper() + text[1:]


def told_once(why: str, meters: list[str]) -> str:
    """ "A: x; B: x" as "every meter: x", or "A and B: x" where there are more than these."""
    names = "|".join(map(re.escape, meters))
    parts = re.split(f"; (?=(?:{names}): )", why) if meters else [why]
    named = [part.partition(": ") for part in parts]
    if len(parts) < 2 or any(name not in meters for name, _, _ in named):
        return why
    by_reason: dict[str, list[str]] = {}
    for name, _, reason in named:
        by_reason.setdefault(reason, []).append(name)
    return "; ".join(
        f"{'every meter' if set(names) == set(meters) else wording.listed(names)}: {reason}"
        for reason, names in by_reason.items()
    )
