"""A step of energy in a facility manager's words: how much, on which days, at which hours."""

from datetime import date

from mv.drift.signature import Signature
from mv.drift.step_causes import SEEN, all_hours_alike
from mv.drift.step_search import Step

DAYS = {
    "all days": "",
    "open days": " on open days",
    "closed days": " on closed days",
    "with the sun": ", more so the more sun there is",
    "with the night": ", more so the longer the night is",
    "with the day": ", more so the longer the day is",
}


def look_words(
    step: Step, seen: Signature | None, since: date, until: date | None, *, measures: str = "lighting"
) -> str:
    """One sentence without its full stop."""
    when = f"since {since}" if until is None else f"from {since} to {until}"
    way = "more" if step.kwh_a_day > 0 else "less"
    text = f"{when}, {_kwh(abs(step.kwh_a_day))} kWh a day {way} than expected{DAYS[step.shape]}"
    hours = None if seen is None else _hours(seen)
    text += f"; {hours}" if hours else ""
    return text if measures != "lighting" else f"{text}; no agreed setting is seen to have moved with it"


def _kwh(value: float) -> str:
    return f"{value:.1f}" if value < 20 else f"{value:.0f}"


def _hours(seen: Signature) -> str | None:
    """Where in the day the change lies."""
    kw = seen.full_kw
    if seen.shift_hours is not None:
        hours = abs(seen.shift_hours)
        way = "later" if seen.shift_hours > 0 else "earlier"
        return f"lamps go on and off about {hours} hour{'s' if hours > 1 else ''} {way} than before"
    if all_hours_alike(seen):
        parts = [p for p in (seen.unlit, seen.closed, seen.lit, seen.floor) if p is not None]
        return f"about {abs(sum(parts) / len(parts)) * kw:.2f} kW at every hour of every day"
    told = []
    if abs(seen.top) >= SEEN:
        now = seen.top_before + seen.top
        told.append(f"the highest load went from {kw * seen.top_before:.2f} to {kw * now:.2f} kW")
    for change, name in (
        (seen.lit, "hours with lamps on"),
        (seen.unlit, "hours that used to be dark"),
        (seen.closed, "closed days"),
    ):
        if change is not None and abs(change) >= SEEN:
            told.append(f"{name} use {abs(change) * kw:.2f} kW {'more' if change > 0 else 'less'}")
    return ", ".join(told) or None
