"""A numeric setting as levels over time, with what counts as apart and how it is spoken of."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.controls.always_on import AlwaysOn
from mv.controls.evidence import FEW_DARK_DAYS, ZoneEvidence
from mv.controls.hindrances import FINE_MINUTES
from mv.controls.hold_offset import HoldOffset, grid_doubt, hold_offset
from mv.controls.hold_time import typical_hold
from mv.controls.steps import Level
from mv.controls.tolerances import (
    LOW,
    METER_CLASS,
    TRIM,
    Tolerance,
    hold_tolerance,
)
from mv.controls.verdicts import Scale, past_spells

WARMING = 0.004  # of a level, half-width: lamps draw more until they are warm; common practice, no source
LOOSE_DAYS, LOOSE_SHARE = 2.0, 0.3  # minutes and share; days of a spell of hold differ by less; no source
COMMON_SHARE = 0.4  # of the spread between days of a hold time, which all may have alike; no source
PARTS_SHARE = 0.2  # of a fine interval by which the last of several parts falls unseen; no source
OFF_ROOM = 0.015  # level within which vacant lamps count as at the floor; common practice, no source


@dataclass(frozen=True, slots=True)
class Reading:
    """A numeric setting's levels, with how far apart counts and how it is spoken of."""

    levels: list[Level]
    tolerance: Tolerance
    scale: Scale


def trim_reading(evidence: ZoneEvidence) -> Reading:
    """Full-on levels, the always-on load taken off."""
    full = full_level(evidence)
    doubt = evidence.floor.doubt_at(full, full)
    tolerance = _widened(TRIM, doubt, evidence.restless)
    found = [_shifted(level, -evidence.floor.taken_off(level.value, level.value)) for level in evidence.trim]
    agreed = evidence.zone.commissioned.high_trim
    return Reading(
        _without_bounds(evidence, found, "dark", agreed, tolerance.apart, partly=not evidence.together),
        tolerance,
        Scale("the full-on level", "%", 1, _level_doubt(evidence, full, doubt), evidence.confidence),
    )


def low_reading(evidence: ZoneEvidence) -> Reading:
    """Levels when vacant in opening hours; the floor is off."""
    full, last = full_level(evidence), evidence.low[-1].value if evidence.low else 0.0
    doubt = evidence.floor.doubt_at(last, full)
    tolerance = _widened(LOW, doubt, evidence.restless)
    found = [_above_floor(level, evidence.floor, full) for level in evidence.low]
    agreed = evidence.zone.commissioned.low_level
    return Reading(
        _without_bounds(evidence, found, "low_dark", agreed, tolerance.apart, partly=False),
        tolerance,
        Scale("the level when vacant", "%", 1, _level_doubt(evidence, last, doubt), evidence.confidence),
    )


def hold_reading(evidence: ZoneEvidence) -> Reading:
    """Hold times, restated from all events of each stretch."""
    agreed = evidence.zone.commissioned.hold_minutes
    loose = [max(LOOSE_DAYS, LOOSE_SHARE * level.value) for level in evidence.hold[:-1]]
    sharp = [level for level, most in zip(evidence.hold, loose, strict=False) if level.noise <= most]
    found = [_mode_in(evidence, level) for level in (*sharp, *evidence.hold[-1:])]
    return Reading(
        found,
        _widened(hold_tolerance(evidence.record.table.minutes, agreed), parts_doubt(evidence)),
        _hold_scale(evidence, found[-1].noise if found else 0.0),
    )


def _without_bounds(
    evidence: ZoneEvidence,
    found: list[Level],
    sunless: str,
    agreed: float | None,
    apart: float,
    *,
    partly: bool,
) -> list[Level]:
    """The levels without earlier ones that may be daylight's doing, or part of the lamps alone.

    `partly`: the lamps go on part by part. The last level stays: its own rule judges it.
    """
    if not found or not (partly or evidence.may_dim):
        return found
    top = max(level.value for level in found) if agreed is None else agreed
    dark = evidence.series(sunless).day
    kept = []
    for level in found[:-1]:
        days = int(((dark >= level.first_day) & (dark <= level.last_day)).sum())
        bound = level.value < top - apart and (partly or days < FEW_DARK_DAYS)
        kept += [] if bound else [level]
    return [*kept, found[-1]]


def past_spells_of(evidence: ZoneEvidence, findings: Sequence[SettingFinding]) -> list[SettingFinding]:
    """Spells, now over, in which a numeric setting was not as agreed."""
    spells = []
    for finding in findings:
        if finding.setting == "low_level" and not evidence.has_motion:
            continue  # a zone partly in use looks the same
        if finding.setting in READINGS:
            reading = READINGS[finding.setting](evidence)
            found = past_spells(finding, reading.levels, reading.tolerance, reading.scale)
            unsure = finding.setting == "high_trim" and evidence.may_dim and not evidence.has_motion
            spells += [spell for spell in found if not (unsure and _fell_away(spell))]
    return spells


def _fell_away(spell: SettingFinding) -> bool:
    """Lower than before: in a zone that dims and keeps no log, daylight and absence look the same."""
    now, before = spell.observed, spell.earlier
    return isinstance(now, Estimate) and isinstance(before, Estimate) and now.estimate < before.estimate


def _hold_scale(evidence: ZoneEvidence, noise: float) -> Scale:
    """With the minutes that no number of events narrows: the grid, the log, lamps' fading, several parts.

    `noise`: by which days differ; controls' timers do not, so something else acts, on all days in part.
    """
    minutes, offset = evidence.record.table.minutes, offset_of(evidence)
    parts = PARTS_SHARE * minutes if _in_parts(evidence) and minutes < FINE_MINUTES else 0.0
    own = float(
        np.linalg.norm(
            (grid_doubt(minutes), 0.5 * evidence.record.stamp_minutes, parts, COMMON_SHARE * noise)
        )
    )
    long, short = (float(np.hypot(own, doubt)) for doubt in (offset.too_long, offset.too_short))
    more = 0.25 * parts_doubt(evidence)
    return Scale("the hold time", "min", 1, short + more, evidence.confidence, long - short)


def offset_of(evidence: ZoneEvidence) -> HoldOffset:
    """What the log, the clocks and the lamps' fading put between the fall of the load and the hold time."""
    return hold_offset(
        evidence.events,
        interval_minutes=evidence.record.table.minutes,
        shortest_motion_minutes=evidence.record.shortest_motion_minutes,
        lag_known=evidence.lag_minutes is not None,
        in_parts=_in_parts(evidence),
        confidence=evidence.confidence,
    )


def _in_parts(evidence: ZoneEvidence) -> bool:
    """True where several sensors each hold a part of the lamps."""
    return evidence.together is False or (evidence.events is not None and evidence.events.several)


def parts_doubt(evidence: ZoneEvidence) -> float:
    """Minutes by which the last fall of several sensors' lamps is unsure: an interval of a coarse grid."""
    minutes = evidence.record.table.minutes
    return minutes if _in_parts(evidence) and minutes >= FINE_MINUTES else 0.0


def _mode_in(evidence: ZoneEvidence, level: Level) -> Level:
    """The level restated from all events of its days together."""
    events = evidence.events
    if events is None:
        return level
    inside = (events.day >= level.first_day) & (events.day <= level.last_day)
    mode, spread = typical_hold(events.minutes[inside], events.half[inside])
    if mode is None:
        return level
    value = mode - (evidence.lag_minutes or 0.0) + offset_of(evidence).minutes
    return replace(level, value=value, noise=max(spread, level.noise))


def full_level(evidence: ZoneEvidence) -> float:
    """What lamps wholly on read, the always-on load included; the level agreed where it does not show."""
    if evidence.trim:
        return evidence.trim[-1].value
    return evidence.zone.commissioned.high_trim or 1.0


def _level_doubt(evidence: ZoneEvidence, size: float, floor_doubt: float) -> float:
    """Half-width of a level that days do not narrow: meter, lamps' warming, the always-on load."""
    step = evidence.rounding * evidence.record.step_level
    return float(np.linalg.norm((METER_CLASS * size, WARMING * size, step))) + floor_doubt


def _above_floor(level: Level, floor: AlwaysOn, full: float) -> Level:
    """Vacant level without the always-on load; at the floor it is 0, off, unless lamps never are."""
    if floor.kind != "lamps" and level.value <= floor.base + OFF_ROOM:
        return replace(level, value=0.0)
    return replace(level, value=level.value - floor.taken_off(level.value, full))


def _widened(tolerance: Tolerance, doubt: float, restless: float = 0.0) -> Tolerance:
    """A level that is itself uncertain by `doubt` must lie that much further off to be apart.

    `restless`: another load that comes and goes by as much makes steps of its own.
    """
    return Tolerance(tolerance.step + restless, tolerance.apart + doubt)


def _shifted(level: Level, by: float) -> Level:
    return replace(level, value=level.value + by)


def scaled(level: Level, by: float) -> Level:
    return replace(level, value=level.value * by, noise=level.noise * by)


READINGS: Mapping[str, Callable[[ZoneEvidence], Reading]] = {
    "high_trim": trim_reading,
    "low_level": low_reading,
    "hold_minutes": hold_reading,
}
