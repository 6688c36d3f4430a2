"""The levels and sums of a meter whose zones all have motion logs, spell by spell."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mv.bridge.daylit_vacant import vacant_share_left
from mv.bridge.frame import Frame
from mv.bridge.levels import DARK_BELOW_DEG, Levels, fit_levels
from mv.bridge.vacant import VacantLevel, fitted_vacant, seen_by_day, where_dimmed, with_vacant

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Spell:
    """One spell's intervals as sums, hours: all, held, vacant and closed, by zone; and levels.

    `closed_vacant_lit` is `closed_vacant` less the share that daylight would have dimmed away.
    """

    hours: float
    open_hours: float
    held: Floats
    vacant: Floats
    closed_vacant: Floats
    closed_vacant_lit: Floats
    levels: Levels
    schedule_told: tuple[bool | None, ...]


@dataclass(frozen=True)
class MotionSums:
    """All spells of a meter, the energy of the intervals used, kWh, and standby by zone, kW.

    `low_kw` is the vacant level told or agreed of each zone, kW, NaN where not known.
    """

    spells: tuple[Spell, ...]
    used_kwh: float
    standby_kw: Floats
    zones_kw: Floats
    low_kw: Floats
    other_cause: bool = False  # take the other cause of a rise of the floor where two are likely


@dataclass(frozen=True)
class Told:
    """What the settings told: vacant rise by (spell, zone), and whether the schedule acted."""

    vacant: Callable[[int, int], VacantLevel | None]
    schedule: Sequence[tuple[bool | None, ...]]


def motion_sums(
    table: Frame, held: Floats, *, standby_kw: Floats, zones_kw: Floats, told: Told
) -> MotionSums | None:
    """Levels fitted spell by spell, and the sums that the energies follow from.

    None where no spell has levels.
    """
    usable = np.isfinite(table.power_kw) & np.isfinite(held).all(axis=1)
    masks = [usable & (table.spell == s) for s in range(len(table.edges))]
    found = [_spell_levels(table, held, mask, s, told) for s, mask in enumerate(masks)]
    if all(levels is None for levels in found):
        return None
    filled = _filled(table, held, masks, found)
    spells = tuple(
        _spell(table, held, mask, levels, told.schedule[s])
        for s, (mask, levels) in enumerate(zip(masks, filled, strict=True))
    )
    used = float(table.power_kw[usable].sum()) * table.interval_minutes / 60.0
    return MotionSums(spells, used, standby_kw, zones_kw, np.full(len(zones_kw), np.nan))


def _spell_levels(table: Frame, held: Floats, usable: Bools, spell: int, told: Told) -> Levels | None:
    """Fitted levels, those told where the fit has too little, and vacant levels from elsewhere."""
    mask = usable & telling(table, held)
    hours = table.interval_minutes / 60.0
    power, opened = table.power_kw, table.is_open
    levels = None
    if mask.any():
        levels = fit_levels(power[mask], held[mask], opened[mask], day=table.day[mask], hours=hours)
    if levels is None:
        return None
    for zone in range(held.shape[1]):
        fitted = None if zone in levels.unseen else fitted_vacant(levels, zone)
        stated = told.vacant(spell, zone)
        seen = seen_by_day(
            power[usable],
            held[usable],
            opened[usable],
            levels,
            zone=zone,
            day=table.day[usable],
            hours=hours,
        )
        if not table.undimmed:
            seen = where_dimmed(seen, stated)
        level = _surest((fitted, seen, stated))
        if level is not None:
            levels = with_vacant(levels, zone, level)
    return levels


def _surest(sources: Sequence[VacantLevel | None]) -> VacantLevel | None:
    """The first source, unless a later one is more than twice as sure."""
    known = [level for level in sources if level is not None]
    best = known[0] if known else None
    for level in known[1:]:
        if best is not None and level.error < best.error / 2.0:
            best = level
    return best


def _spell(
    table: Frame,
    held: Floats,
    mask: Bools,
    levels: Levels,
    schedule_told: tuple[bool | None, ...],
) -> Spell:
    hours = table.interval_minutes / 60.0
    vacant, opened = 1.0 - held[mask], table.is_open[mask]
    closed_vacant = vacant * ~opened
    return Spell(
        hours=float(mask.sum()) * hours,
        open_hours=float(opened.any(axis=1).sum()) * hours,
        held=held[mask].sum(axis=0) * hours,
        vacant=vacant.sum(axis=0) * hours,
        closed_vacant=closed_vacant.sum(axis=0) * hours,
        closed_vacant_lit=(closed_vacant * _left_by_daylight(table, held, mask, levels)).sum(axis=0) * hours,
        levels=levels,
        schedule_told=schedule_told,
    )


def _left_by_daylight(table: Frame, held: Floats, mask: Bools, levels: Levels) -> Floats:
    """Share of each zone's vacant level that daylight leaves, by interval of the spell."""
    full = float(levels.held.sum())
    if table.undimmed or full <= 0:
        return np.ones((int(mask.sum()), held.shape[1]))
    level = (table.power_kw[mask] - levels.floor) / full
    columns = [
        vacant_share_left(
            level,
            held[mask].min(axis=1),
            table.sun_deg[mask],
            vacant_level=float(levels.vacant[z] / max(levels.held[z], 1e-9)),
            above_deg=DARK_BELOW_DEG,
        )
        for z in range(held.shape[1])
    ]
    return np.column_stack(columns)


def telling(table: Frame, held: Floats) -> Bools:
    """Intervals whose power shows the levels: dark ones, and vacant ones with the sun still low.

    Vacant lamps stay at their low level until daylight would dim them further.
    """
    vacant = np.nan_to_num(held, nan=1.0).max(axis=1) <= 0.0
    return np.asarray(table.dark | (vacant & table.low_sun) | table.undimmed, dtype=bool)


def _filled(
    table: Frame, held: Floats, masks: Sequence[Bools], found: Sequence[Levels | None]
) -> list[Levels]:
    """Spells without levels of their own take those of the spell that fits their power best."""
    known = [levels for levels in found if levels is not None]
    return [
        levels or min(known, key=lambda other: _median_misfit(table, held, mask, other))
        for levels, mask in zip(found, masks, strict=True)
    ]


def _median_misfit(table: Frame, held: Floats, mask: Bools, levels: Levels) -> float:
    """Median distance, kW, of the spell's telling intervals from what those levels make of them."""
    chosen = mask & telling(table, held)
    if not chosen.any():
        return 0.0
    vacant = (1.0 - held[chosen]) * table.is_open[chosen]
    made = levels.floor + held[chosen] @ levels.held + vacant @ levels.vacant
    return float(np.median(np.abs(table.power_kw[chosen] - made)))
