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
# The full level too, where weeks pass without lamps wholly on.
DATED_LATE = SEEN_LATE | {"high_trim", "lamps_failed"}
LATE_DAYS = 120  # by which such a setting may be dated too late; common practice, no source
SWITCHING = frozenset({"switching_on_deg", "switching_off_deg"})
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
        if event is not None or any(_goes_on(f, step) for f in rest):
            rest.remove(step)
    return rest


def _goes_on(event: DriftFinding, step: DriftFinding) -> bool:
    """True where a photocell known to be off is what a later season's step shows again."""
    if not set(event.settings) & SWITCHING or not set(event.zones) & set(step.zones):
        return False
    if event.since is None or step.since is None or step.since < event.since:
        return False
    return bool(set(event.causes) & set(step.causes)) and _same_way(event, step)


def _explains(event: DriftFinding, step: DriftFinding) -> bool:
    if not event.settings or event.kind != "step" or event.until is not None or step.since is None:
        return False
    if not set(event.settings) <= DATED_LATE or not set(event.zones) & set(step.zones):
        return False
    if event.since is not None and not timedelta(0) <= event.since - step.since <= timedelta(days=LATE_DAYS):
        return False
    shared = bool(set(event.causes) & set(step.causes))
    first = event.causes[0] == step.causes[0]
    if len(step.zones) == 1 and (first or (event.since is None and shared)):
        return _same_way(event, step)
    return _comparable(event, step) and (shared or event.since is None)


def _same_way(event: DriftFinding, step: DriftFinding) -> bool:
    """True where neither takes from the energy what the other adds."""
    one, other = event.kwh_per_month, step.kwh_per_month
    if not isinstance(one, Estimate) or not isinstance(other, Estimate):
        return True
    return float(one.estimate) * float(other.estimate) >= 0


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
