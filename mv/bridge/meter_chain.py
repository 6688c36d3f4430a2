"""From one meter's evidence to its chain of energies, by the best way that its data support."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.estimate import CannotSay
from mv.bridge.chain import Chain
from mv.bridge.evidence import MeterEvidence, ZoneEvidence
from mv.bridge.levels import Levels
from mv.bridge.motion_model import (
    Frame,
    MeasureEnergies,
    MotionSums,
    Told,
    base_floor,
    frame,
    held_matrix,
    measure_energies,
    motion_sums,
    with_holds,
)
from mv.bridge.old_lighting import OldLoad, old_load
from mv.bridge.spells import SettingValue, as_value, find, setting_in
from mv.bridge.standby import standby_from_floor
from mv.bridge.vacant import AGREED_ERROR, VacantLevel
from mv.bridge.without_motion import chain_without_motion

Floats = npt.NDArray[np.float64]

LEVEL_ERROR = 0.01
"""Standard error of stated watts after, fraction: warming up, true input power. No source."""
VACANT_ERROR = 0.05
"""Standard error of carrying the vacant level to closed hours, fraction. From the recovery bench."""
MODEL_ERROR = 0.01
"""Standard error of the held-or-vacant model of a meter's use, fraction. From the recovery bench."""


@dataclass(frozen=True)
class OldUse:
    """The old lighting's energy over the reporting period, kWh, and the load that made it."""

    energy: float
    error: float
    load: OldLoad


def meter_chain(meter: MeterEvidence, timezone: str) -> Chain:
    """The chain of one meter; energies that its data do not support are None with a reason."""
    if isinstance(meter.avoided_kwh, CannotSay):
        return _nothing(meter, meter.avoided_kwh.why)
    if meter.measures != "lighting":
        return _ends_only(meter, "a whole-building meter does not show the lighting alone")
    before = _connected(meter, "connected_kw_before")
    after = _connected(meter, "connected_kw_after")
    if before is None or after is None or before <= 0:
        return _ends_only(meter, "fixtures and watts of its zones are not in the study")
    found = as_value(meter.avoided_kwh)
    assert found is not None
    load = old_load(meter.baseline_power_kw, before, quantile_minutes=meter.interval_minutes)
    old = OldUse(found.value + meter.actual_kwh, found.error, load)
    table = frame(meter, timezone)
    chain = None if table is None else _with_motion(meter, with_holds(table), old, after, timezone)
    return chain or chain_without_motion(meter, old.energy, old.error, load, after, timezone)


def _with_motion(
    meter: MeterEvidence, table: Frame, old: OldUse, after_kw: float, timezone: str
) -> Chain | None:
    zones_kw = np.array([zone.connected_kw_after or 0.0 for zone in meter.zones])
    schedule = [tuple(_scheduled(z, e, timezone) for z in meter.zones) for e in table.edges]

    told = Told(
        levels=_told_levels(meter, table, zones_kw, timezone),
        vacant=_told_vacant(meter, table, zones_kw, timezone),
        schedule=schedule,
    )

    def sums_at(shift: Floats | None, standby_kw: Floats) -> MotionSums | None:
        return motion_sums(
            table,
            held_matrix(table, shift=shift),
            standby_kw=standby_kw,
            zones_kw=zones_kw,
            told=told,
        )

    nothing = np.zeros(len(meter.zones))
    plain = sums_at(None, nothing)
    if plain is None or plain.used_kwh <= 0:
        return None
    low_kw = _low_kw(meter, zones_kw, table, timezone)
    floor = base_floor(replace(plain, low_kw=low_kw))
    standby, error, standby_why = _standby(meter, floor, timezone)
    sums = replace(plain, standby_kw=standby, low_kw=low_kw)
    middle = _energies(sums, old, after_kw, meter.actual_kwh)
    seen = measure_energies(sums).vacant_told
    return Chain(
        energy=middle if seen else (*middle[:3], None, None, *middle[5:]),
        errors=_errors(sums, sums_at, error, old, after_kw, meter.actual_kwh, middle),
        why=(
            "the baseline model at reporting conditions",
            f"connected load after, {after_kw:.4g} kW, for the old burning hours; {old.load.why}",
            "full level metered in the dark while held as occupied",
            "motion log with the hold time, full and vacant level from the meter"
            if seen
            else "the zone was never open and vacant, so its vacant level was not seen",
            "metered use against the same model without daylight"
            if seen
            else "the vacant level was not seen",
            "vacant level in opening hours, carried to the closed and vacant hours",
            standby_why,
        ),
    )


def _energies(sums: MotionSums, old: OldUse, after_kw: float, actual_kwh: float) -> tuple[float, ...]:
    parts: MeasureEnergies = measure_energies(sums)
    scale = actual_kwh / sums.used_kwh
    hours = sum(spell.hours for spell in sums.spells) * scale
    burning = max(0.0, old.energy - old.load.floor_kw * hours) / old.load.lamps_kw
    egress = parts.egress_kw * hours
    return (
        old.energy,
        after_kw * burning + egress,
        parts.trim_kw * burning + egress,
        parts.sensing * scale,
        parts.daylight * scale,
        parts.schedule * scale,
        actual_kwh - parts.added * scale,
    )


def _errors(
    sums: MotionSums,
    sums_at: Callable[[Floats | None, Floats], MotionSums | None],
    standby_error: Floats,
    old: OldUse,
    after_kw: float,
    actual_kwh: float,
    middle: tuple[float, ...],
) -> dict[str, tuple[float, ...]]:
    """What one standard error of each source of doubt does to every energy, kWh."""

    def moved(other: MotionSums, use: OldUse) -> tuple[float, ...]:
        there = _energies(other, use, after_kw, actual_kwh)
        return tuple(a - b for a, b in zip(there, middle, strict=True))

    effect = VACANT_ERROR * (middle[4] - middle[5])
    more = replace(old, energy=old.energy + old.error)
    burning = replace(
        old, load=replace(old.load, lamps_kw=old.load.lamps_kw * (1.0 + old.load.relative_error))
    )
    errors = {
        "baseline model": moved(sums, more),
        "old load": moved(sums, burning),
        "standby": moved(replace(sums, standby_kw=sums.standby_kw + standby_error), old),
        "new load": (0.0, LEVEL_ERROR * middle[1], 0.0, 0.0, 0.0, 0.0, 0.0),
        "motion model": (0.0, 0.0, 0.0, MODEL_ERROR * middle[3], 0.0, 0.0, 0.0),
        "vacant model": (0.0, 0.0, 0.0, effect, effect, 0.0, 0.0),
    }
    for z in range(len(sums.zones_kw)):
        shift = np.zeros(len(sums.zones_kw))
        shift[z] = 1.0
        other = sums_at(shift, sums.standby_kw)
        if other is not None:
            errors[f"hold time {z}"] = moved(other, old)
    for s, spell in enumerate(sums.spells):
        for c, column in enumerate(_columns(spell.levels)):
            levels = _levels_moved(spell.levels, column)
            spells = (*sums.spells[:s], replace(spell, levels=levels), *sums.spells[s + 1 :])
            errors[f"levels {s}.{c}"] = moved(replace(sums, spells=spells), old)
    return errors


def _columns(levels: Levels) -> list[Floats]:
    """Independent directions of the levels' doubt, one standard error long."""
    values, vectors = np.linalg.eigh(levels.covariance)
    return [np.sqrt(max(v, 0.0)) * vectors[:, k] for k, v in enumerate(values) if v > 0]


def _levels_moved(levels: Levels, by: Floats) -> Levels:
    vector = levels.vector + by
    zones = len(levels.held)
    return replace(
        levels,
        floor=float(vector[0]),
        held=vector[1 : 1 + zones],
        vacant=vector[1 + zones :],
    )


def _standby(meter: MeterEvidence, floor_kw: float, timezone: str) -> tuple[Floats, Floats, str]:
    """Standby of each zone and its standard error, kW, and what it was taken from."""
    start = pd.DatetimeIndex(meter.power_kw.index)[0]
    counts = np.array([zone.fixtures or 0.0 for zone in meter.zones])
    told = [setting_in(zone.settings, "standby_watts", start, timezone) for zone in meter.zones]
    known = [value for value in told if value is not None]
    told_kw = told_error = None
    if len(known) == len(counts):
        told_kw = np.array([value.value for value in known]) * counts / 1000.0
        told_error = np.array([value.error for value in known]) * counts / 1000.0
    kw, error = standby_from_floor(counts, floor_kw, told_kw=told_kw, told_error=told_error)
    return kw, error, "the power when closed and vacant, as far as it can be standby"


def _told_levels(
    meter: MeterEvidence, table: Frame, zones_kw: Floats, timezone: str
) -> Callable[[int], Levels | None]:
    """Levels of a spell from the settings told of it, where the meter had too few dark hours."""

    def levels(spell: int) -> Levels | None:
        edge = table.edges[spell]
        trims = [setting_in(z.settings, "high_trim", edge, timezone) for z in meter.zones]
        lows = [setting_in(z.settings, "low_level", edge, timezone) for z in meter.zones]
        if any(v is None for v in (*trims, *lows)):
            return None
        inside = table.power_kw[(table.spell == spell) & np.isfinite(table.power_kw)]
        if not len(inside):
            return None
        floor = float(np.quantile(inside, 0.02))
        trim, low = _kw(trims, zones_kw), _kw(lows, zones_kw)
        errors = np.concatenate([[0.02 * floor], trim[1], low[1]])
        return Levels(floor, trim[0], low[0], np.diag(errors**2), 0.0)

    return levels


def _low_kw(meter: MeterEvidence, zones_kw: Floats, table: Frame, timezone: str) -> Floats:
    """Vacant level of each zone, kW, found or agreed; NaN where neither is known."""
    told = _told_vacant(meter, table, zones_kw, timezone)
    levels = [told(0, z) for z in range(len(zones_kw))]
    return np.array([np.nan if level is None else level.rise_kw for level in levels])


def _told_vacant(
    meter: MeterEvidence, table: Frame, zones_kw: Floats, timezone: str
) -> Callable[[int, int], VacantLevel | None]:
    """Vacant rise of a zone in a spell: the level found by its settings, else the agreed one."""

    def vacant(spell: int, zone: int) -> VacantLevel | None:
        settings = meter.zones[zone].settings
        told = setting_in(settings, "low_level", table.edges[spell], timezone)
        kw = float(zones_kw[zone])
        if told is not None:
            return VacantLevel(told.value * kw, max(told.error, LEVEL_ERROR) * kw)
        finding = find(settings, "low_level")
        if finding is None or finding.commissioned is None:
            return None
        agreed = float(finding.commissioned) * kw
        return VacantLevel(agreed, max(AGREED_ERROR * agreed, 0.02 * kw))

    return vacant


def _kw(values: list[SettingValue | None], zones_kw: Floats) -> tuple[Floats, Floats]:
    known = [value for value in values if value is not None]
    return (
        np.array([v.value for v in known]) * zones_kw,
        np.array([v.error for v in known]) * zones_kw,
    )


def _connected(meter: MeterEvidence, name: str) -> float | None:
    loads = [getattr(zone, name) for zone in meter.zones]
    return None if not loads or any(load is None for load in loads) else float(sum(loads))


def _scheduled(zone: ZoneEvidence, edge: pd.Timestamp, timezone: str) -> bool | None:
    """Whether lamps went off when closed in the spell: as found, else as agreed never to."""
    told = setting_in(zone.settings, "scheduled_off", edge, timezone)
    if told is not None:
        return told.value > 0.5
    finding = find(zone.settings, "scheduled_off")
    return False if finding is not None and finding.commissioned is False else None


def _nothing(meter: MeterEvidence, why: str) -> Chain:
    return Chain((None, None, None, None, None, None, meter.actual_kwh), {}, (why,) * 7)


def _ends_only(meter: MeterEvidence, why: str) -> Chain:
    found = as_value(meter.avoided_kwh)
    assert found is not None
    start = found.value + meter.actual_kwh
    empty = (found.error, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    energy = (start, None, None, None, None, None, meter.actual_kwh)
    return Chain(energy, {"baseline model": empty}, (why,) * 7)
