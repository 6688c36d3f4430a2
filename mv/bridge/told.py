"""What the settings found and agreed say of a meter's zones, in the terms of the bridge."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.clock import local_midnight
from mv.bridge.evidence import MeterEvidence, ZoneEvidence
from mv.bridge.spells import as_value, failed_lamps, find, setting_in
from mv.bridge.vacant import AGREED_ERROR, VacantLevel

Floats = npt.NDArray[np.float64]

LEVEL_ERROR = 0.01
"""Standard error of a level as a share of the stated load: warming up, true watts. No source."""


LAMPS_DOUBT = 0.8
"""Standard error, share of how far the full level lies below the agreed one: the meter does not
tell failed lamps from a lower trim, so that a 90 % interval reaches past either reading."""


def agreed(zone: ZoneEvidence, setting: str) -> float | None:
    """What was agreed at hand-over, as a number; None where it was not."""
    finding = find(zone.settings, setting)
    if finding is None or finding.commissioned is None:
        return None
    return float(finding.commissioned)


def has_list(zone: ZoneEvidence) -> bool:
    """Whether anything was agreed for the zone: then what is not on the list was not agreed."""
    if zone.settings is None:
        return False
    return any(finding.commissioned is not None for finding in zone.settings.findings)


def never_sensed(zones: Sequence[ZoneEvidence]) -> bool:
    """True where no zone has a motion log, a hold time or a vacant level, and lists exist."""
    return bool(zones) and all(
        zone.outdoor
        or (
            zone.motion is None
            and has_list(zone)
            and agreed(zone, "hold_minutes") is None
            and agreed(zone, "low_level") is None
        )
        for zone in zones
    )


def never_dimmed(
    zones: Sequence[ZoneEvidence],
    edges: Sequence[pd.Timestamp],
    timezone: str,
    *,
    seen: bool | None = None,
) -> bool:
    """True where no zone dims for daylight in any spell: as found on the zone, else as `seen` on
    the meter, else as agreed not to. That agreed dimming is absent takes a motion log to find."""
    return bool(zones) and all(
        zone.outdoor or _undimmed(zone, edge, timezone, seen) for zone in zones for edge in edges
    )


def _undimmed(zone: ZoneEvidence, edge: pd.Timestamp, timezone: str, seen: bool | None) -> bool:
    found = setting_in(zone.settings, "daylight_dimming", edge, timezone)
    expected = agreed(zone, "daylight_dimming") == 1.0
    doubtful = expected and (zone.motion is None or seen is True)  # it may have died part-way
    if found is not None and not (doubtful and found.value < 0.5):
        return found.value < 0.5
    if seen is not None:
        return not seen
    return agreed(zone, "daylight_dimming") == 0.0


def scheduled(zone: ZoneEvidence, edge: pd.Timestamp, timezone: str) -> bool | None:
    """Whether lamps went off when closed in the spell: as found, else as agreed never to."""
    found = setting_in(zone.settings, "scheduled_off", edge, timezone)
    if found is not None:
        return found.value > 0.5
    return False if agreed(zone, "scheduled_off") == 0.0 else None


def vacant_level(zone: ZoneEvidence, edge: pd.Timestamp, timezone: str) -> VacantLevel | None:
    """Vacant level of a zone in the spell, kW: as found, else as agreed; None where neither."""
    kw = zone.connected_kw_after or 0.0
    found = setting_in(zone.settings, "low_level", edge, timezone)
    if found is not None:
        return VacantLevel(found.value * kw, max(found.error, LEVEL_ERROR) * kw)
    level = agreed(zone, "low_level")
    if level is None:
        return None
    return VacantLevel(level * kw, max(AGREED_ERROR * level, 0.02) * kw)


def vacant_rise(zone: ZoneEvidence, edge: pd.Timestamp, timezone: str) -> VacantLevel | None:
    """How far the vacant power in opening hours stands above that when closed, kW.

    The vacant level less the standby that only dark lamps draw.
    """
    level = vacant_level(zone, edge, timezone)
    if level is None:
        return None
    standby = (agreed(zone, "standby_watts") or 0.0) * (zone.fixtures or 0.0) / 1000.0
    return VacantLevel(max(0.0, level.rise_kw - standby), level.error)


def low_kw(meter: MeterEvidence, edge: pd.Timestamp, timezone: str) -> tuple[Floats, Floats]:
    """Vacant level of each zone and its standard error, kW, found or agreed; NaN where neither."""
    levels = [vacant_level(zone, edge, timezone) for zone in meter.zones]
    values = np.array([np.nan if level is None else level.rise_kw for level in levels])
    return values, np.array([0.0 if level is None else level.error for level in levels])


def lamps_share(meter: MeterEvidence, edges: Sequence[pd.Timestamp], timezone: str) -> Floats:
    """Share of the new lamps that burn in each spell, where a sign speaks of failed ones; else 1.

    It is the fall of the full level on the sign's date.
    """
    shares = np.ones(len(edges))
    loads = np.array([zone.connected_kw_after or 0.0 for zone in meter.zones])
    for zone, load in zip(meter.zones, loads, strict=True):
        sign = failed_lamps(zone.settings)
        trim = find(zone.settings, "high_trim")
        if sign is None or sign.since is None or trim is None:
            continue
        before, now = as_value(trim.earlier), as_value(trim.observed)
        if not before or not now or before.value <= 0:
            continue
        lost = max(0.0, 1.0 - now.value / before.value) * load / max(float(loads.sum()), 1e-9)
        after = np.array([edge >= local_midnight(sign.since, timezone) for edge in edges])
        shares -= lost * after
    return shares


def agreed_full_kw(meter: MeterEvidence) -> float | None:
    """Full load of all zones as agreed, kW: high trim x connected load; None where not agreed."""
    trims = [agreed(zone, "high_trim") for zone in meter.zones]
    loads = [zone.connected_kw_after or 0.0 for zone in meter.zones]
    if not trims or any(trim is None for trim in trims):
        return None
    return float(sum(t * kw for t, kw in zip(trims, loads, strict=True) if t is not None))


def agreed_standby_kw(zones: Sequence[ZoneEvidence]) -> float | None:
    """Standby of the zones as agreed, kW; None where not agreed or fixtures are not counted."""
    watts = [agreed(zone, "standby_watts") for zone in zones]
    counts = [zone.fixtures for zone in zones]
    if not watts or any(w is None for w in watts) or any(c is None for c in counts):
        return None
    return sum(w * c for w, c in zip(watts, counts, strict=True) if w and c) / 1000.0
