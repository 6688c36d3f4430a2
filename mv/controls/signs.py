"""Further signs of an indoor zone: what changed though nobody agreed on it."""

import itertools
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from mv.base.estimate import Answer, Estimate
from mv.base.setting_records import SettingFinding
from mv.controls.burn_lengths import burn_signs
from mv.controls.common_changes import CommonChange
from mv.controls.daily import daily_mean
from mv.controls.day_edges import clock_moves
from mv.controls.effects import DAYS_A_MONTH
from mv.controls.evidence import ZoneEvidence
from mv.controls.full_days import full_day_signs
from mv.controls.held_share import hold_change
from mv.controls.nights import night_spells
from mv.controls.readings import past_spells_of
from mv.controls.schedule_clock import schedule_signs
from mv.controls.setting_rules import RULES
from mv.controls.shared_signs import LAMPS_OR_TRIM, SHARE_DOUBT, added_sign
from mv.controls.steps import levels
from mv.controls.tolerances import TRIM
from mv.controls.vacant_days import MOST_ALWAYS_ON
from mv.controls.verdicts import Scale, day_date, numeric_finding

FEWEST_FALLS = 10  # falls after absences for a usual answer; common practice, no source
CLEAR_ABOVE = 0.12  # level above that fallen to, from which a fall must show; common practice, no source
SELDOM_FALLS = 0.25  # share of absences with a fall that is next to none; common practice, no source
FINE_FLOOR_STEP = 0.004  # level; a step of the floor that counts; common practice, no source


def further_signs(evidence: ZoneEvidence, findings: Sequence[SettingFinding]) -> tuple[SettingFinding, ...]:
    """Common changes of all levels, falls of the full level, and settings not agreed that changed."""
    agreed = {finding.setting for finding in findings}
    own = [RULES[name](evidence, None) for name in RULES if name not in agreed]
    signs = [sign for sign in own if sign.verdict == "moved"]
    signs += [_common_sign(evidence, change) for change in evidence.common]
    if not any(f.setting == "hold_minutes" and f.verdict != "cannot tell" for f in (*findings, *own)):
        signs += hold_change(evidence)
    signs += past_spells_of(evidence, findings) + night_spells(evidence)
    shifted = schedule_signs(evidence)
    if not any(sign.setting == "schedule_shift_hours" for sign in shifted):
        shifted += clock_moves(evidence)
    signs += shifted if evidence.has_motion else shifted + burn_signs(evidence)
    if not any(f.setting == "standby_watts" and f.verdict == "moved" for f in (*findings, *own)):
        signs += _floor_sign(evidence)
    if not any(f.setting == "low_level" and f.verdict != "cannot tell" for f in findings):
        signs += _response_sign(evidence) or full_day_signs(evidence)
    trim = next((f for f in (*findings, *own) if f.setting == "high_trim"), None)
    if trim is not None and trim.why.endswith(LAMPS_OR_TRIM):
        signs.append(_fallen_sign(evidence, trim))
    return tuple(signs)


def _common_sign(evidence: ZoneEvidence, change: CommonChange) -> SettingFinding:
    since = day_date(change.day)
    confidence = evidence.confidence
    if change.kind == "added":
        return added_sign(evidence.zone.id, evidence.record, change, confidence)
    share = 1.0 - change.factor
    why = (
        f"every lit level fell by {100 * share:.0f} % on {since} and the floor did not: "
        "lamps or drivers failed, which looks like a saving but is not"
    )
    observed = Estimate(share, share - SHARE_DOUBT, share + SHARE_DOUBT, confidence)
    effect = _lost_energy(evidence, change.day, share)
    return SettingFinding(evidence.zone.id, "lamps_failed", None, observed, "moved", since, why, effect)


def _response_sign(evidence: ZoneEvidence) -> list[SettingFinding]:
    """Lamps that used to fall when people left and no longer do, where no low level can be read.

    Only absences count that are longer than any hold, from a level well above that fallen to.
    """
    events = evidence.events
    if events is None or len(events.fallen_level) < FEWEST_FALLS:
        return []
    hold = max((level.value for level in evidence.hold), default=0.0)
    rest = float(np.quantile(events.fallen_level, 0.75))
    stayed = (events.undropped_minutes >= hold + 5.0) & (events.undropped_level >= rest + CLEAR_ABOVE)
    day = np.concatenate((events.day, events.undropped_day[stayed]))
    fell = np.concatenate((np.ones(len(events.day)), np.zeros(int(stayed.sum()))))
    found = levels(daily_mean(day, fell), least_step=0.5)
    if len(found) < 2 or found[-1].value > SELDOM_FALLS or found[0].value < 1.0 - SELDOM_FALLS:
        return []
    since = day_date(found[-1].first_day)
    share = found[-1].value
    why = f"since {since} lamps fall in only {100 * share:.0f} % of absences longer than the hold time"
    observed = Estimate(share, max(share - 0.1, 0.0), min(share + 0.1, 1.0), evidence.confidence)
    return [SettingFinding(evidence.zone.id, "sensor_response", None, observed, "moved", since, why)]


def _floor_sign(evidence: ZoneEvidence) -> list[SettingFinding]:
    """A floor that holds more than standby and yet steps: standby grown or a small load added."""
    told = evidence.floor.kind == "egress" or evidence.floor_rise is not None
    if not told or any(c.kind == "added" for c in evidence.common):
        return []
    floors = levels(
        evidence.series("floor"), least_step=max(FINE_FLOOR_STEP, 1.5 * evidence.record.step_level)
    )
    floors = [level for level in floors if level.value <= MOST_ALWAYS_ON]
    if len(floors) < 2:
        return []
    kw = evidence.record.full_kw
    scale = Scale("the lowest load of the night", "kW", 3, 0.002 * kw, evidence.confidence)
    finding = numeric_finding(
        evidence.zone.id,
        "night_floor_kw",
        agreed=None,
        levels=[replace(level, value=level.value * kw, noise=level.noise * kw) for level in floors],
        tolerance=TRIM,
        scale=scale,
        last_day=evidence.last_day,
    )
    if not isinstance(finding.observed, Estimate) or not isinstance(finding.earlier, Estimate):
        return []
    more = float(finding.observed.estimate) - float(finding.earlier.estimate)
    if abs(more) < FINE_FLOOR_STEP * kw:
        return []  # it came back to where it was
    room = 0.01 * kw
    effect = Estimate(more, more - room, more + room, evidence.confidence).scaled(24.0 * DAYS_A_MONTH * 0.6)
    return [replace(finding, effect_kwh_per_month=effect)]


def _fallen_sign(evidence: ZoneEvidence, trim: SettingFinding) -> SettingFinding:
    """The full level fell with nothing else to tell lamps from trim by."""
    levels = evidence.trim
    falls = [(b.value - a.value, at + 1) for at, (a, b) in enumerate(itertools.pairwise(levels))]
    first = levels[min(falls)[1]]
    before = max(level.value for level in levels)
    share = 1.0 - levels[-1].value / before
    observed = Estimate(share, share - SHARE_DOUBT, share + SHARE_DOUBT, evidence.confidence)
    effect = _lost_energy(evidence, first.first_day, share)
    return replace(
        trim,
        setting="lamps_failed",
        commissioned=None,
        observed=observed,
        verdict="moved",
        since=day_date(first.first_day),
        effect_kwh_per_month=effect,
    )


def _lost_energy(evidence: ZoneEvidence, day: int, share: float) -> Answer:
    """Energy not used by the share of lamps that is missing, negative."""
    table = evidence.record.table
    rows = (table.day >= day) & np.isfinite(table.level)
    days = max(rows.sum() * table.minutes / 1440.0, 1.0)
    hours = float(np.maximum(table.level[rows] - evidence.floor.base, 0.0).sum()) * table.minutes / 60.0
    kwh = -hours * evidence.record.full_kw * DAYS_A_MONTH / days * share / max(1.0 - share, 0.05)
    room = abs(kwh) * SHARE_DOUBT / max(share, SHARE_DOUBT)
    return Estimate(kwh, kwh - room, kwh + room, evidence.confidence)
