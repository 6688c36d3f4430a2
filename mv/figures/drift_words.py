"""A change since hand-over in words: where, what, since when, how much more or less a month."""

from collections.abc import Mapping, Sequence
from typing import Any

from mv.figures import wording
from mv.figures.result_parts import estimate

Row = Mapping[str, Any]
GAP = "gap"  # the kind of a finding that tells of missing readings


def drift_sentence(row: Row) -> str:
    """One sentence: "hall: lamps burn at night, since 2024-10-21 (about 580 kWh a month more)."."""
    what, since = str(row.get("what", "")).rstrip("."), row.get("since")
    told = f", since {since}" if since and str(since) not in what else ""
    cost = estimate(row, "kwh_per_month")
    size = f" (about {monthly_amount(cost, interval=False)})" if cost else ""
    return f"{row.get('where', '')}: {what}{told}{size}."


def monthly_amount(cost: Mapping[str, Any], *, unit: str = "kWh", interval: bool = True) -> str:
    """A monthly amount without a sign: "310 kWh a month less (250 to 360, 90 % confidence)"."""
    less = cost["estimate"] < 0
    told = _turned(cost) if less else cost
    text = f"{wording.amount(told, unit)} a month {'less' if less else 'more'}"
    if not interval or wording.half_width(told) is None:
        return text
    sure = wording.per_cent(told.get("confidence", 0.9))
    return f"{text} ({wording.between(told, '')}, {sure} confidence)"


def changes_of(drift: Sequence[Row]) -> list[Row]:
    """Those that tell of the lighting; a stretch without readings tells nothing of it."""
    return [row for row in drift if row.get("kind") != GAP]


def gaps_of(drift: Sequence[Row]) -> list[Row]:
    """The stretches without readings."""
    return [row for row in drift if row.get("kind") == GAP]


def costliest_first(drift: list[Row]) -> list[Row]:
    """Most extra energy first; what uses less after that; what cannot be told last."""
    known = [row for row in drift if estimate(row, "kwh_per_month")]
    unknown = [row for row in drift if not estimate(row, "kwh_per_month")]
    return [*sorted(known, key=lambda row: -float(row["kwh_per_month"]["estimate"])), *unknown]


def _turned(cost: Mapping[str, Any]) -> dict[str, Any]:
    low, high = cost.get("low"), cost.get("high")
    return {
        "estimate": -cost["estimate"],
        "low": None if high is None else -high,
        "high": None if low is None else -low,
        "confidence": cost.get("confidence", 0.9),
    }
