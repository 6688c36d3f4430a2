"""A meter's intervals beside the motion of its zones, with the hold times in force."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.clock import local_days
from mv.bridge.daylight_drop import dims_by_day_when_held
from mv.bridge.daylit_vacant import HELD_ENOUGH
from mv.bridge.evidence import MeterEvidence
from mv.bridge.hold_fit import fitted_hold, hold_misfit
from mv.bridge.holding import MotionSpans, held_share, motion_spans
from mv.bridge.levels import DARK_BELOW_DEG
from mv.bridge.spells import SettingValue, setting_in, spell_edges, spell_of_each
from mv.bridge.told import never_dimmed

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

COARSEST_MINUTES = 60.0
"""Coarser metering cannot be set against motion. Common practice, no source."""
LOW_SUN_DEG = 12.0
"""Sun elevation below which vacant lamps at their low level are not dimmed further. No source."""
FAR_BETTER = 0.7
"""Squared misfit, share of the told hold time's, below which a fitted one replaces it."""


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
