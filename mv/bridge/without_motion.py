"""The chain of a meter without motion logs: the steps that its data still support."""

import numpy as np

from mv.bridge.chain import Chain
from mv.bridge.daylight_drop import dims_by_day
from mv.bridge.evidence import MeterEvidence
from mv.bridge.levels import DARK_BELOW_DEG
from mv.bridge.old_lighting import OldUse
from mv.bridge.plain_meter import (
    PlainMeter,
    coarsened,
    meter_index,
    plain_meter,
    plateau_is_flat,
    trim_untold,
)
from mv.bridge.spells import SettingValue, find, spell_edges
from mv.bridge.told import (
    LAMPS_DOUBT,
    LEVEL_ERROR,
    agreed_full_kw,
    lamps_share,
    never_dimmed,
    never_sensed,
)

SMALL_EGRESS = 0.15
"""Egress load, share of the new connected load, that a floor may be taken for. No source."""
UNSENSED = "no occupancy sensing was agreed here"
NO_MOTION = "without a motion log it cannot be told how long sensors held the lights"


def chain_without_motion(meter: MeterEvidence, old: OldUse, after_kw: float, timezone: str) -> Chain:
    """Lamp change always; the other steps as far as the meter and the settings tell them.

    Where no sensing was agreed, that step is nothing; where no zone dims for daylight, that one.
    The schedule's step needs the vacant level and the closed hours in which all was off.
    """
    meter = coarsened(meter)
    plain = plain_meter(meter, old.load.egress_after(after_kw), timezone)
    edges = spell_edges([z.settings for z in meter.zones], meter_index(meter), timezone)
    unsensed = never_sensed(meter.zones)
    undimmed = never_dimmed(meter.zones, edges, timezone, seen=_seen_dimming(meter))
    hours = sum(spell.hours for spell in plain.spells)
    burning = old.burning_hours(hours)
    egress_kw, egress_error = _egress_kw(plain, old, after_kw)
    egress = egress_kw * hours
    last = meter.actual_kwh - plain.added_kwh
    off = None if plain.standby is None else last - plain.standby.value
    trimmed = None if plain.full_kw is None else plain.full_kw * burning + egress
    sensing = trimmed if unsensed else None
    dimmed = _sum(off, plain.closed_use)
    if sensing is not None and undimmed:
        dimmed = sensing
    elif dimmed is not None and undimmed:
        sensing = dimmed
    weights = np.array([spell.hours for spell in plain.spells])
    share = float(weights @ lamps_share(meter, edges, timezone) / max(weights.sum(), 1e-9))
    lamps = after_kw * (share if plain.full_kw else 1.0) * burning + egress
    energy = (old.energy, lamps, trimmed, sensing, dimmed, off, last)
    errors = _errors(meter, plain, old, after_kw, burning, energy, unsensed and undimmed)
    both = (0.0, 1.0, 1.0, float(unsensed), float(unsensed and undimmed), 0.0, 0.0)
    known = [0.0 if e is None else share for e, share in zip(energy, both, strict=True)]
    return Chain(
        energy,
        errors | {"egress": tuple(egress_error * hours * share for share in known)},
        _why(meter, plain, old, after_kw, unsensed=unsensed, undimmed=undimmed),
    )


def _egress_kw(plain: PlainMeter, old: OldUse, after_kw: float) -> tuple[float, float]:
    """Load that never stops after the retrofit and its standard error, kW.

    What of the floor cannot be standby, and never more than before; from the old floor alone
    where vacant lamps hide it; where that is not known either, nothing unless it is small.
    """
    before = old.load.egress_after(after_kw)
    if plain.always_lit and before is not None:
        return (before[0] + before[1]) / 2.0, (before[1] - before[0]) / 2.0
    dark = sum(spell.dark_hours for spell in plain.spells)
    standby_kw = plain.standby.value / dark if plain.standby and dark else 0.0
    steady = max(0.0, plain.floor_kw - standby_kw)
    if before is not None:
        return min(steady, old.load.floor_kw), 0.0
    return (steady if steady <= SMALL_EGRESS * after_kw else 0.0), 0.0


def _seen_dimming(meter: MeterEvidence) -> bool | None:
    if meter.sun_elevation_deg is None:
        return None
    sun = meter.sun_elevation_deg.to_numpy(dtype=float)
    power = meter.power_kw.to_numpy(dtype=float)
    return dims_by_day(power, sun < DARK_BELOW_DEG, sun, hours=meter.interval_minutes / 60.0)


def _sum(off: float | None, closed_use: SettingValue | None) -> float | None:
    return None if off is None or closed_use is None else off + closed_use.value


def _errors(
    meter: MeterEvidence,
    plain: PlainMeter,
    old: OldUse,
    after_kw: float,
    burning: float,
    energy: tuple[float | None, ...],
    all_follow_trim: bool,
) -> dict[str, tuple[float, ...]]:
    """What one standard error of each source does to every energy, kWh; 0 where it is None."""
    full = plain.full_kw or 0.0
    sensing_follows = energy[3] is not None and energy[3] == energy[2]
    dimmed_follows = all_follow_trim and sensing_follows

    def row(start: float, lamps: float, trim: float, closed: float, off: float) -> tuple[float, ...]:
        sensing = trim if sensing_follows else closed + off
        dimmed = trim if dimmed_follows else closed + off
        values = (start, lamps, trim, sensing, dimmed, off, 0.0)
        return tuple(0.0 if e is None else v for e, v in zip(energy, values, strict=True))

    ratio = 1.0 / old.load.lamps_kw
    heavier = -burning * old.load.relative_error
    standby = plain.standby.error if plain.standby else 0.0
    closed = plain.closed_use.error if plain.closed_use else 0.0
    agreed = agreed_full_kw(meter)
    doubt = max(0.0, 1.0 - full / agreed) * after_kw if agreed and plain.full_kw else 0.0
    return {
        "baseline model": row(old.error, ratio * after_kw * old.error, ratio * full * old.error, 0, 0),
        "old load": row(0.0, after_kw * heavier, full * heavier, 0.0, 0.0),
        "new load": row(0.0, LEVEL_ERROR * after_kw * burning, 0.0, 0.0, 0.0),
        "failed lamps": row(0.0, LAMPS_DOUBT * doubt * burning, 0.0, 0.0, 0.0),
        "full level": row(0.0, 0.0, plain.full_error * burning, 0.0, 0.0),
        "standby": row(0.0, 0.0, 0.0, 0.0, -standby),
        "closed use": row(0.0, 0.0, 0.0, closed, 0.0),
    }


def _why(
    meter: MeterEvidence,
    plain: PlainMeter,
    old: OldUse,
    after_kw: float,
    *,
    unsensed: bool,
    undimmed: bool,
) -> tuple[str, ...]:
    dimming = NO_MOTION
    if undimmed and unsensed:
        dimming = "no zone dims for daylight"
    elif plain.closed_use is not None:
        dimming = "metered use, the vacant level put back in closed and dark hours"
    return (
        "the baseline model at reporting conditions",
        f"connected load after, {after_kw:.4g} kW, for the old burning hours; {old.load.why}",
        "full level found on the meter" if plain.full_kw else f"full level: {_why_no_trim(meter)}",
        _why_sensing(plain, unsensed=unsensed),
        dimming,
        "metered use without standby" if plain.standby else "fixture counts are not in the study",
        "the power with the lights off, as far as it can be standby",
    )


def _why_sensing(plain: PlainMeter, *, unsensed: bool) -> str:
    if not unsensed:
        return NO_MOTION
    return (
        UNSENSED if plain.full_kw else f"{UNSENSED}, but the full level that the step begins at is not told"
    )


def _why_no_trim(meter: MeterEvidence) -> str:
    if not trim_untold(meter) and not plateau_is_flat(meter):
        return "visits are shorter than the metering interval, so no level is read"
    for zone in meter.zones:
        finding = find(zone.settings, "high_trim")
        why = getattr(getattr(finding, "observed", None), "why", None)
        if why:
            return f"{zone.zone}: {why}"
    return "not agreed or not found for its zones"
