"""What a meter shows of its levels, standby and dark hours without a motion log."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.bridge.evidence import MeterEvidence
from mv.bridge.spells import SettingValue, find, setting_in, spell_edges, spell_of_each
from mv.bridge.standby import standby_from_floor
from mv.bridge.told import LEVEL_ERROR, agreed_standby_kw, scheduled, vacant_level

Floats = npt.NDArray[np.float64]

COARSEST_MINUTES = 60.0
DARK_HOURS_ERROR = 0.08
"""Standard error of hours counted as dark by the meter's floor, fraction. No source."""
VACANT_ERROR = 0.12
"""Standard error of the vacant use when closed, told from dark hours, fraction. No source."""
PLATEAU_QUANTILE = 0.97
PLATEAU_ERROR = 0.02
"""Standard error of a metered plateau after, over the connected load. No source."""
OFF_SHARE = 0.03
"""Power above the floor, share of the span to the plateau, that still counts as off. No source."""
FLOOR_QUANTILE = 0.005
FLAT_QUANTILES = (0.97, 0.995)
FLAT_WITHIN = 0.05
"""Two high quantiles of power agree within this share where lamps are wholly on. No source."""
SAME_RISE = 0.3
"""A floor that rises as much as the plateau, within this share, is a load added. No source."""


@dataclass(frozen=True)
class PlainSpell:
    """One spell of a meter: hours, floor and full level over it, kW, and dark hours."""

    hours: float
    floor_kw: float
    full_kw: float
    full_error: float
    dark_hours: float
    closed_dark_hours: float


@dataclass(frozen=True)
class PlainMeter:
    """What a meter without motion shows: its spells, the standby and the vacant use when closed."""

    spells: tuple[PlainSpell, ...]
    full_kw: float | None
    full_error: float
    standby: SettingValue | None
    closed_use: SettingValue | None
    added_kwh: float
    floor_kw: float


def meter_index(meter: MeterEvidence) -> pd.DatetimeIndex:
    return pd.DatetimeIndex(meter.power_kw.index)


def plain_meter(meter: MeterEvidence, egress: tuple[float, float] | None, timezone: str) -> PlainMeter:
    index = meter_index(meter)
    edges = spell_edges([zone.settings for zone in meter.zones], index, timezone)
    spell = spell_of_each(index, edges)
    power = meter.power_kw.to_numpy(dtype=float)
    closed = _closed(meter)
    spells = tuple(
        _spell(meter, power[spell == s], None if closed is None else closed[spell == s], edge, timezone)
        for s, edge in enumerate(edges)
    )
    floor = min(entry.floor_kw for entry in spells)
    added = [_added_kw(spells, s, floor) for s in range(len(spells))]
    full, error = _full(meter, spells, added)
    hours = float(sum(entry.hours for entry in spells))
    scale = meter.actual_kwh / max(float(np.nansum(power)) * meter.interval_minutes / 60.0, 1e-9)
    return PlainMeter(
        spells=spells,
        full_kw=full,
        full_error=error,
        standby=_standby(meter, spells, floor, egress),
        closed_use=_closed_use(meter, spells, edges, timezone),
        added_kwh=scale * sum(kw * s.hours for kw, s in zip(added, spells, strict=True)),
        floor_kw=floor if hours else 0.0,
    )


def _spell(
    meter: MeterEvidence,
    power: Floats,
    closed: npt.NDArray[np.bool_] | None,
    edge: pd.Timestamp,
    timezone: str,
) -> PlainSpell:
    hours = meter.interval_minutes / 60.0
    known = np.isfinite(power)
    if not known.any():
        return PlainSpell(0.0, np.inf, 0.0, 0.0, 0.0, 0.0)
    floor, top = np.quantile(power[known], [FLOOR_QUANTILE, PLATEAU_QUANTILE])
    dark = known & (power <= floor + OFF_SHARE * max(top - floor, 1e-9))
    full, error = float(top - floor), PLATEAU_ERROR * float(top)
    if not all(zone.outdoor for zone in meter.zones):
        told = [setting_in(zone.settings, "high_trim", edge, timezone) for zone in meter.zones]
        full, error = _told_full(meter, told) or (full, error)
    return PlainSpell(
        hours=float(known.sum()) * hours,
        floor_kw=float(power[dark].mean()),
        full_kw=full,
        full_error=error,
        dark_hours=float(dark.sum()) * hours,
        closed_dark_hours=0.0 if closed is None else float((dark & closed).sum()) * hours,
    )


def _told_full(meter: MeterEvidence, told: list[SettingValue | None]) -> tuple[float, float] | None:
    """Full level of all zones, kW, from their trims; None where one is not told."""
    known = [value for value in told if value is not None]
    if not known or len(known) < len(meter.zones):
        return None
    loads = np.array([zone.connected_kw_after or 0.0 for zone in meter.zones])
    errors = np.array([max(value.error, LEVEL_ERROR) for value in known])
    return float(loads @ [value.value for value in known]), float(loads @ errors)


def _added_kw(spells: tuple[PlainSpell, ...], number: int, floor_kw: float) -> float:
    """Load that came with the spell, kW: its floor rose as much as its full level did."""
    spell = spells[number]
    rise = spell.floor_kw - floor_kw
    least = min(entry.full_kw for entry in spells if entry.hours)
    if not np.isfinite(rise) or rise <= LEVEL_ERROR * spell.full_kw:
        return 0.0
    plateau_rise = spell.full_kw - least
    return rise if abs(plateau_rise - rise) <= SAME_RISE * rise else 0.0


def _full(
    meter: MeterEvidence, spells: tuple[PlainSpell, ...], added: list[float]
) -> tuple[float | None, float]:
    """Full level over the period, kW, and its error; outdoor and told levels only."""
    outdoor = bool(meter.zones) and all(zone.outdoor for zone in meter.zones)
    told = all(find(zone.settings, "high_trim") is not None for zone in meter.zones)
    if meter.interval_minutes > COARSEST_MINUTES or not (outdoor or (meter.zones and told)):
        return None, 0.0
    if not outdoor and (trim_untold(meter) or not plateau_is_flat(meter)):
        return None, 0.0
    weights = np.array([spell.hours for spell in spells])
    levels = np.array([s.full_kw - kw for s, kw in zip(spells, added, strict=True)])
    errors = np.array([spell.full_error for spell in spells])
    return float(weights @ levels / weights.sum()), float(errors.max())


def plateau_is_flat(meter: MeterEvidence) -> bool:
    """Whether lamps are on for whole intervals at times, so that levels can be read at all.

    In a zone with short visits each interval is a mixture, and its highest power no level.
    """
    power = meter.power_kw.dropna().to_numpy(dtype=float)
    floor, lower, top = np.quantile(power, [FLOOR_QUANTILE, *FLAT_QUANTILES])
    return bool(top - lower <= FLAT_WITHIN * (top - floor))


def trim_untold(meter: MeterEvidence) -> bool:
    findings = (find(zone.settings, "high_trim") for zone in meter.zones)
    return any(f is None or getattr(f.observed, "low", None) is None for f in findings)


def _standby(
    meter: MeterEvidence,
    spells: tuple[PlainSpell, ...],
    floor_kw: float,
    egress: tuple[float, float] | None,
) -> SettingValue | None:
    """Standby over the period, kWh: what of the floor can be standby, in the dark hours."""
    if not meter.zones or any(zone.fixtures is None for zone in meter.zones):
        return None
    counts = np.array([zone.fixtures or 0.0 for zone in meter.zones])
    kw, error = standby_from_floor(counts, floor_kw, egress=egress, agreed_kw=agreed_standby_kw(meter))
    dark = sum(spell.dark_hours for spell in spells)
    total = float(kw.sum()) * dark
    return SettingValue(total, float(np.hypot(error.sum() * dark, DARK_HOURS_ERROR * total)))


def _closed(meter: MeterEvidence) -> npt.NDArray[np.bool_] | None:
    """Intervals in which every zone is closed; None where a zone's hours are not known."""
    if not meter.zones or any(zone.is_open is None for zone in meter.zones):
        return None
    opened = [np.asarray(zone.is_open, dtype=bool) for zone in meter.zones]
    return np.asarray(~np.logical_or.reduce(opened), dtype=bool)


def _closed_use(
    meter: MeterEvidence,
    spells: tuple[PlainSpell, ...],
    edges: tuple[pd.Timestamp, ...],
    timezone: str,
) -> SettingValue | None:
    """What vacant lamps would have used in the closed hours that were dark, kWh."""
    if _closed(meter) is None or meter.interval_minutes > COARSEST_MINUTES:
        return None
    if not plateau_is_flat(meter):
        return None
    total = error = 0.0
    for spell, edge in zip(spells, edges, strict=True):
        for zone in meter.zones:
            acting = scheduled(zone, edge, timezone)
            level = vacant_level(zone, edge, timezone)
            if acting is False:
                continue
            if acting is None or level is None:
                return None
            total += level.rise_kw * spell.closed_dark_hours
            error += level.error * spell.closed_dark_hours
    return SettingValue(total, float(np.hypot(error, VACANT_ERROR * total)))
