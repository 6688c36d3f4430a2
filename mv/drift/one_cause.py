"""One cause, one finding: a setting seen late, or never seen as agreed, and the step of its energy."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from mv.base.estimate import Estimate
from mv.drift.causes import checks, texts
from mv.drift.records import DriftFinding
from mv.drift.setting_events import SettingEvent

# Settings that show only when people leave for long or when the sun is high enough.
SEEN_LATE = frozenset({
    "hold_minutes", "low_level", "standby_watts", "daylight_dimming", "sensor_response", "burn_minutes",
})  # fmt: skip
LATE_DAYS = 120  # by which such a setting may be dated too late; common practice, no source
ALIKE = (0.33, 3.0)  # of the step's energy to the setting's, for both to be one; no source
HELD_ON = ("override left on", "sensor bypassed")


def readable(events: Sequence[SettingEvent]) -> list[SettingEvent]:
    """The events without what seems to move in a zone whose lamps no longer follow people."""
    held = {e.zone: e.since for e in events if e.causes[0] in HELD_ON and e.since and e.until is None}
    return [
        e
        for e in events
        if not (
            set(e.settings) <= SEEN_LATE
            and e.since is not None
            and (held.get(e.zone) or e.since) < e.since
            and e.causes[0] not in HELD_ON
        )
    ]


def joined(findings: Sequence[DriftFinding]) -> list[DriftFinding]:
    """The findings, a bare step and the late or undated setting that explains it made one."""
    rest = list(findings)
    for step in [f for f in findings if not f.settings and f.kind == "step" and f.until is None]:
        event = next((f for f in rest if _explains(f, step)), None)
        if event is not None:
            rest[rest.index(event)] = _one(event, step)
            rest.remove(step)
    return rest


def _explains(event: DriftFinding, step: DriftFinding) -> bool:
    if not event.settings or event.kind != "step" or event.until is not None or step.since is None:
        return False
    if not set(event.settings) <= SEEN_LATE or not set(event.zones) & set(step.zones):
        return False
    if event.since is not None and not timedelta(0) <= event.since - step.since <= timedelta(days=LATE_DAYS):
        return False
    shared = bool(set(event.causes) & set(step.causes))
    return _comparable(event, step) and (shared or event.since is None)


def _comparable(event: DriftFinding, step: DriftFinding) -> bool:
    one, other = event.kwh_per_month, step.kwh_per_month
    if not isinstance(other, Estimate) or len(step.zones) > 1:
        return False
    if not isinstance(one, Estimate) or one.estimate == 0:
        return bool(set(event.causes) & set(step.causes))
    return ALIKE[0] <= float(other.estimate) / float(one.estimate) <= ALIKE[1]


def _one(event: DriftFinding, step: DriftFinding) -> DriftFinding:
    """The setting's name and causes with the step's date, energy and picture."""
    causes = tuple(dict.fromkeys((*event.causes, *step.causes)))
    energy = step.what.split("; ")[0]
    return replace(
        event,
        what=f"{energy}; {event.what}",
        since=step.since,
        kwh_per_month=step.kwh_per_month,
        likely_causes=texts(causes),
        check_first=checks(causes),
        causes=causes,
        evidence=step.evidence,
    )
