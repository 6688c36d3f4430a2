"""Likely causes of a step, likeliest first, from its way, its days and its look over the hours.

The rules restate the trade's table of failure modes (common practice, no source). Where the look
leaves several open, all are named.
"""

from collections.abc import Mapping

from mv.drift.records import DriftSeries
from mv.drift.shapes import Shape
from mv.drift.signature import Signature

Codes = tuple[str, ...]

SEEN = 0.03  # of the full level; smaller changes of a profile are not read; common practice, no source
ALIKE = 0.35  # share by which two changes may differ and still be the same amount; no source
NEAR_FULL = 0.85  # of the full level: lamps on throughout; common practice, no source
MOSTLY_FULL = 0.6  # of the full level: lamps on in most of what used to be dark; no source
SMALL_FLOOR = 0.09  # of the full level: devices on standby rather than lamps; common practice, no source
NIGHTS_ALIKE = (
    0.4  # of the larger rise, that the other has too: daylight dims a part of closed days; no source
)
STEADY = 0.6  # share of day-to-day variation gone where nothing follows people any more; no source
DEAD_MIDDAY = 1.3  # times the other lit hours by which midday must have risen; common practice, no source

MORE_ON_CLOSED: Codes = ("override left on", "schedule lost", "cleaning or security")


def step_causes(item: DriftSeries, shape: Shape, kwh_a_day: float, look: Signature | None) -> Codes:
    """Causes that a step of energy leaves open."""
    more = kwh_a_day > 0
    if item.measures != "lighting":
        return ("use changed", "added load") if more else ("use changed", "load removed")
    if item.outdoor:
        return _outdoor(shape, look, more=more)
    if look is None:
        return _by_days_alone(shape, more=more)
    return _more(look, shape) if more else _less(look)


def _by_days_alone(shape: Shape, *, more: bool) -> Codes:
    if not more:
        return ("lamps failed", "use changed", "load removed")
    if shape == "closed days":
        return MORE_ON_CLOSED
    if shape == "with the sun":
        return ("daylight dead", "sensor bypassed", "use changed")
    if shape == "open days":
        return ("sensor bypassed", "delay lengthened", "daylight dead", "hours changed", "use changed")
    return ("override left on", "added load", "schedule lost", "sensor bypassed", "use changed")


def _more(look: Signature, shape: Shape) -> Codes:
    if look.shift_hours is not None:
        return ("clock shifted", "hours changed")
    if all_hours_alike(look):
        return ("standby growth", "added load") if look.floor < SMALL_FLOOR / 2 else ADDED
    night = max(look.unlit or 0.0, look.closed or 0.0)
    lit = look.lit or 0.0
    if night >= SEEN and night >= lit:
        return _more_at_night(look, night)
    open_causes = _more_when_open(look, shape)
    if open_causes[0] == "daylight dead":
        return ("daylight dead", "trim removed", *open_causes[1:3])
    if look.top >= SEEN and look.top >= 0.8 * lit:
        daylight = ("daylight dead",) if (look.midday or 0.0) >= lit else ()
        trim = ("trim removed", *daylight)
        blurred = look.vacancy is not None and not look.fine  # hours' means rise with time at full too
        return (open_causes[0], *trim, *open_causes[1:3]) if blurred else (*trim, *open_causes[:3])
    return open_causes


# What else the level when vacant leaves open, beside what it points at.
VACANCY_NEXT: Mapping[str, Codes] = {
    "sensor bypassed": ("delay lengthened", "override left on"),
    "delay lengthened": ("sensor bypassed",),
    "low level raised": ("sensor bypassed",),
}

ADDED: Codes = ("added load", "standby growth", "trim removed")


def all_hours_alike(look: Signature) -> bool:
    """True where every kind of hour rose (or fell) by the same power: a load of its own."""
    parts = [look.floor, *(p for p in (look.unlit, look.closed, look.lit) if p is not None)]
    size = max(abs(part) for part in parts)
    if abs(look.top_near) < 0.5 * size:
        return False  # a load of its own comes on top of the highest one too
    least = min(abs(part) for part in parts)
    same_way = all(part > 0 for part in parts) or all(part < 0 for part in parts)
    return len(parts) > 1 and same_way and size >= SEEN / 3 and least >= (1.0 - ALIKE) * size


def vacant_alike(look: Signature, night: float) -> bool:
    """True where nights and closed days rose alike: no longer hours and no wrong clock does that."""
    parts = (look.unlit or 0.0, look.closed or 0.0)
    return night >= SEEN and min(parts) >= NIGHTS_ALIKE * night


def _more_at_night(look: Signature, night: float) -> Codes:
    if look.vacancy == "low level raised":
        return ("low level raised", "schedule lost", "sensor bypassed")
    level = max(look.unlit_now or 0.0, night)
    if level >= NEAR_FULL * (1.0 + min(look.top, 0.0)):
        return ("override left on", "schedule lost", "sensor bypassed", "low level raised")
    if night <= SMALL_FLOOR and look.floor >= 0.5 * night:
        return ("standby growth", "schedule lost", "added load")
    if vacant_alike(look, night):
        if level >= MOSTLY_FULL:
            return ("override left on", "schedule lost", "sensor bypassed", "low level raised")
        return ("schedule lost", "low level raised", "override left on", "sensor bypassed")
    if look.floor < 0.5 * night:
        full = ("sensor bypassed",) if level >= MOSTLY_FULL else ()
        return ("hours changed", "clock shifted", *full, "cleaning or security", "delay lengthened")
    return ("schedule lost", "override left on", "low level raised")


def _more_when_open(look: Signature, shape: Shape) -> Codes:
    lit, midday = look.lit or 0.0, look.midday or 0.0
    order: Codes = ("delay lengthened", "low level raised", "sensor bypassed", "daylight dead", "use changed")
    if look.vacancy is not None:
        order = tuple(dict.fromkeys((look.vacancy, *VACANCY_NEXT[look.vacancy], *order)))
    if shape == "with the sun" or (midday >= SEEN and midday >= DEAD_MIDDAY * max(lit, 1e-9)):
        return ("daylight dead", *order[:3])
    steady = look.steadier is not None and look.steadier >= STEADY
    if look.vacancy is None and steady and (look.lit_now or 0.0) >= NEAR_FULL:
        return ("sensor bypassed", "override left on", "delay lengthened", "use changed")
    return order


def _less(look: Signature) -> Codes:
    if look.shift_hours is not None:
        return ("clock shifted", "hours changed")
    if all_hours_alike(look):
        return ("load removed", "lamps failed")
    if look.top <= -SEEN:
        return ("lamps failed", "trim lowered", "load removed")
    if max(-(look.unlit or 0.0), -(look.closed or 0.0)) > -(look.lit or 0.0):
        return ("hours changed", "use changed")
    return ("use changed", "hours changed", "lamps failed")


def _outdoor(shape: Shape, look: Signature | None, *, more: bool) -> Codes:
    if look is None:
        if more:
            return ("photocell stuck", "added load", "photocell dirty")
        return ("lamps failed", "off at night", "load removed")
    midday = look.midday or 0.0
    if more:
        if all_hours_alike(look) or (0 < midday < 0.5 and look.top > 0.5 * midday):
            return ("added load", "standby growth")
        if midday >= 0.5:
            return ("photocell stuck", "override left on")
        if look.top >= SEEN:
            return ("trim removed", "added load")
        if midday >= SEEN / 3 and look.floor >= 0.5 * midday:
            return ("standby growth", "added load", "photocell dirty")
        return ("photocell dirty", "clock shifted", "photocell stuck")
    if all_hours_alike(look):
        return ("load removed", "lamps failed")
    if look.top <= -SEEN and look.top > -0.9:
        return ("lamps failed", "trim lowered", "off at night")
    if look.lit is not None and look.lit <= -0.3:
        return ("off at night", "lamps failed")
    return ("photocell dirty", "clock shifted", "off at night", "lamps failed")
