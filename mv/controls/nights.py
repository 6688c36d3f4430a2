"""Lamps outside opening hours: is the zone off when nobody is there?"""

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.controls import effects
from mv.controls.change_day import redated
from mv.controls.daily import Daily
from mv.controls.evidence import ZoneEvidence
from mv.controls.hindrances import never_off_text
from mv.controls.readings import OFF_ROOM
from mv.controls.steps import Level, levels
from mv.controls.tolerances import (
    NIGHT_SHARE,
)
from mv.controls.vacant_days import LIT_ABOVE_BASE
from mv.controls.verdicts import cannot_tell, day_date

VACANT_MINUTES = 60.0  # without motion, longer than usual holds; common practice, no source
DAYS_AROUND = 28  # whole weeks before and after a change; common practice, no source
LIT_SHARE = 0.7  # of vacant closed time with lamps on, above which a zone is not off; no source
KEPT_SHARE = 0.5  # below which it passes as off: late work and cleaning look alike; no source


def scheduled_off(evidence: ZoneEvidence, agreed: float | bool | None) -> SettingFinding:
    """Whether lamps are off outside opening hours when the zone is vacant."""
    zone, wanted = evidence.zone.id, None if agreed is None else bool(agreed)
    closed = ~evidence.record.table.is_open
    if closed.all() or not closed.any():
        why = "no opening hours are given" if closed.all() else "the zone is open at all hours"
        return cannot_tell(zone, "scheduled_off", agreed, why)
    nights = night_levels(evidence)
    if not nights:
        return cannot_tell(zone, "scheduled_off", agreed, "the zone was never vacant outside opening hours")
    if evidence.floor.kind == "open":
        return cannot_tell(zone, "scheduled_off", agreed, never_off_text(evidence))
    off = [level.value < LIT_SHARE for level in nights]
    observed = Estimate(off[-1], None, None, evidence.confidence)
    share = 100.0 * nights[-1].value
    why = f"lamps burn in {share:.0f} % of vacant time outside opening hours"
    first = len(off) - 1
    while first > 0 and off[first - 1] == off[-1]:
        first -= 1
    if off[-1] and wanted and share >= 100.0 * KEPT_SHARE:
        why += f": more than late work explains, less than the {100 * LIT_SHARE:.0f} % of lamps left on"
        return cannot_tell(zone, "scheduled_off", agreed, why)
    if off[-1] and wanted:
        why += f" (up to {100 * KEPT_SHARE:.0f} % passes as off: late work and cleaning look alike)"
    if off[-1] == wanted or (wanted is None and first == 0):
        return SettingFinding(zone, "scheduled_off", agreed, observed, "kept", None, why)
    if off[-1] and (_off_anyway(evidence) or (first == 0 and not evidence.has_motion)):
        why = "lamps may go off because people left, so whether a schedule acts does not show"
        return cannot_tell(zone, "scheduled_off", agreed, why)
    if first and not _rose(evidence, nights[first].first_day):
        why = (
            "the load outside opening hours lies so near to that of lamps that are off that nothing tells "
            "them apart, and it did not change"
        )
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
    nights = night_levels(evidence)
    spells = []
    for at in range(1, len(nights) - 1):
        lit = [level.value >= LIT_SHARE for level in nights]
        begins = lit[at] and not lit[at - 1] and not lit[-1]
        if begins and _rose(evidence, nights[at].first_day):
            since, until = day_date(nights[at].first_day), day_date(nights[at].last_day)
            why = f"lamps burnt on outside opening hours from {since} to {until}, and no longer do"
            observed = Estimate(False, None, None, evidence.confidence)
            spells.append(
                SettingFinding(
                    evidence.zone.id, "scheduled_off", None, observed, "moved", since, why, until=until
                )
            )
    return spells


def _rose(evidence: ZoneEvidence, first: int) -> bool:
    """Whether the load itself changed by a lamp's worth on a day, not only its side of the limit between
    on and off. The days around it speak."""
    night = evidence.series("night")
    before = night.value[(night.day < first) & (night.day >= first - DAYS_AROUND)]
    after = night.value[(night.day >= first) & (night.day < first + DAYS_AROUND)]
    if not len(before) or not len(after):
        return True
    return bool(abs(np.median(after) - np.median(before)) >= LIT_ABOVE_BASE)


def night_levels(evidence: ZoneEvidence) -> list[Level]:
    """The share of vacant closed time with lamps on as levels, dated by the last readings of a day."""
    found = levels(nights_lit(evidence), least_step=NIGHT_SHARE.step)
    table = evidence.record.table
    closed = ~table.is_open & np.isfinite(table.level) & ~(table.age < VACANT_MINUTES)
    limit = evidence.floor.base + LIT_ABOVE_BASE + evidence.restless
    lit = (table.level > limit).astype(np.float64)
    return redated(found, table.day, lit, closed)


def nights_lit(evidence: ZoneEvidence) -> Daily:
    """Share of vacant closed time with lamps on, a day; an added load or a risen floor is no lamp."""
    lit, night = evidence.series("night_on"), evidence.series("night")
    added = [change for change in evidence.common if change.kind == "added"]
    added += [evidence.floor_rise] if evidence.floor_rise and not added else []
    if not added or evidence.floor.kind == "lamps":  # the lowest load is that of lamps never off
        return lit
    value = lit.value.copy()
    level = dict(zip(night.day.tolist(), night.value.tolist(), strict=True))
    for i, day in enumerate(lit.day.tolist()):
        extra = sum(change.added for change in added if day >= change.day)
        if level.get(day, 0.0) - extra <= evidence.floor.base + LIT_ABOVE_BASE:
            value[i] = 0.0
    return Daily(lit.day, value, lit.count)


def _off_anyway(evidence: ZoneEvidence) -> bool:
    if evidence.zone.commissioned.low_level == 0.0:
        return True
    return not evidence.low or evidence.low[-1].value <= evidence.floor.base + OFF_ROOM
