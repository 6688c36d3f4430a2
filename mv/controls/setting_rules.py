"""One rule a setting: from the evidence to a finding."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.setting_records import SettingFinding
from mv.controls import effects
from mv.controls.always_on import AlwaysOn
from mv.controls.common_changes import restated
from mv.controls.daily import Daily
from mv.controls.daylight import daylight_finding, daylight_state
from mv.controls.evidence import ZoneEvidence
from mv.controls.hold_time import COARSEST_MINUTES, FEWEST_EVENTS, typical_hold
from mv.controls.shared_signs import LAMPS_OR_TRIM, fell
from mv.controls.steps import Level, levels
from mv.controls.tolerances import (
    LOW,
    METER_CLASS,
    NIGHT_SHARE,
    PLAUSIBLE_STANDBY_W,
    TRIM,
    Tolerance,
    hold_tolerance,
    standby_tolerance,
)
from mv.controls.vacant_days import LIT_ABOVE_BASE
from mv.controls.verdicts import EPOCH, Scale, cannot_tell, day_date, numeric_finding, past_spells

TOO_HIGH = 1.15  # plateau over connected load that no trim explains; common practice, no source
NO_LOAD = "the connected load after the retrofit is not known: give fixtures and watts_after"
LEVEL_DOUBT = 0.003  # level; drivers are not quite linear, lamps warm up; common practice, no source
LOOSE_HOLD = "the time from last motion to the fall of the load varies too much to be one setting"
LIT_SHARE = 0.7  # of vacant closed time with lamps on, above which a zone is not off; no source
OFF_ROOM = 0.015  # level within which vacant lamps count as at the floor; common practice, no source


def day_number(finding: SettingFinding, evidence: ZoneEvidence) -> int:
    """First day of the finding's present state, as a day number."""
    if finding.since is None:
        return int(evidence.record.table.day[0])
    return (finding.since - EPOCH).days


@dataclass(frozen=True, slots=True)
class Reading:
    """A numeric setting's levels, with how far apart counts and how it is spoken of."""

    levels: list[Level]
    tolerance: Tolerance
    scale: Scale


def trim_reading(evidence: ZoneEvidence) -> Reading:
    """Full-on levels, the always-on load taken off."""
    return Reading(
        [_shifted(level, -evidence.floor.extra) for level in evidence.trim],
        _widened(TRIM, evidence.floor.doubt),
        Scale("the full-on level", "%", 1, _level_doubt(evidence, 0.8), evidence.confidence),
    )


def low_reading(evidence: ZoneEvidence) -> Reading:
    """Levels when vacant in opening hours; the floor is off."""
    return Reading(
        [_above_floor(level, evidence.floor) for level in evidence.low],
        _widened(LOW, evidence.floor.doubt),
        Scale("the level when vacant", "%", 1, _level_doubt(evidence, 0.2), evidence.confidence),
    )


def hold_reading(evidence: ZoneEvidence) -> Reading:
    """Hold times, restated from all events of each stretch."""
    agreed = evidence.zone.commissioned.hold_minutes
    return Reading(
        [_mode_in(evidence, level) for level in evidence.hold],
        hold_tolerance(evidence.record.table.minutes, agreed),
        Scale("the hold time", "min", 1, hold_doubt(evidence), evidence.confidence),
    )


def past_spells_of(evidence: ZoneEvidence, findings: Sequence[SettingFinding]) -> list[SettingFinding]:
    """Spells, now over, in which a numeric setting was not as agreed."""
    spells = []
    for finding in findings:
        if finding.setting in READINGS:
            reading = READINGS[finding.setting](evidence)
            spells += past_spells(finding, reading.levels, reading.tolerance, reading.scale)
    return spells


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
    reason = _load_reason(evidence) or _by_hand(evidence)
    if reason:
        return cannot_tell(zone, "high_trim", agreed, reason)
    found = _finding(evidence, "high_trim", agreed, trim_reading(evidence))
    found = _with_base_note(found, floor.extra)
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


def low_level(evidence: ZoneEvidence, agreed: float | bool | None) -> SettingFinding:
    """Level when vacant in opening hours; the floor counts as off."""
    zone = evidence.zone.id
    reason = _load_reason(evidence) or _low_reason(evidence)
    if reason:
        return cannot_tell(zone, "low_level", agreed, reason)
    found = _finding(evidence, "low_level", agreed, low_reading(evidence))
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
    reason = _hold_reason(evidence)
    if reason:
        return cannot_tell(zone, "hold_minutes", agreed, reason)
    found = _finding(evidence, "hold_minutes", agreed, hold_reading(evidence))
    if isinstance(found.observed, Estimate) and _too_loose(found.observed):
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
    reason = _by_hand(evidence)
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


def scheduled_off(evidence: ZoneEvidence, agreed: float | bool | None) -> SettingFinding:
    """Whether lamps are off outside opening hours when the zone is vacant."""
    zone, wanted = evidence.zone.id, None if agreed is None else bool(agreed)
    closed = ~evidence.record.table.is_open
    if closed.all() or not closed.any():
        why = "no opening hours are given" if closed.all() else "the zone is open at all hours"
        return cannot_tell(zone, "scheduled_off", agreed, why)
    nights = levels(nights_lit(evidence), least_step=NIGHT_SHARE.step)
    if not nights:
        return cannot_tell(zone, "scheduled_off", agreed, "the zone was never vacant outside opening hours")
    if evidence.floor.kind == "open":
        return cannot_tell(zone, "scheduled_off", agreed, _never_off_text(evidence))
    off = [level.value < LIT_SHARE for level in nights]
    observed = Estimate(off[-1], None, None, evidence.confidence)
    share = 100.0 * nights[-1].value
    why = f"lamps burn in {share:.0f} % of vacant time outside opening hours"
    first = len(off) - 1
    while first > 0 and off[first - 1] == off[-1]:
        first -= 1
    if off[-1] == wanted or (wanted is None and first == 0):
        return SettingFinding(zone, "scheduled_off", agreed, observed, "kept", None, why)
    if off[-1] and _off_anyway(evidence):
        why = "lamps go off whenever the zone is vacant, so whether a schedule acts does not show"
        return cannot_tell(zone, "scheduled_off", agreed, why)
    since = day_date(nights[first].first_day) if first else None
    why += f", since {since}" if since else ", and were never seen otherwise"
    effect = effects.night_effect(
        evidence.record,
        first_day=nights[first].first_day,
        base=evidence.floor.base,
        confidence=evidence.confidence,
    )
    earlier = Estimate(not off[-1], None, None, evidence.confidence) if since else None
    priced = None if off[-1] else effect
    return SettingFinding(zone, "scheduled_off", agreed, observed, "moved", since, why, priced, earlier)


def night_spells(evidence: ZoneEvidence) -> list[SettingFinding]:
    """Spells, now over, in which lamps burnt on outside opening hours."""
    nights = levels(nights_lit(evidence), least_step=NIGHT_SHARE.step)
    spells = []
    for at in range(1, len(nights) - 1):
        lit = [level.value >= LIT_SHARE for level in nights]
        if lit[at] and not lit[at - 1] and not lit[-1]:
            since, until = day_date(nights[at].first_day), day_date(nights[at].last_day)
            why = f"lamps burnt on outside opening hours from {since} to {until}, and no longer do"
            observed = Estimate(False, None, None, evidence.confidence)
            spells.append(
                SettingFinding(
                    evidence.zone.id, "scheduled_off", None, observed, "moved", since, why, until=until
                )
            )
    return spells


def nights_lit(evidence: ZoneEvidence) -> Daily:
    """Share of vacant closed time with lamps on, a day; a load added to the circuit is no lamp."""
    lit, night = evidence.series("night_on"), evidence.series("night")
    added = [change for change in evidence.common if change.kind == "added"]
    if not added:
        return lit
    value = lit.value.copy()
    level = dict(zip(night.day.tolist(), night.value.tolist(), strict=True))
    for i, day in enumerate(lit.day.tolist()):
        extra = sum(change.added for change in added if day >= change.day)
        if level.get(day, 0.0) - extra <= evidence.floor.base + LIT_ABOVE_BASE:
            value[i] = 0.0
    return Daily(lit.day, value, lit.count)


def standby_watts(evidence: ZoneEvidence, agreed: float | bool | None) -> SettingFinding:
    """Watts a fixture with the lamps off: the floor of the load."""
    zone, fixtures = evidence.zone.id, evidence.zone.fixtures
    if not fixtures or not evidence.record.load_known:
        return cannot_tell(zone, "standby_watts", agreed, NO_LOAD)
    watts = 1000.0 * evidence.record.full_kw / fixtures
    step = evidence.record.step_level * watts
    tolerance = standby_tolerance(_number(agreed), step)
    if evidence.floor.kind != "standby":
        return cannot_tell(zone, "standby_watts", agreed, _standby_text(evidence, watts))
    floors = levels(evidence.series("floor"), least_step=tolerance.step / watts)
    floors = restated(floors, [c for c in evidence.common if c.kind == "added"], tolerance.step / watts)
    found = [_scaled(level, watts) for level in floors if level.value * watts <= PLAUSIBLE_STANDBY_W]
    finding = numeric_finding(
        zone,
        "standby_watts",
        agreed=_number(agreed),
        levels=found,
        tolerance=tolerance,
        scale=Scale("the load with lamps off", "W a fixture", 2, 0.006 + 0.03 * step, evidence.confidence),
        last_day=evidence.last_day,
    )
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


def _standby_text(evidence: ZoneEvidence, watts: float) -> str:
    if evidence.floor.kind == "unknown":
        return "the lamps were never seen off"
    return (
        f"the load never falls below {watts * evidence.floor.base:.1f} W a fixture, more than the standby "
        "agreed or plausible: lighting that burns always (egress, night lighting), another load, or "
        "a higher standby cannot be separated"
    )


def hold_doubt(evidence: ZoneEvidence) -> float:
    """Half-width, minutes, that no number of events narrows: the grid and the log's own stamps."""
    return float(np.hypot(0.08 + 0.006 * evidence.record.table.minutes, 0.5 * evidence.record.stamp_minutes))


def _load_reason(evidence: ZoneEvidence) -> str | None:
    if not evidence.record.load_known:
        return NO_LOAD
    if evidence.trim and evidence.trim[0].value > TOO_HIGH:
        return (
            f"the meter shows {100 * evidence.trim[0].value:.0f} % of the connected load: check the count of "
            "fixtures, their watts and the meter's multiplier"
        )
    return None


def _too_loose(hold: Estimate) -> bool:
    assert hold.low is not None and hold.high is not None
    return (hold.high - hold.low) / 2 > max(5.0, 0.5 * float(hold.estimate))


def _by_hand(evidence: ZoneEvidence) -> str | None:
    if evidence.follows_sensors:
        return None
    return "with people moving the lamps burn at all sorts of levels: they are switched or dimmed by hand"


def _hold_reason(evidence: ZoneEvidence) -> str | None:
    minutes = evidence.record.table.minutes
    if not evidence.has_motion:
        return "a hold time needs a motion log"
    if minutes > COARSEST_MINUTES:
        return f"readings every {minutes:.0f} minutes are too coarse for a hold time"
    events = evidence.events
    if events is None or len(events.minutes) < FEWEST_EVENTS:
        if events is not None and len(events.undropped_minutes) >= FEWEST_EVENTS:
            return "lamps do not fall after motion ends, so no hold time shows"
        return "too few gaps in motion are long enough to see lamps fall"
    if typical_hold(events.minutes, events.half)[0] is None and len(evidence.hold) < 2:
        return LOOSE_HOLD
    return None


def _mode_in(evidence: ZoneEvidence, level: Level) -> Level:
    """The level restated from all events of its days together."""
    events = evidence.events
    if events is None:
        return level
    inside = (events.day >= level.first_day) & (events.day <= level.last_day)
    mode, spread = typical_hold(events.minutes[inside], events.half[inside])
    if mode is None:
        return level
    return replace(level, value=mode - (evidence.lag_minutes or 0.0), noise=max(spread, level.noise))


def _level_doubt(evidence: ZoneEvidence, size: float) -> float:
    """Half-width of a level that days do not narrow: the meter's class, the always-on load."""
    return (
        float(np.hypot(METER_CLASS * size, LEVEL_DOUBT + 0.1 * evidence.record.step_level))
        + evidence.floor.doubt
    )


def _low_reason(evidence: ZoneEvidence) -> str | None:
    if evidence.floor.kind == "open":
        return _never_off_text(evidence)
    if evidence.low:
        return None
    if evidence.has_motion:
        return "the zone is never vacant long enough in opening hours to see it"
    return "without a motion log, no second plateau of the load shows in opening hours"


def _never_off_text(evidence: ZoneEvidence) -> str:
    return (
        f"the load never falls below {100 * evidence.floor.base:.0f} % of the connected load: "
        "whether lamps stay at a low level or other lighting burns always (egress, "
        "night lighting) cannot be separated"
    )


def _off_anyway(evidence: ZoneEvidence) -> bool:
    return not evidence.low or evidence.low[-1].value <= evidence.floor.base + OFF_ROOM


def _above_floor(level: Level, floor: AlwaysOn) -> Level:
    """Vacant level without the always-on load; at the floor it is 0, off, unless lamps never are."""
    if floor.kind != "lamps" and level.value <= floor.base + OFF_ROOM:
        return replace(level, value=0.0)
    return replace(level, value=level.value - floor.extra)


def _widened(tolerance: Tolerance, doubt: float) -> Tolerance:
    """A level that is itself uncertain by `doubt` must lie that much further off to be apart."""
    return Tolerance(tolerance.step, tolerance.apart + doubt)


def _reference(finding: SettingFinding, agreed: float | bool | None) -> float:
    """What the present state is priced against: what was agreed, else what it was before."""
    if agreed is not None:
        return float(agreed)
    before = finding.earlier
    return float(before.estimate) if isinstance(before, Estimate) else 0.0


def _shifted(level: Level, by: float) -> Level:
    return replace(level, value=level.value + by)


def _scaled(level: Level, by: float) -> Level:
    return replace(level, value=level.value * by, noise=level.noise * by)


def _with_base_note(finding: SettingFinding, shift: float) -> SettingFinding:
    if shift == 0.0:
        return finding
    note = f" (a load of {100 * shift:.0f} % of the connected load burns always and is taken off)"
    return replace(finding, why=finding.why + note)


def _number(value: float | bool | None) -> float | None:
    return None if value is None else float(value)


READINGS: Mapping[str, Callable[[ZoneEvidence], Reading]] = {
    "high_trim": trim_reading,
    "low_level": low_reading,
    "hold_minutes": hold_reading,
}
Rule = Callable[[ZoneEvidence, float | bool | None], SettingFinding]
RULES: Mapping[str, Rule] = {
    "high_trim": high_trim,
    "low_level": low_level,
    "hold_minutes": hold_minutes,
    "daylight_dimming": daylight_dimming,
    "scheduled_off": scheduled_off,
    "standby_watts": standby_watts,
}

__all__ = ["RULES", "Answer", "CannotSay"]
