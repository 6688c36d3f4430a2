"""What was agreed at hand-over rules causes out: a zone without a trim can lose none."""

from collections.abc import Sequence

from mv.base.setting_records import ZoneSettings
from mv.drift.records import DriftSeries

Codes = tuple[str, ...]

OVERRIDE, SENSOR = "override left on", "sensor bypassed"
ALL_HOURS = 23.5  # open hours of a day from which it is open throughout; common practice, no source
NO_TRIM = 0.97  # agreed full-on level from which no trim is left to remove; common practice, no source


def possible(
    causes: Codes, zones: Sequence[str], settings: Sequence[ZoneSettings], *, always_open: bool = False
) -> Codes:
    """The causes that what was agreed leaves open; all of them where that would leave none.

    Where no schedule turns lamps off, a sensor that rules no more lights all hours as an override
    does, and is the likelier of the two.
    """
    out = _impossible(zones, settings)
    left = tuple(code for code in causes if code not in out) or causes
    unscheduled = always_open or "schedule lost" in out
    return _sensor_first(left) if unscheduled and left[0] == OVERRIDE and SENSOR in left else left


def _sensor_first(causes: Codes) -> Codes:
    return (SENSOR, *(code for code in causes if code != SENSOR))


def always_open(item: DriftSeries) -> bool:
    """True where the opening hours are nearly all hours."""
    if "hours_open" not in item.drivers:
        return False
    return bool(item.drivers["hours_open"].median() >= ALL_HOURS)


def answers_to_sun(zones: Sequence[str], settings: Sequence[ZoneSettings]) -> bool:
    """False where every zone was agreed to have no daylight dimming."""
    return "daylight dead" not in _impossible(zones, settings)


def _impossible(zones: Sequence[str], settings: Sequence[ZoneSettings]) -> set[str]:
    """Causes that cannot be in any of the zones."""
    each = [_not_in(entry) for entry in settings if entry.zone in zones]
    return set.intersection(*each) if each and len(each) == len(zones) else set()


def _not_in(entry: ZoneSettings) -> set[str]:
    agreed = {finding.setting: finding.commissioned for finding in entry.findings}
    out: set[str] = set()
    if agreed.get("daylight_dimming") is False:
        out |= {"daylight dead", "over-dimming"}
    if agreed.get("scheduled_off") is False:
        out |= {"schedule lost"}
    if not {"low_level", "hold_minutes"} & set(agreed):
        out |= {"sensor bypassed", "delay lengthened", "low level raised"} if agreed else set()
    trim = agreed.get("high_trim")
    if trim is not None and trim >= NO_TRIM:
        out |= {"trim removed"}
    return out
