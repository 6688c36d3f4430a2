"""The hold time that fits a zone's power best, where no other stage told it."""

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from mv.bridge.holding import held_share
from mv.bridge.levels import squared_misfit
from mv.bridge.spells import SettingValue

if TYPE_CHECKING:
    from mv.bridge.frame import Frame

CANDIDATE_MINUTES = (0.5, 1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 20, 25, 30, 40, 60)
"""Delays tried: those that controls commonly offer. Common practice, no source."""
_INDEPENDENT_PER_DAY = 4.0


def fitted_hold(table: "Frame", zone: int) -> tuple[SettingValue, float]:
    """Delay in minutes with the least squared misfit of power on held and vacant shares; the misfit.

    Intervals without daylight only, the zone taken by itself. The error is half the range of
    delays whose misfit is within sampling of the least (four independent intervals a day), at
    least a tenth of the delay.
    """
    count = len(table.spans[zone].end)
    misfits = np.array([hold_misfit(table, zone, np.full(count, float(m))) for m in CANDIDATE_MINUTES])
    best = int(np.argmin(misfits))
    days = len(np.unique(table.day[table.dark | table.undimmed]))
    independent = max(10.0, _INDEPENDENT_PER_DAY * days)
    near = misfits <= misfits[best] * (1.0 + 2.7 / independent)
    close = np.asarray(CANDIDATE_MINUTES)[near]
    value = float(CANDIDATE_MINUTES[best])
    error = max(float(close.max() - close.min()) / 2.0, 0.1 * value)
    return SettingValue(value, error), float(misfits[best])


def hold_misfit(table: "Frame", zone: int, hold_minutes: npt.NDArray[np.float64]) -> float:
    """Squared misfit of the zone's power with that delay at the end of each span of motion."""
    held = held_share(
        table.spans[zone],
        table.index,
        interval_minutes=table.interval_minutes,
        hold_minutes=hold_minutes,
    )
    mask = np.isfinite(table.power_kw) & (table.dark | table.undimmed) & np.isfinite(held)
    opened = table.is_open[mask, zone : zone + 1]
    return squared_misfit(table.power_kw[mask], held[mask, None], opened)
