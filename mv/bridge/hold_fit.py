"""The hold time that fits a zone's power best, where no other stage told it."""

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from mv.bridge.holding import held_share
from mv.bridge.levels import squared_misfit
from mv.bridge.spells import SettingValue

if TYPE_CHECKING:
    from mv.bridge.motion_model import Frame

CANDIDATE_MINUTES = (0.5, 1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 20, 25, 30, 40, 60)
"""Delays tried: those that controls commonly offer. Common practice, no source."""
_INDEPENDENT_PER_DAY = 4.0


def fitted_hold(table: "Frame", zone: int) -> SettingValue:
    """Delay in minutes with the least squared misfit of power on held and vacant shares.

    Dark intervals only, the zone taken by itself. The error is half the range of delays whose
    misfit is within sampling of the least (four independent intervals a day), at least a tenth
    of the delay.
    """
    dark = np.isfinite(table.power_kw) & (table.dark | table.undimmed)
    misfits = np.array([_misfit(table, zone, minutes, dark) for minutes in CANDIDATE_MINUTES])
    best = int(np.argmin(misfits))
    independent = max(10.0, _INDEPENDENT_PER_DAY * len(np.unique(table.day[dark])))
    near = misfits <= misfits[best] * (1.0 + 2.7 / independent)
    close = np.asarray(CANDIDATE_MINUTES)[near]
    value = float(CANDIDATE_MINUTES[best])
    error = max(float(close.max() - close.min()) / 2.0, 0.1 * value)
    return SettingValue(value, error)


def _misfit(table: "Frame", zone: int, minutes: float, dark: npt.NDArray[np.bool_]) -> float:
    spans = table.spans[zone]
    held = held_share(
        spans,
        table.index,
        interval_minutes=table.interval_minutes,
        hold_minutes=np.full(len(spans.end), float(minutes)),
    )
    mask = dark & np.isfinite(held)
    return squared_misfit(table.power_kw[mask], held[mask, None], table.is_open[mask, zone : zone + 1])
