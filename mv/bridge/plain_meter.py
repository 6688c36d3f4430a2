"""What a meter shows of its levels, standby and dark hours without a motion log."""

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.bridge.evidence import MeterEvidence, ZoneEvidence
from mv.bridge.spells import SettingValue, find, setting_in, spell_edges, spell_of_each
from mv.bridge.standby import MOST_WATTS, standby_from_floor
from mv.bridge.told import LEVEL_ERROR, agreed, agreed_standby_kw, scheduled, vacant_level
from mv.bridge.vacant import VacantLevel

Floats = npt.NDArray[np.float64]

COARSEST_MINUTES = 60.0
FINEST_MINUTES = 15.0
FEWEST_MINUTES = 10 * 1440.0  # of a month, for a plateau of its own
NORMAL_90 = 1.645  # two-sided
DARK_HOURS_ERROR = 0.08
"""Standard error of hours counted as dark by the meter's floor, fraction. No source."""
VACANT_ERROR = 0.20
"""Standard error of the vacant use when closed, told from dark hours, fraction. No source."""
PLATEAU_QUANTILE = 0.97
PLATEAU_ERROR = 0.02
"""Standard error of a metered plateau after, over the connected load. No source."""
OFF_SHARE = 0.03
"""Power above the floor, share of the span to the plateau, that still counts as off. No source."""
QUANTUM_SHARE = 0.2
"""A meter's step up to this share of the span to the plateau may stand for a mean below it. No source."""
FLOOR_QUANTILE = 0.005
FLAT_QUANTILES = (0.97, 0.995)
FLAT_WITHIN = 0.05
"""Two high quantiles of power agree within this share where lamps are wholly on. No source."""
SAME_RISE = 0.3
"""A floor that rises as much as the plateau, within this share, is a load added. No source."""


@dataclass(frozen=True)
class PlainSpell:
    """One spell of a meter: its hours, floor and plateau, kW, and what came onto the floor, kW.

    `told_full` is the full level by the settings found, kW, and its error. `closed_dark_hours`
    are those of the `dark_hours` in which every zone is closed.
    """

    hours: float
    floor_kw: float
    top_kw: float
    told_full: tuple[float, float] | None = None
    added_kw: float = 0.0
    grown_kw: float = 0.0
    dark_hours: float = 0.0
    closed_dark_hours: float = 0.0


@dataclass(frozen=True)
class PlainMeter:
    """What a meter without motion shows: its spells, the standby and the vacant use when closed.

    `floor_kw` is the power that never stops, standby included, vacant lamps not; with
    `always_lit` they stand in the metered floor, and it is told only as well as their level.
    """

    spells: tuple[PlainSpell, ...]
    full_kw: float | None
    full_error: float
    standby: SettingValue | None
    closed_use: SettingValue | None
    added_kwh: float
    floor_kw: float
    always_lit: bool


def meter_index(meter: MeterEvidence) -> pd.DatetimeIndex:
    """The meter's interval starts."""
    return pd.DatetimeIndex(meter.power_kw.index)


def coarsened(meter: MeterEvidence) -> MeterEvidence:
    """The meter in steps of at least 15 minutes: finer pulses would hide a small floor."""
    if meter.interval_minutes >= FINEST_MINUTES or meter.power_kw.empty:
        return meter
    step = pd.Timedelta(minutes=FINEST_MINUTES)
    zones = tuple(
        zone if zone.is_open is None else replace(zone, is_open=zone.is_open.resample(step).first())
        for zone in meter.zones
    )
    sun = meter.sun_elevation_deg
    return replace(
        meter,
        power_kw=meter.power_kw.resample(step).mean(),
        interval_minutes=FINEST_MINUTES,
        zones=zones,
        sun_elevation_deg=None if sun is None else sun.resample(step).mean(),
    )


def plain_meter(meter: MeterEvidence, egress: tuple[float, float] | None, timezone: str) -> PlainMeter:
    """What a meter (in steps of 15 minutes or more) shows without a motion log."""
    index = meter_index(meter)
    edges = spell_edges([zone.settings for zone in meter.zones], index, timezone)
    spell = spell_of_each(index, edges)
    power = meter.power_kw.to_numpy(dtype=float)
    step = _step_kw(power)
    rough = tuple(_rough(meter, power[spell == s], step, edge, timezone) for s, edge in enumerate(edges))
    closed = _closed(meter)
    least = min(rough, key=lambda entry: entry.floor_kw)
    spells = tuple(
        _finished(
            meter,
            _with_cause(entry, least, meter),
            least,
            power[spell == s],
            step,
            None if closed is None else closed[spell == s],
        )
        for s, entry in enumerate(rough)
    )
    floor = _never_stops(meter, least.floor_kw, edges, timezone)
    full, error = _full(meter, spells, least.floor_kw)
    scale = meter.actual_kwh / max(float(np.nansum(power)) * meter.interval_minutes / 60.0, 1e-9)
    return PlainMeter(
        spells=spells,
        full_kw=full,
        full_error=error,
        standby=_standby(meter, spells, floor, egress, always_lit=floor < least.floor_kw),
        closed_use=_closed_use(meter, spells, edges, timezone),
        added_kwh=scale * sum(entry.added_kw * entry.hours for entry in spells),
        floor_kw=floor,
        always_lit=floor < least.floor_kw,
    )


def _step_kw(power: Floats) -> float:
    """The least step between two readings, kW: a meter that counts 10 Wh shows 4 W as now and then one."""
    values = np.unique(np.round(power[np.isfinite(power)], 6))
    return float(np.diff(values).min()) if len(values) > 1 else 0.0


def _off_margin_kw(floor_kw: float, top_kw: float, step_kw: float) -> float:
    """How far above the floor power may stand and still be off, kW."""
    span = max(top_kw - floor_kw, 1e-9)
    coarse = 1.5 * step_kw if step_kw <= QUANTUM_SHARE * span else 0.0
    return max(OFF_SHARE * span, coarse)


def _rough(
    meter: MeterEvidence, power: Floats, step_kw: float, edge: pd.Timestamp, timezone: str
) -> PlainSpell:
    known = power[np.isfinite(power)]
    if not len(known):
        return PlainSpell(0.0, np.inf, 0.0)
    floor, top = np.quantile(known, [FLOOR_QUANTILE, PLATEAU_QUANTILE])
    near = known <= floor + _off_margin_kw(floor, top, step_kw)
    told = None
    if not all(zone.outdoor for zone in meter.zones):
        told = _told_full(meter, [setting_in(z.settings, "high_trim", edge, timezone) for z in meter.zones])
    hours = len(known) * meter.interval_minutes / 60.0
    return PlainSpell(hours, float(known[near].mean()), float(top), told)


def _with_cause(spell: PlainSpell, least: PlainSpell, meter: MeterEvidence) -> PlainSpell:
    """A floor that rose with the plateau is a load added; alone, if small, standby grown.

    A floor that rose by more alone is lamps burning on: nothing is said of the floor then.
    """
    rise = spell.floor_kw - least.floor_kw
    if not spell.hours or rise <= LEVEL_ERROR * least.top_kw:
        return spell
    if abs(spell.top_kw - least.top_kw - rise) <= SAME_RISE * rise:
        return replace(spell, added_kw=rise)
    fixtures = sum(zone.fixtures or 0.0 for zone in meter.zones)
    return replace(spell, grown_kw=rise) if rise <= MOST_WATTS * fixtures / 1000.0 else spell


def _finished(
    meter: MeterEvidence,
    spell: PlainSpell,
    least: PlainSpell,
    power: Floats,
    step_kw: float,
    closed: npt.NDArray[np.bool_] | None,
) -> PlainSpell:
    """The spell with its dark hours: power near the floor of the least spell and what was added."""
    floor = least.floor_kw + spell.added_kw + spell.grown_kw
    hours = meter.interval_minutes / 60.0
    with np.errstate(invalid="ignore"):
        dark = power <= floor + _off_margin_kw(floor, spell.top_kw, step_kw)
    both = np.zeros(len(dark), dtype=bool) if closed is None else dark & closed
    return replace(spell, dark_hours=float(dark.sum()) * hours, closed_dark_hours=float(both.sum()) * hours)


def _never_stops(
    meter: MeterEvidence, floor_kw: float, edges: tuple[pd.Timestamp, ...], timezone: str
) -> float:
    """The floor without the vacant lamps that stand in it where no schedule ever acted."""
    acting = [scheduled(zone, edge, timezone) for zone in meter.zones for edge in edges]
    if not acting or any(flag is not False for flag in acting):
        return floor_kw
    levels = [vacant_level(zone, edges[0], timezone) for zone in meter.zones]
    low = sum(level.rise_kw if level is not None else floor_kw for level in levels)
    return max(0.0, floor_kw - low)


def _told_full(meter: MeterEvidence, told: list[SettingValue | None]) -> tuple[float, float] | None:
    """Full level of all zones, kW, from their trims; None where one is not told."""
    known = [value for value in told if value is not None]
    if not known or len(known) < len(meter.zones):
        return None
    loads = np.array([zone.connected_kw_after or 0.0 for zone in meter.zones])
    errors = np.array([max(value.error, LEVEL_ERROR) for value in known])
    return float(loads @ [value.value for value in known]), float(loads @ errors)


def _full(
    meter: MeterEvidence, spells: tuple[PlainSpell, ...], floor_kw: float
) -> tuple[float | None, float]:
    """Full level over the period, kW, and its error; outdoor and told levels only.

    A load that was added stands in the told level too, and is taken off.
    """
    outdoor = bool(meter.zones) and all(zone.outdoor for zone in meter.zones)
    told = bool(spells) and all(spell.told_full for spell in spells if spell.hours)
    if meter.interval_minutes > COARSEST_MINUTES or not (outdoor or told):
        return None, 0.0
    if not outdoor and (trim_untold(meter) or not plateau_is_flat(meter)):
        return None, 0.0
    weights = np.array([spell.hours for spell in spells])
    pairs = [s.told_full or (s.top_kw - floor_kw, PLATEAU_ERROR * s.top_kw) for s in spells]
    levels = np.array([kw - s.added_kw for (kw, _), s in zip(pairs, spells, strict=True)])
    error = max(error for _, error in pairs)
    if told or len(spells) > 1:
        return float(weights @ levels / weights.sum()), float(error)
    return _plateau_by_month(meter, floor_kw, error)


def _plateau_by_month(meter: MeterEvidence, floor_kw: float, error: float) -> tuple[float, float]:
    """Mean over months of the plateau above the floor, kW: one moved unseen stands in the error.

    A 90 % interval reaches from the lowest month to the highest.
    """
    power = meter.power_kw.dropna()
    by_month = power.groupby(pd.DatetimeIndex(power.index).strftime("%Y-%m"))
    tops = by_month.quantile(PLATEAU_QUANTILE)[by_month.size() * meter.interval_minutes >= FEWEST_MINUTES]
    if tops.empty:
        tops = pd.Series([power.quantile(PLATEAU_QUANTILE)])
    reach = float(tops.max() - tops.min()) / 2.0 / NORMAL_90
    return float(tops.mean()) - floor_kw, float(np.hypot(error, reach))


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
    *,
    always_lit: bool,
) -> SettingValue | None:
    """Standby over the period, kWh: what of the floor can be standby, in the dark hours.

    Lamps that burn at their vacant level all the time are never dark. Where zones share the meter,
    one draws standby while another burns: its hours lie between those in which all are dark and
    all hours, and a 90 % interval reaches from the one to the other.
    """
    if always_lit:
        return SettingValue(0.0, 0.0)
    if not meter.zones or any(zone.fixtures is None for zone in meter.zones):
        return None
    counts = np.array([zone.fixtures or 0.0 for zone in meter.zones])
    kw, error = standby_from_floor(counts, floor_kw, egress=egress, agreed_kw=agreed_standby_kw(meter.zones))
    dark = sum(spell.dark_hours for spell in spells)
    grown = sum(spell.grown_kw * spell.dark_hours for spell in spells)
    unseen = sum(spell.hours for spell in spells) - dark if len(meter.zones) > 1 else 0.0
    off = dark + unseen / 2.0
    total = float(kw.sum()) * off + grown
    doubts = (error.sum() * off, DARK_HOURS_ERROR * total, float(kw.sum()) * unseen / 2.0 / NORMAL_90)
    return SettingValue(total, math.hypot(*doubts))


def _closed(meter: MeterEvidence) -> npt.NDArray[np.bool_] | None:
    """Intervals in which every zone is closed; None where a zone's hours are not known."""
    if not meter.zones or any(zone.is_open is None for zone in meter.zones):
        return None
    opened = [np.asarray(zone.is_open, dtype=bool) for zone in meter.zones]
    return np.asarray(~np.logical_or.reduce(opened), dtype=bool)


def _doubtful(zone: ZoneEvidence, level: VacantLevel | None) -> VacantLevel | None:
    """Without a motion log short visits blur the vacant level: the middle of found and agreed."""
    stated = agreed(zone, "low_level")
    if level is None or stated is None:
        return level
    kw = stated * (zone.connected_kw_after or 0.0)
    error = float(np.hypot(level.error, abs(level.rise_kw - kw) / 2.0))
    return VacantLevel((level.rise_kw + kw) / 2.0, error)


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
            if acting is False:
                continue
            seen = setting_in(zone.settings, "low_level", edge, timezone)
            level = _doubtful(zone, vacant_level(zone, edge, timezone))
            if acting is None or level is None or seen is None:
                return None  # a level that was only agreed is no evidence that sensors act
            total += level.rise_kw * spell.closed_dark_hours
            error += level.error * spell.closed_dark_hours
    return SettingValue(total, float(np.hypot(error, VACANT_ERROR * total)))
