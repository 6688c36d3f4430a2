"""What a meter would have used with the measures on in turn, from its motion sums."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mv.bridge.motion_model import MotionSums, Spell

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

LIT_SHARE = 0.04
"""Vacant level, share of the full one, below which vacant means off. Common practice, no source."""
SMALL_RISE = 0.005
"""Rise of the floor, share of the full level, that is nothing. Common practice, no source."""
SMALL_VACANT = 0.08
"""Vacant level, share of the full one, taken where none was seen. Common practice, no source."""
NEAR_CALL = 2.5
"""Factor about that limit within which the rise may as well have the other cause. No source."""
LOST_SHARE = 0.5
"""Fall of the rise while held, share of the floor's rise, that tells a lost schedule. No source."""


@dataclass(frozen=True)
class MeasureEnergies:
    """kWh of the used intervals with sensing alone, with daylight, with schedule; and loads, kW.

    `trim_kw` is the trimmed load of all zones, weighted over spells by opening hours, `egress_kw`
    the load that never stops. `added` is load that came after the first spells, kWh; it is in
    none of the others. `vacant_told` is False where a zone's vacant level was never seen,
    `schedule_told` where in such a spell the schedule acted.
    """

    sensing: float
    daylight: float
    schedule: float
    added: float
    trim_kw: float
    egress_kw: float
    vacant_told: bool
    schedule_told: bool


def measure_energies(sums: MotionSums) -> MeasureEnergies:
    """What the meter would have used with the measures on in turn."""
    base = base_floor(sums)
    always = _always_lit_kw(sums)
    plain = min(sums.spells, key=lambda spell: spell.levels.floor)
    parts = [_spell_energies(spell, sums, base, plain, always) for spell in sums.spells]
    weights = np.array([max(spell.open_hours, 1e-9) for spell in sums.spells])
    added = sum(part.added for part in parts)
    schedule = sums.used_kwh - sum(part.standby for part in parts) - added
    return MeasureEnergies(
        sensing=sum(part.sensing for part in parts),
        daylight=schedule + sum(part.schedule_effect for part in parts),
        schedule=schedule,
        added=added,
        trim_kw=float(weights @ [part.trim_kw for part in parts] / weights.sum()),
        egress_kw=max(0.0, base - float(sums.standby_kw.sum())),
        vacant_told=not any(spell.levels.unseen for spell in sums.spells),
        schedule_told=not any(
            spell.levels.unseen and not part.schedule_lost
            for spell, part in zip(sums.spells, parts, strict=True)
        ),
    )


def base_floor(sums: MotionSums) -> float:
    """Power that never stops (standby, egress), kW: the least floor of any spell.

    The vacant lamps of a zone where no schedule ever acted are in every floor: they are taken off.
    """
    return _least_floor(sums) - float(_always_lit_kw(sums).sum())


def always_lit(sums: MotionSums) -> Bools:
    """Zones whose vacant lamps never go dark, so that no standby of theirs stands in the floor."""
    return np.asarray(_always_lit_kw(sums) > LIT_SHARE * np.maximum(sums.zones_kw, 1e-9), dtype=np.bool_)


def _least_floor(sums: MotionSums) -> float:
    return max(0.0, min(spell.levels.floor for spell in sums.spells))


def _always_lit_kw(sums: MotionSums) -> Floats:
    """Vacant lamps by zone, kW, that burn in every floor: no schedule ever acted there.

    Their vacant level as told, the whole floor where it is not known; together at most the floor.
    """
    never = np.logical_and.reduce([_never_scheduled(spell) for spell in sums.spells])
    least = _least_floor(sums)
    lit = np.where(never, np.where(np.isnan(sums.low_kw), least, sums.low_kw), 0.0)
    total = float(lit.sum())
    return np.asarray(lit * min(1.0, least / total) if total > 0 else lit, dtype=np.float64)


@dataclass(frozen=True)
class _SpellEnergies:
    """kWh of one spell, and its trimmed load, kW."""

    sensing: float
    schedule_effect: float
    standby: float
    added: float
    trim_kw: float
    schedule_lost: bool


def _spell_energies(
    spell: Spell, sums: MotionSums, base: float, plain: Spell, always: Floats
) -> _SpellEnergies:
    """A floor that rose is a lost schedule (vacant lamps burn on), standby grown, or a load added.

    Where no schedule ever acted in a zone, its vacant lamps, `always` kW, stand in every floor.
    """
    levels = spell.levels
    rise = max(0.0, levels.floor - plain.levels.floor)
    cause = _cause_of_rise(spell, rise, plain, other=sums.other_cause)
    never = _never_scheduled(plain) & _never_scheduled(spell)
    lost = never | (cause == "schedule lost")
    share = sums.zones_kw / max(float(sums.zones_kw.sum()), 1e-9)
    lift = always + share * rise * (cause == "schedule lost")
    standby = sums.standby_kw + share * rise * (cause == "standby grown")
    egress = max(0.0, base - float(sums.standby_kw.sum()))
    full = levels.held + lift + standby
    vacant_rise = np.maximum(levels.vacant, lift)
    lit = vacant_rise > LIT_SHARE * full
    vacant = np.where(lit, vacant_rise + np.where(lost, 0.0, standby), 0.0)
    dark = np.where(lit, np.where(lost, 0.0, spell.closed_vacant), spell.vacant)
    return _SpellEnergies(
        sensing=float(full @ spell.held + vacant @ spell.vacant) + egress * spell.hours,
        schedule_effect=float(np.where(lost, 0.0, vacant) @ spell.closed_vacant_lit),
        standby=float(standby @ dark),
        added=rise * spell.hours if cause == "load added" else 0.0,
        trim_kw=float(full.sum()),
        schedule_lost=bool(lost.all()),
    )


def _cause_of_rise(spell: Spell, rise: float, plain: Spell, *, other: bool) -> str:
    """Why the floor stands above the plain spell's; `other` picks the second likeliest where it is near.

    A load added leaves the rise while held what it was in the plain spell. A lost schedule and
    grown standby take as much off it; a lost schedule lifts the floor to the vacant level.
    """
    full = float(plain.levels.held.sum())
    if spell is plain or rise <= SMALL_RISE * full:
        return "nothing"
    if full - float(spell.levels.held.sum()) <= LOST_SHARE * rise:
        return "load added"
    vacant = max(float(plain.levels.vacant.sum()), SMALL_VACANT * full)
    lost = rise > LOST_SHARE * vacant
    near = 1.0 / NEAR_CALL < rise / (LOST_SHARE * vacant) < NEAR_CALL
    return "schedule lost" if lost is not (other and near) else "standby grown"


def _never_scheduled(spell: Spell) -> Bools:
    """Zones that are told never to go off by schedule."""
    return np.array([told is False for told in spell.schedule_told], dtype=np.bool_)
