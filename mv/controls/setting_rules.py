"""One rule a setting: from the evidence to a finding."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.controls import effects
from mv.controls.common_changes import restated
from mv.controls.daylight import daylight_finding, daylight_state
from mv.controls.evidence import FEW_DARK_DAYS, ZoneEvidence
from mv.controls.hindrances import (
    LOOSE_HOLD,
    NO_LOAD,
    by_hand,
    hold_reason,
    load_reason,
    low_reason,
    standby_text,
    too_loose,
)
from mv.controls.nights import scheduled_off
from mv.controls.readings import Reading, hold_reading, low_reading, scaled, trim_reading
from mv.controls.shared_signs import LAMPS_OR_TRIM, fell
from mv.controls.steps import levels
from mv.controls.tolerances import (
    LOW,
    PLAUSIBLE_STANDBY_W,
    standby_tolerance,
)
from mv.controls.verdicts import EPOCH, Scale, cannot_tell, numeric_finding

ONLY_DAYLIT = "but lamps were hardly ever seen on without daylight, so it is at least that"


def day_number(finding: SettingFinding, evidence: ZoneEvidence) -> int:
    """First day of the finding's present state, as a day number."""
    if finding.since is None:
        return int(evidence.record.table.day[0])
    return (finding.since - EPOCH).days


def _finding(
    evidence: ZoneEvidence, setting: str, agreed: float | bool | None, reading: Reading
) -> SettingFinding:
    return numeric_finding(
        evidence.zone.id,
        setting,
        agreed=_number(agreed),
        levels=reading.levels,
        tolerance=reading.tolerance,
        scale=reading.scale,
        last_day=evidence.last_day,
    )


def high_trim(evidence: ZoneEvidence, agreed: float | bool | None) -> SettingFinding:
    """Full-on level as a fraction of the connected load, the always-on load taken off."""
    zone, floor = evidence.zone.id, evidence.floor
    reason = load_reason(evidence) or by_hand(evidence)
    if reason:
        return cannot_tell(zone, "high_trim", agreed, reason)
    found = _finding(evidence, "high_trim", agreed, trim_reading(evidence))
    found = _with_base_note(found, floor.extra)
    if _only_bound(evidence, found, "dark"):
        return cannot_tell(zone, "high_trim", agreed, f"{found.why}; {ONLY_DAYLIT}")
    if fell(found):
        return replace(found, verdict="cannot tell", since=None, why=f"{found.why}: {LAMPS_OR_TRIM}")
    if found.verdict != "moved" or not isinstance(found.observed, Estimate):
        return found
    effect = effects.trim_effect(
        evidence.record,
        first_day=day_number(found, evidence),
        now=found.observed,
        then=_reference(found, agreed),
        vacant_level=evidence.low[-1].value if evidence.low else 0.0,
    )
    return replace(found, effect_kwh_per_month=effect)


def _only_bound(evidence: ZoneEvidence, finding: SettingFinding, sunless: str) -> bool:
    """True where a low reading may be daylight's doing: the lamps are hardly ever seen without it."""
    if not evidence.dims or len(evidence.series(sunless)) >= FEW_DARK_DAYS:
        return False
    now, agreed = finding.observed, finding.commissioned
    below = isinstance(now, Estimate) and agreed is not None and now.estimate < float(agreed)
    return finding.verdict == "moved" and finding.since is None and below


def low_level(evidence: ZoneEvidence, agreed: float | bool | None) -> SettingFinding:
    """Level when vacant in opening hours; the floor counts as off."""
    zone = evidence.zone.id
    reason = load_reason(evidence) or low_reason(evidence)
    if reason:
        return cannot_tell(zone, "low_level", agreed, reason)
    found = _finding(evidence, "low_level", agreed, low_reading(evidence))
    if _only_bound(evidence, found, "low_dark"):
        return cannot_tell(zone, "low_level", agreed, f"{found.why}; {ONLY_DAYLIT}")
    if found.verdict != "moved" or not isinstance(found.observed, Estimate):
        return found
    hold = evidence.hold[-1].value if evidence.hold else 45.0
    effect = effects.low_effect(
        evidence.record,
        first_day=day_number(found, evidence),
        now=found.observed,
        then=_reference(found, agreed),
        wait_minutes=hold + 3.0,
    )
    return replace(found, effect_kwh_per_month=effect)


def hold_minutes(evidence: ZoneEvidence, agreed: float | bool | None) -> SettingFinding:
    """Time delay after the last motion."""
    zone = evidence.zone.id
    reason = hold_reason(evidence)
    if reason:
        return cannot_tell(zone, "hold_minutes", agreed, reason)
    found = _finding(evidence, "hold_minutes", agreed, hold_reading(evidence))
    if isinstance(found.observed, Estimate) and too_loose(found.observed):
        return cannot_tell(zone, "hold_minutes", agreed, LOOSE_HOLD)
    if found.verdict != "moved" or not isinstance(found.observed, Estimate):
        return found
    night = levels(evidence.series("night"), least_step=LOW.step)
    effect = effects.hold_effect(
        evidence.record,
        first_day=day_number(found, evidence),
        now=found.observed,
        then=_reference(found, agreed),
        full_level=evidence.trim[-1].value if evidence.trim else 1.0,
        open_low=evidence.low[-1].value if evidence.low else 0.0,
        closed_low=night[-1].value if night else 0.0,
    )
    return replace(found, effect_kwh_per_month=effect)


def daylight_dimming(evidence: ZoneEvidence, agreed: float | bool | None) -> SettingFinding:
    """Whether wholly-on lamps fall with the sun."""
    reason = by_hand(evidence)
    if reason:
        return cannot_tell(evidence.zone.id, "daylight_dimming", agreed, reason)
    state = daylight_state(evidence.response)
    found = daylight_finding(
        evidence.zone.id, None if agreed is None else bool(agreed), state, evidence.confidence
    )
    if found.verdict != "moved" or agreed is not True:
        return found
    first = day_number(found, evidence)
    alive = evidence.response.day < first
    effect = effects.daylight_effect(
        evidence.record,
        first_day=first,
        depth=evidence.response.depth[alive],
        full_level=evidence.trim[-1].value if evidence.trim else 1.0,
        confidence=evidence.confidence,
    )
    return replace(found, effect_kwh_per_month=effect)


def standby_watts(evidence: ZoneEvidence, agreed: float | bool | None) -> SettingFinding:
    """Watts a fixture with the lamps off: the floor of the load."""
    zone, fixtures = evidence.zone.id, evidence.zone.fixtures
    if not fixtures or not evidence.record.load_known:
        return cannot_tell(zone, "standby_watts", agreed, NO_LOAD)
    watts = 1000.0 * evidence.record.full_kw / fixtures
    step = evidence.record.step_level * watts
    tolerance = standby_tolerance(_number(agreed), step)
    if evidence.floor.kind != "standby":
        return cannot_tell(zone, "standby_watts", agreed, standby_text(evidence, watts))
    floors = levels(evidence.series("floor"), least_step=tolerance.step / watts)
    floors = restated(floors, [c for c in evidence.common if c.kind == "added"], tolerance.step / watts)
    found = [scaled(level, watts) for level in floors if level.value * watts <= PLAUSIBLE_STANDBY_W]
    finding = numeric_finding(
        zone,
        "standby_watts",
        agreed=_number(agreed),
        levels=found,
        tolerance=tolerance,
        scale=Scale("the load with lamps off", "W a fixture", 2, 0.006 + 0.03 * step, evidence.confidence),
        last_day=evidence.last_day,
    )
    if finding.verdict == "moved" and finding.since is None:
        return cannot_tell(zone, "standby_watts", agreed, standby_text(evidence, watts))
    if finding.verdict != "moved" or not isinstance(finding.observed, Estimate):
        return finding
    effect = effects.standby_effect(
        evidence.record,
        first_day=day_number(finding, evidence),
        now=finding.observed,
        then=_reference(finding, agreed),
        fixtures=fixtures,
    )
    return replace(finding, effect_kwh_per_month=effect)


def _reference(finding: SettingFinding, agreed: float | bool | None) -> float:
    """What the present state is priced against: what was agreed, else what it was before."""
    if agreed is not None:
        return float(agreed)
    before = finding.earlier
    return float(before.estimate) if isinstance(before, Estimate) else 0.0


def _with_base_note(finding: SettingFinding, shift: float) -> SettingFinding:
    if shift == 0.0:
        return finding
    note = f" (a load of {100 * shift:.0f} % of the connected load burns always and is taken off)"
    return replace(finding, why=finding.why + note)


def _number(value: float | bool | None) -> float | None:
    return None if value is None else float(value)


Rule = Callable[[ZoneEvidence, float | bool | None], SettingFinding]
RULES: Mapping[str, Rule] = {
    "high_trim": high_trim,
    "low_level": low_level,
    "hold_minutes": hold_minutes,
    "daylight_dimming": daylight_dimming,
    "scheduled_off": scheduled_off,
    "standby_watts": standby_watts,
}
