"""A meter without motion logs: the steps that its data still support."""

import numpy as np
import pandas as pd

from mv.bridge.chain import Chain
from mv.bridge.evidence import MeterEvidence, ZoneEvidence
from mv.bridge.old_lighting import OldLoad
from mv.bridge.spells import (
    SettingValue,
    find,
    setting_in,
    spell_edges,
    spell_of_each,
)
from mv.bridge.standby import standby_from_floor

NO_MOTION = "without a motion log it cannot be told how long sensors held the lights"
DARK_HOURS_ERROR = 0.08
"""Standard error of hours counted as dark by the meter's floor, fraction. No source."""
OUTDOOR_LEVEL_ERROR = 0.03
"""Standard error of an outdoor plateau over the connected load, fraction. No source."""
NO_TRIM = "the full level is not told: {why}"


def chain_without_motion(
    meter: MeterEvidence,
    old_kwh: float,
    old_error: float,
    load: OldLoad,
    after_kw: float,
    timezone: str,
) -> Chain:
    """Lamp change always; trim where the full level is told; the rest as far as settings say.

    Outdoor zones have neither sensors nor daylight dimming: those two steps are nothing, and the
    change of switching is the scheduling step.
    """
    hours = len(meter.power_kw.dropna()) * meter.interval_minutes / 60.0
    burning = max(0.0, old_kwh - load.floor_kw * hours) / load.lamps_kw
    trim = _trim(meter, timezone)
    standby = _standby(meter, timezone)
    outdoor = bool(meter.zones) and all(zone.outdoor for zone in meter.zones)
    undimmed = outdoor or _never(meter.zones, "daylight_dimming")
    lamps = after_kw * burning + load.floor_kw * hours
    trimmed = None if trim is None else trim.value * after_kw * burning + load.floor_kw * hours
    scheduled = None if standby is None else meter.actual_kwh - standby.value
    sensing = trimmed if outdoor else None
    dimmed = sensing if undimmed else None
    energy = (old_kwh, lamps, trimmed, sensing, dimmed, scheduled, meter.actual_kwh)
    told = NO_MOTION if not outdoor else "outdoor lights have no sensors here"
    return Chain(
        energy=energy,
        errors=_errors(energy, old_kwh, old_error, load, after_kw, burning, trim, standby),
        why=(
            "the baseline model at reporting conditions",
            f"connected load after, {after_kw:.4g} kW, for the old burning hours; {load.why}",
            "full level found on the meter" if trim else NO_TRIM.format(why=_why_not(meter)),
            told,
            "outdoor lights do not dim for daylight" if outdoor else NO_MOTION,
            "what is left of the metered use without standby",
            "standby watts as found on the meter, or from nothing to the whole of the floor"
            if standby
            else "the draw with the light off is not told",
        ),
    )


def _errors(
    energy: tuple[float | None, ...],
    old_kwh: float,
    old_error: float,
    load: OldLoad,
    after_kw: float,
    burning: float,
    trim: SettingValue | None,
    standby: SettingValue | None,
) -> dict[str, tuple[float, ...]]:
    """What one standard error of each source does to every energy, kWh; 0 where it is None."""
    level = 0.0 if trim is None else trim.value
    ratio = after_kw / load.lamps_kw
    same = tuple(value is not None for value in energy)
    lamps = burning * after_kw * load.relative_error

    def row(*values: float) -> tuple[float, ...]:
        # an outdoor zone's third and fourth energies are the second one: they move with it
        a, b, c, s = values
        middle = (c if same[3] else 0.0, c if same[4] else 0.0)
        return (a, b, c if same[2] else 0.0, *middle, s if same[5] else 0.0, 0.0)

    return {
        "baseline model": row(old_error, ratio * old_error, ratio * level * old_error, 0.0),
        "old load": row(0.0, -lamps, -level * lamps, 0.0),
        "full level": row(0.0, 0.0, (trim.error if trim else 0.0) * after_kw * burning, 0.0),
        "standby": row(0.0, 0.0, 0.0, -(standby.error if standby else 0.0)),
    }


def _trim(meter: MeterEvidence, timezone: str) -> SettingValue | None:
    """The full level over the period, weighted by connected load and the length of spells."""
    index = pd.DatetimeIndex(meter.power_kw.index)
    if not len(index):
        return None
    if meter.zones and all(zone.outdoor for zone in meter.zones):
        return _outdoor_trim(meter)
    edges = spell_edges([zone.settings for zone in meter.zones], index, timezone)
    counts = np.bincount(spell_of_each(index, edges), minlength=len(edges)) / len(index)
    value = error = load = 0.0
    for zone in meter.zones:
        kw = zone.connected_kw_after or 0.0
        told = [setting_in(zone.settings, "high_trim", edge, timezone) for edge in edges]
        if any(v is None for v in told):
            return None
        value += kw * sum(w * v.value for w, v in zip(counts, told, strict=True) if v)
        error += kw * max(v.error for v in told if v)
        load += kw
    return SettingValue(value / load, error / load) if load > 0 else None


def _outdoor_trim(meter: MeterEvidence) -> SettingValue | None:
    """Full level of lights that burn by the sun: the metered plateau over the connected load.

    Month by month, so that a change of level counts for the months it was there.
    """
    connected = sum(zone.connected_kw_after or 0.0 for zone in meter.zones)
    power = meter.power_kw.dropna()
    if connected <= 0 or meter.interval_minutes > 60.0 or len(power) < 48:
        return None
    months = pd.DatetimeIndex(power.index).tz_localize(None).to_period("M")
    tops = power.groupby(months).quantile(0.97)
    floor = float(power.quantile(0.02))
    level = float((tops - floor).clip(lower=0.0).mean()) / connected
    return SettingValue(level, OUTDOOR_LEVEL_ERROR * level) if level > 0.05 else None


def _standby(meter: MeterEvidence, timezone: str) -> SettingValue | None:
    """Standby over the period, kWh: told watts x fixtures x hours near the meter's floor.

    Where no watts are told it lies between nothing and the whole of that floor.
    """
    index = pd.DatetimeIndex(meter.power_kw.index)
    if not len(index) or not meter.zones or any(zone.fixtures is None for zone in meter.zones):
        return None
    dark, floor = _dark_hours(meter)
    counts = np.array([zone.fixtures or 0.0 for zone in meter.zones])
    told = [setting_in(z.settings, "standby_watts", index[0], timezone) for z in meter.zones]
    known = [value for value in told if value is not None]
    told_kw = told_error = None
    if len(known) == len(counts):
        told_kw = np.array([value.value for value in known]) * counts / 1000.0
        told_error = np.array([value.error for value in known]) * counts / 1000.0
    kw, error = standby_from_floor(counts, floor, told_kw=told_kw, told_error=told_error)
    total = float(kw.sum()) * dark
    return SettingValue(total, float(np.hypot(error.sum() * dark, DARK_HOURS_ERROR * total)))


def _dark_hours(meter: MeterEvidence) -> tuple[float, float]:
    """Hours at which the lights were off, by how far the power stands above its floor; floor kW."""
    power = meter.power_kw.dropna().to_numpy(dtype=float)
    if not len(power):
        return 0.0, 0.0
    floor, top = np.quantile(power, [0.01, 0.99])
    span = max(top - floor, 1e-9)
    off = power <= floor + 0.03 * span
    return float(off.sum()) * meter.interval_minutes / 60.0, float(power[off].mean())


def _never(zones: tuple[ZoneEvidence, ...], setting: str) -> bool:
    """True where the setting is found absent in every zone, and never changed."""
    for zone in zones:
        finding = find(zone.settings, setting)
        if finding is None or finding.since is not None:
            return False
        if getattr(finding.observed, "estimate", None) not in (False, 0.0):
            return False
    return bool(zones)


def _why_not(meter: MeterEvidence) -> str:
    for zone in meter.zones:
        finding = find(zone.settings, "high_trim")
        why = getattr(getattr(finding, "observed", None), "why", None)
        if why:
            return f"{zone.zone}: {why}"
    return "no settings were found for its zones"
