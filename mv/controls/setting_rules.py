"""One rule a setting: from the evidence to a finding."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.controls import effects
from mv.controls.always_on import RESTLESS
from mv.controls.common_changes import CommonChange, restated
from mv.controls.daily import Daily
from mv.controls.daylight import OFTEN, RESPONSE
from mv.controls.daylight_state import daylight_finding, daylight_state
from mv.controls.evidence import FEW_DARK_DAYS, ZoneEvidence
from mv.controls.held_share import dated_by_share
from mv.controls.hindrances import (
    BEFORE_THE_END,
    LOOSE_HOLD,
    NO_LOAD,
    by_hand,
    hold_reason,
    load_reason,
    low_reason,
    standby_text,
    too_loose,
)
from mv.controls.level_doubts import (
    as_loose,
    below,
    day_number,
    half_width,
    low_doubt,
    trim_doubt,
    unknown_level,
)
from mv.controls.nights import scheduled_off
from mv.controls.readings import Reading, hold_reading, low_reading, parts_doubt, scaled, trim_reading
from mv.controls.rounding import ROUNDED
from mv.controls.shared_signs import LAMPS_OR_TRIM, fell
from mv.controls.steps import levels
from mv.controls.tolerances import (
    LOW,
    METER_CLASS,
    PLAUSIBLE_STANDBY_W,
    hold_tolerance,
    standby_tolerance,
)
from mv.controls.verdicts import Scale, cannot_tell, numeric_finding

MOSTLY = 0.9  # share of sunny days with a fall that nothing but daylight makes; common practice, no source
RECENT_DAYS = 20  # last days with lamps on under the sun; common practice, no source
PARTLY_USED = "but fewer people under the sun, or another load, may look the same here"
PARTS_FALL = "but several sensors' lamps fall one after the other, so it may be another by an interval"
OTHER_SHARE = 0.25  # of the room in which readings of a floor are averaged, by which another load shifts it
AT_LOW_LEVEL = "but lamps that rest at their low level now may look the same"
LEAST_NOTED = 0.005  # level of a load that burns always, to be spoken of; common practice, no source
STANDBY_DOUBT = 0.006  # W a fixture; common practice, no source
WIDEST_STANDBY = 0.3  # half-width, W a fixture, beyond which a standby is not known; no source
COMES_AND_GOES = "but to no better than 0.3 W, as the meter's step is coarse or another load comes and goes"


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
    found = as_loose(_finding(evidence, "high_trim", agreed, trim_reading(evidence)), evidence.trim)
    found = _with_base_note(found, floor.extra)
    doubt = unknown_level(found, evidence.trim, evidence.trim_days) or trim_doubt(evidence, found)
    if doubt:
        return cannot_tell(zone, "high_trim", agreed, f"{found.why}; {doubt}")
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
    reason = load_reason(evidence) or low_reason(evidence)
    if reason:
        return cannot_tell(zone, "low_level", agreed, reason)
    found = as_loose(_finding(evidence, "low_level", agreed, low_reading(evidence)), evidence.low)
    doubt = unknown_level(found, evidence.low, evidence.low_days) or low_doubt(evidence, found)
    if doubt:
        return cannot_tell(zone, "low_level", agreed, f"{found.why}; {doubt}")
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
    reading = hold_reading(evidence)
    found = _finding(evidence, "hold_minutes", agreed, reading)
    if isinstance(found.observed, Estimate) and too_loose(
        found.observed, reading.levels[-1].noise, parts_doubt(evidence)
    ):
        return cannot_tell(zone, "hold_minutes", agreed, LOOSE_HOLD)
    if isinstance(found.observed, Estimate) and found.observed.estimate < 0.0:
        return cannot_tell(zone, "hold_minutes", agreed, BEFORE_THE_END)
    if found.verdict == "kept" and _off_within_parts(evidence, found):
        return cannot_tell(zone, "hold_minutes", agreed, f"{found.why}; {PARTS_FALL}")
    if found.verdict != "moved" or not isinstance(found.observed, Estimate):
        return found
    now, found = found.observed, dated_by_share(evidence, found)
    night = levels(evidence.series("night"), least_step=LOW.step)
    effect = effects.hold_effect(
        evidence.record,
        first_day=day_number(found, evidence),
        now=now,
        then=_reference(found, agreed),
        full_level=evidence.trim[-1].value if evidence.trim else 1.0,
        open_low=evidence.low[-1].value if evidence.low else 0.0,
        closed_low=night[-1].value if night else 0.0,
    )
    return replace(found, effect_kwh_per_month=effect)


def _off_within_parts(evidence: ZoneEvidence, found: SettingFinding) -> bool:
    """True where a hold time passes as kept only by the doubt that several sensors bring."""
    usual = hold_tolerance(evidence.record.table.minutes, evidence.zone.commissioned.hold_minutes)
    now, agreed = found.observed, found.commissioned
    return isinstance(now, Estimate) and agreed is not None and abs(now.estimate - agreed) > usual.apart


def daylight_dimming(evidence: ZoneEvidence, agreed: float | bool | None) -> SettingFinding:
    """Whether wholly-on lamps fall with the sun."""
    reason = by_hand(evidence)
    if reason:
        return cannot_tell(evidence.zone.id, "daylight_dimming", agreed, reason)
    full = evidence.zone.commissioned.high_trim if evidence.record.load_known else None
    state = daylight_state(
        evidence.response, agreed_full=full, last_day=evidence.last_day, agreed=agreed is True
    )
    found = daylight_finding(
        evidence.zone.id, None if agreed is None else bool(agreed), state, evidence.confidence
    )
    unsure = found.verdict == "moved" or float(evidence.response.answers.sum()) < MOSTLY * len(
        evidence.response
    )
    if state.alive and unsure and not _surely_daylight(evidence, now=found.verdict != "moved"):
        return cannot_tell(evidence.zone.id, "daylight_dimming", agreed, f"{found.why}; {PARTLY_USED}")
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


def _surely_daylight(evidence: ZoneEvidence, *, now: bool) -> bool:
    """True where nothing but daylight brings lamps down under the sun; `now`: judged by the last days."""
    if not evidence.together:
        return False
    full, under_sun = evidence.series("dark").value, evidence.series("high_top").value
    under_sun = under_sun if evidence.has_motion else evidence.series("bright").value
    if not len(full):
        full = evidence.series("on_any").value
    if len(full) < FEW_DARK_DAYS or len(under_sun) < FEW_DARK_DAYS:
        return False
    limit = float(np.median(full)) * (1.0 - RESPONSE) - 2.0 * evidence.restless
    return float(np.mean(under_sun[-RECENT_DAYS if now else 0 :] < limit)) >= OFTEN


def standby_watts(evidence: ZoneEvidence, agreed: float | bool | None) -> SettingFinding:
    """Watts a fixture with the lamps off: the floor of the load."""
    zone, fixtures = evidence.zone.id, evidence.zone.fixtures
    if not fixtures or not evidence.record.load_known:
        return cannot_tell(zone, "standby_watts", agreed, NO_LOAD)
    watts = 1000.0 * evidence.record.full_kw / fixtures
    rounding = evidence.rounding
    step = evidence.record.step_level * watts
    tolerance = standby_tolerance(_number(agreed), min(rounding / ROUNDED, 1.0) * step)
    if evidence.floor.kind != "standby":
        return cannot_tell(zone, "standby_watts", agreed, standby_text(evidence, watts))
    added = [change for change in evidence.common if change.kind == "added"]
    floors = levels(_lamps_off(evidence, watts, added), least_step=tolerance.step / watts)
    floors = restated(floors, added, tolerance.step / watts)
    found = [scaled(level, watts) for level in floors if level.value * watts <= PLAUSIBLE_STANDBY_W]
    size = found[-1].value if found else 0.0
    other = OTHER_SHARE * max(0.01, 2.5 * evidence.record.step_level) if evidence.restless > RESTLESS else 0.0
    doubt = float(np.linalg.norm((METER_CLASS * size, STANDBY_DOUBT + rounding * step, other * watts)))
    other_light = max(size - (size if agreed is None else float(agreed)), 0.0)
    other_light = other_light if other_light <= tolerance.apart else 0.0
    finding = numeric_finding(
        zone,
        "standby_watts",
        agreed=_number(agreed),
        levels=found,
        tolerance=tolerance,
        scale=Scale("the load with lamps off", "W a fixture", 2, doubt, evidence.confidence, other_light),
        last_day=evidence.last_day,
    )
    if finding.verdict == "moved" and finding.since is None and not below(finding):
        return cannot_tell(zone, "standby_watts", agreed, standby_text(evidence, watts))
    if finding.verdict == "moved" and _may_be_low_level(evidence, size / watts):
        return cannot_tell(zone, "standby_watts", agreed, f"{finding.why}; {AT_LOW_LEVEL}")
    if isinstance(finding.observed, Estimate) and half_width(finding.observed) > WIDEST_STANDBY:
        return cannot_tell(zone, "standby_watts", agreed, f"{finding.why}, {COMES_AND_GOES}")
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


def _may_be_low_level(evidence: ZoneEvidence, floor: float) -> bool:
    """True where lamps that lost their schedule, and rest at their low level now, would look the same."""
    low = evidence.zone.commissioned.low_level
    return bool(low) and abs(floor - (low or 0.0)) <= LOW.apart


def _lamps_off(evidence: ZoneEvidence, watts: float, added: Sequence[CommonChange]) -> Daily:
    """The lowest loads of days on which the lamps were off at some time; those of others are the lamps'."""
    floor = evidence.series("floor")
    most = PLAUSIBLE_STANDBY_W / watts + sum(max(change.added, 0.0) for change in added)
    off = floor.value <= most
    return Daily(floor.day[off], floor.value[off], floor.count[off])


def _reference(finding: SettingFinding, agreed: float | bool | None) -> float:
    """What the present state is priced against: what was agreed, else what it was before."""
    if agreed is not None:
        return float(agreed)
    before = finding.earlier
    return float(before.estimate) if isinstance(before, Estimate) else 0.0


def _with_base_note(finding: SettingFinding, shift: float) -> SettingFinding:
    if shift < LEAST_NOTED:
        return finding
    note = f" (a load of {100 * shift:.0f} % of the connected load burns always and is allowed for)"
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
