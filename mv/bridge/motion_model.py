"""A meter whose zones all have motion logs: what it would have used measure by measure."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.clock import local_days
from mv.bridge.daylight_drop import dims_by_day_when_held
from mv.bridge.daylit_vacant import HELD_ENOUGH, vacant_share_left
from mv.bridge.evidence import MeterEvidence
from mv.bridge.hold_fit import fitted_hold, hold_misfit
from mv.bridge.holding import MotionSpans, held_share, motion_spans
from mv.bridge.levels import DARK_BELOW_DEG, Levels, fit_levels
from mv.bridge.spells import SettingValue, setting_in, spell_edges, spell_of_each
from mv.bridge.told import never_dimmed
from mv.bridge.vacant import VacantLevel, fitted_vacant, seen_by_day, with_vacant

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

COARSEST_MINUTES = 60.0
"""Coarser metering cannot be set against motion. Common practice, no source."""
LOW_SUN_DEG = 12.0
"""Sun elevation below which vacant lamps at their low level are not dimmed further. No source."""
FAR_BETTER = 0.7
"""Squared misfit, share of the told hold time's, below which a fitted one replaces it."""
LIT_SHARE = 0.04
"""Vacant level, share of the full one, below which vacant means off. Common practice, no source."""
SMALL_RISE = 0.005
"""Rise of the floor, share of the full level, that is nothing. Common practice, no source."""
SMALL_VACANT = 0.08
"""Vacant level, share of the full one, taken where none was seen. Common practice, no source."""
LOST_SHARE = 0.5
"""Fall of the rise while held, share of the floor's rise, that tells a lost schedule. No source."""


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


@dataclass(frozen=True)
class Frame:
    """A meter's usable intervals and the settings told of each spell."""

    power_kw: Floats
    index: pd.DatetimeIndex
    is_open: Bools
    sun_deg: Floats
    dark: Bools
    low_sun: Bools
    day: npt.NDArray[np.int64]
    spell: npt.NDArray[np.int64]
    edges: tuple[pd.Timestamp, ...]
    spans: tuple[MotionSpans, ...]
    hold: tuple[tuple[SettingValue | None, ...], ...]
    undimmed: bool
    interval_minutes: float


def frame(meter: MeterEvidence, timezone: str) -> Frame | None:
    """The meter's intervals beside its zones' motion; None where a zone lacks log or hours."""
    zones = meter.zones
    if meter.interval_minutes > COARSEST_MINUTES or not zones or meter.sun_elevation_deg is None:
        return None
    if any(z.outdoor or z.motion is None or z.is_open is None for z in zones):
        return None
    index = pd.DatetimeIndex(meter.power_kw.index)
    if not len(index):
        return None
    edges = spell_edges([zone.settings for zone in zones], index, timezone)
    spans = tuple(
        motion_spans(zone.motion, origin=index[0], lag_minutes=_lag(zone.settings))
        for zone in zones
        if zone.motion is not None
    )
    hold = tuple(
        tuple(setting_in(z.settings, "hold_minutes", edge, timezone) for edge in edges) for z in zones
    )
    opened = [np.asarray(zone.is_open, dtype=bool) for zone in zones if zone.is_open is not None]
    days = local_days(index, timezone)
    elevation = meter.sun_elevation_deg.to_numpy(dtype=float)
    return Frame(
        power_kw=meter.power_kw.to_numpy(dtype=float),
        index=index,
        is_open=np.column_stack(opened),
        sun_deg=elevation,
        dark=elevation < DARK_BELOW_DEG,
        low_sun=elevation < LOW_SUN_DEG,
        day=np.asarray(days.as_unit("s").asi8 // 86400, dtype=np.int64),
        spell=spell_of_each(index, edges),
        edges=edges,
        spans=spans,
        hold=hold,
        undimmed=never_dimmed(zones, edges, timezone),
        interval_minutes=meter.interval_minutes,
    )


def _lag(settings: object) -> float:
    lag = getattr(settings, "motion_lag_minutes", None)
    return 0.0 if lag is None else float(lag)


def made_ready(table: Frame, meter: MeterEvidence, timezone: str) -> Frame:
    """The frame with hold times, and with what the meter shows of daylight dimming."""
    held = with_holds(table)
    full = np.nan_to_num(held_matrix(held), nan=0.0).min(axis=1) >= HELD_ENOUGH
    seen = dims_by_day_when_held(
        held.power_kw, full, held.dark, held.sun_deg, hours=held.interval_minutes / 60.0
    )
    undimmed = never_dimmed(meter.zones, held.edges, timezone, seen=seen)
    return replace(held, undimmed=undimmed)


def with_holds(table: Frame) -> Frame:
    """The frame with a hold time in every spell: told ones, else one fitted to the power.

    A told one gives way where another fits the power far better.
    """
    hold = list(table.hold)
    for z, values in enumerate(hold):
        fitted, misfit = fitted_hold(table, z)
        told = [value for value in values if value is not None]
        if not told:
            hold[z] = (fitted,) * len(values)
            continue
        filled = tuple(told[0] if value is None else value for value in values)
        told_misfit = hold_misfit(table, z, _at_ends(table, z, filled))
        hold[z] = filled if misfit > FAR_BETTER * told_misfit else (fitted,) * len(values)
    return replace(table, hold=tuple(hold))


def _at_ends(
    table: Frame, zone: int, values: tuple[SettingValue | None, ...], *, moved: float = 0.0
) -> Floats:
    """The hold time, minutes, in force at the end of each span of motion."""
    spans = table.spans[zone]
    ends = spans.origin + pd.to_timedelta(spans.end, unit="min")
    spell = np.clip(spell_of_each(pd.DatetimeIndex(ends), table.edges), 0, None)
    minutes = [max(0.0, v.value + moved * v.error) if v else np.nan for v in values]
    return np.asarray(minutes, dtype=np.float64)[spell]


def held_matrix(table: Frame, *, shift: Floats | None = None) -> Floats:
    """Held share of each interval and zone; `shift` adds that many standard errors to the holds."""
    return np.column_stack(
        [
            held_share(
                spans,
                table.index,
                interval_minutes=table.interval_minutes,
                hold_minutes=_at_ends(
                    table, z, table.hold[z], moved=0.0 if shift is None else float(shift[z])
                ),
            )
            for z, spans in enumerate(table.spans)
        ]
    )


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
        level = _surest(
            (
                None if zone in levels.unseen else fitted_vacant(levels, zone),
                seen_by_day(power[usable], held[usable], opened[usable], levels, zone=zone, hours=hours),
                told.vacant(spell, zone),
            )
        )
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
    plain = min(sums.spells, key=lambda spell: spell.levels.floor)
    parts = [_spell_energies(spell, sums, base, plain) for spell in sums.spells]
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

    Where no schedule ever acted, vacant lamps are in every floor: their level is taken off, the
    whole floor where the level is not known.
    """
    least = min(spell.levels.floor for spell in sums.spells)
    if any(flag is not False for spell in sums.spells for flag in spell.schedule_told):
        return least
    low = float(np.where(np.isnan(sums.low_kw), least, sums.low_kw).sum())
    return max(0.0, least - low)


@dataclass(frozen=True)
class _SpellEnergies:
    """kWh of one spell, and its trimmed load, kW."""

    sensing: float
    schedule_effect: float
    standby: float
    added: float
    trim_kw: float
    schedule_lost: bool


def _spell_energies(spell: Spell, sums: MotionSums, base: float, plain: Spell) -> _SpellEnergies:
    """A floor that rose is a lost schedule (vacant lamps burn on), standby grown, or a load added."""
    levels = spell.levels
    extra = max(0.0, levels.floor - base)
    cause = _cause_of_rise(spell, extra, plain)
    share = sums.zones_kw / max(float(sums.zones_kw.sum()), 1e-9)
    lift = extra * share * (cause == "schedule lost")
    standby = sums.standby_kw + extra * share * (cause == "standby grown")
    egress = max(0.0, base - float(sums.standby_kw.sum()))
    full = levels.held + lift + standby
    rise = np.maximum(levels.vacant, lift)
    lit = rise > LIT_SHARE * full
    vacant = np.where(lit, rise + standby * (cause != "schedule lost"), 0.0)
    lost = cause == "schedule lost"
    dark = np.where(lit, 0.0 if lost else spell.closed_vacant, spell.vacant)
    return _SpellEnergies(
        sensing=float(full @ spell.held + vacant @ spell.vacant) + egress * spell.hours,
        schedule_effect=0.0 if lost else float(vacant @ spell.closed_vacant_lit),
        standby=float(standby @ dark),
        added=extra * spell.hours if cause == "load added" else 0.0,
        trim_kw=float(full.sum()),
        schedule_lost=lost,
    )


def _cause_of_rise(spell: Spell, extra: float, plain: Spell) -> str:
    """Why the floor stands above the base.

    A load added leaves the rise while held what it was in the plain spell. A lost schedule and
    grown standby take as much off it; a lost schedule lifts the floor to the vacant level.
    """
    if _never_scheduled(plain):
        return "schedule lost" if _never_scheduled(spell) else "load added"
    full = float(plain.levels.held.sum())
    if spell is plain or extra <= SMALL_RISE * full:
        return "nothing"
    fallen = full - float(spell.levels.held.sum())
    if fallen <= LOST_SHARE * extra:
        return "load added"
    vacant = max(float(plain.levels.vacant.sum()), SMALL_VACANT * full)
    return "schedule lost" if extra > LOST_SHARE * vacant else "standby grown"


def _never_scheduled(spell: Spell) -> bool:
    told = [value for value in spell.schedule_told if value is not None]
    return bool(told) and not any(told)
