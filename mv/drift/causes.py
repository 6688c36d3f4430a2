"""Causes of drift: what each looks like in words, and what to check first.

The signatures follow the trade's table of failure modes (common practice where no source is
named); checks defer to licensed practice and local code where they touch electricity or light
that people depend on.
"""

from collections.abc import Mapping
from dataclasses import dataclass

LICENSED = "Panels and wiring are for a licensed electrician only."
LOCAL_CODE = "Egress, emergency and night lighting must stay as local code requires: ask before changing it."
LEVELS = "Check that light levels still meet what the task and local code require."


@dataclass(frozen=True, slots=True)
class Cause:
    """A cause in the reader's words and the first things to check."""

    text: str
    check: tuple[str, ...]


CAUSES: Mapping[str, Cause] = {
    "trim removed": Cause(
        "high trim removed or raised",
        ("Read the full-on level in the control's settings for this zone.", LEVELS),
    ),
    "trim lowered": Cause(
        "high trim lowered",
        ("Read the full-on level in the control's settings for this zone.", LEVELS),
    ),
    "low level raised": Cause(
        "level when vacant raised",
        ("Read the level when vacant in the control's settings for this zone.", LOCAL_CODE),
    ),
    "low level lowered": Cause(
        "level when vacant lowered",
        ("Read the level when vacant in the control's settings.", LOCAL_CODE),
    ),
    "delay lengthened": Cause(
        "time delay after the last motion lengthened",
        ("Read the time delay of the sensors; ask whether someone complained of lights going off.",),
    ),
    "delay shortened": Cause(
        "time delay after the last motion shortened",
        ("Read the time delay of the sensors; ask users whether lights go off on them.",),
    ),
    "sensor bypassed": Cause(
        "occupancy sensor bypassed, covered or stuck on",
        ("Look at the sensors: covered, failed, or set to manual or always on?", LICENSED),
    ),
    "daylight dead": Cause(
        "daylight sensor covered, failed or switched off",
        ("Look for tape or dirt on the daylight sensor and for its setting; ask about complaints.", LEVELS),
    ),
    "daylight repaired": Cause(
        "daylight dimming put to work", ("Ask who set the daylight control, and note it.",)
    ),
    "over-dimming": Cause(
        "daylight sensor dims too deeply",
        ("Check the daylight target; too deep a dim is often followed by complaints and disabling.", LEVELS),
    ),
    "schedule lost": Cause(
        "schedule lost, as after a power cut, or turned off",
        ("Check the controller's clock, its schedule and its back-up battery.", LOCAL_CODE),
    ),
    "override left on": Cause(
        "override left on",
        ("Look for an override or hand switch left on at the controller.", LOCAL_CODE),
    ),
    "clock shifted": Cause(
        "the controller's clock is wrong (summer time, power cut)",
        ("Compare the controller's clock with the time of day.",),
    ),
    "hours changed": Cause("hours of use changed", ("Ask whether hours, shifts or tenants changed.",)),
    "photocell stuck": Cause(
        "photocell failed or stuck on (cells fail to ON by design)",
        ("Cover and uncover the photocell by day; check for a bypass.", LICENSED),
    ),
    "photocell dirty": Cause(
        "photocell dirty, shaded or misaimed",
        ("Clean the photocell and check what shades or lights it.", LICENSED),
    ),
    "controller reset": Cause(
        "controller or firmware reset: zones fell back to default settings together",
        ("Compare the controller's settings with the hand-over sheet; restore them for every zone listed.",),
    ),
    "data stopped": Cause(
        "meter, logger or gateway off line",
        ("Check the meter's or gateway's connection; the load may have stood at full meanwhile.", LICENSED),
    ),
    "outage": Cause("power cut", ("Check clocks and schedules afterwards.",)),
    "lamps failed": Cause(
        "lamps or drivers failed: looks like a saving but is not",
        ("Count the fixtures that do not light, egress fixtures first.", LICENSED, LEVELS),
    ),
    "off at night": Cause(
        "outdoor lamps off at night: a safety matter, not a saving",
        ("Inspect the lamps after dark; check breaker, photocell and timer.", LICENSED, LOCAL_CODE),
    ),
    "added load": Cause(
        "load added to the circuit",
        ("Ask what was connected; compare the circuit with its schedule.", LICENSED),
    ),
    "load removed": Cause("load taken off the circuit", ("Ask what was disconnected.", LICENSED)),
    "standby growth": Cause(
        "more devices on standby, or control electronics that no longer sleep",
        ("List devices added to the control network and compare their standby power.",),
    ),
    "cleaning or security": Cause(
        "cleaning or security rounds at other hours", ("Ask for the cleaners' and guards' hours.",)
    ),
    "use changed": Cause(
        "the space is used differently", ("Ask whether occupancy, layout or opening hours changed.",)
    ),
}


def texts(codes: tuple[str, ...]) -> tuple[str, ...]:
    """The causes in words, in the order given."""
    return tuple(CAUSES[code].text for code in codes)


def checks(codes: tuple[str, ...]) -> tuple[str, ...]:
    """What to check first, in order of the causes, each thing once."""
    wanted = [line for code in codes for line in CAUSES[code].check]
    return tuple(dict.fromkeys(wanted))
