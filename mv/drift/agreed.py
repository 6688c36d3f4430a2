"""What was agreed at hand-over rules causes out: a zone without a trim can lose none."""

from collections.abc import Sequence

from mv.base.setting_records import ZoneSettings

Codes = tuple[str, ...]

NO_TRIM = 0.97  # agreed full-on level from which no trim is left to remove; common practice, no source


def possible(causes: Codes, zones: Sequence[str], settings: Sequence[ZoneSettings]) -> Codes:
    """The causes that what was agreed leaves open; all of them where that would leave none."""
    out = _impossible(zones, settings)
    return tuple(code for code in causes if code not in out) or causes


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
    trim = agreed.get("high_trim")
    if trim is not None and trim >= NO_TRIM:
        out |= {"trim removed"}
    return out
