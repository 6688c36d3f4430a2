"""Where the promise went, in the few lines that a screen has for it."""

from collections.abc import Mapping
from typing import Any

from mv.base import wording

MOST_STEPS = 4
LEAST_SHARE = 0.05  # of the largest step; smaller ones have no room here
Json = Mapping[str, Any]


def promise_lines(result: Json) -> list[str]:
    """A sentence each on the bridge from promise to proof, the inventory and load called off."""
    return [*_bridge(result), *_inventory(result), *_called(result)]


def _bridge(result: Json) -> list[str]:
    """The largest steps of the bridge; none where the prediction is a number without an inventory."""
    steps = [step for step in result["bridge"]["predicted_to_verified"] if step["kwh"] is not None]
    if len(steps) < 2:
        return []
    steps.sort(key=lambda step: -abs(step["kwh"]["estimate"]))
    least = LEAST_SHARE * abs(steps[0]["kwh"]["estimate"])
    shown = [step for step in steps if abs(step["kwh"]["estimate"]) > max(least, 1.0)][:MOST_STEPS]
    if not shown:
        return []
    parts = [f"{step['step']} {_signed(step['kwh'])}" for step in shown]
    return [f"Gap, kWh: {', '.join(parts)}."]


def _signed(answer: Json) -> str:
    step = max(1.0, wording.step_of(wording.half_width(answer) or 0.0))  # a step may be known exactly
    return ("+" if answer["estimate"] > 0 else "") + wording.number(answer["estimate"], step=step)


def _inventory(result: Json) -> list[str]:
    findings = result["predicted"].get("findings") or []
    if not findings:
        return []
    first = findings[0]
    lines = ", ".join(str(line) for line in first["lines"])
    where = f" (line {lines})" if lines else ""
    more = f"; {len(findings) - 1} more in result.json" if len(findings) > 1 else ""
    return [f"Inventory: {first['what']}{where}{more}."]


def _called(result: Json) -> list[str]:
    calls = result.get("demand_response") or []
    told = [call for call in calls if call["drop_kw"] is not None]
    if not calls:
        return []
    text = f"Demand response: {len(told)} of {wording.counted(len(calls), 'call')} can be told"
    if told:
        best = max(told, key=lambda call: call["drop_kw"]["estimate"])
        drop = wording.with_interval(best["drop_kw"], "kW", confidence=False)
        text += f"; the largest drop is {drop} on {best['first'][:10]}"
    return [f"{text}."]
