"""What a setting is at each minute: agreed at hand-over, changed later."""

import numpy as np

from mv.simulate.arrays import Floats
from mv.simulate.design import Setting, SiteDesign, ZoneDesign
from mv.simulate.minute_clock import MinuteClock


def timeline(site: SiteDesign, zone: ZoneDesign, setting: Setting, clock: MinuteClock) -> Floats:
    """The setting's value per minute, as a number; length 1 where it never changes."""
    value = float(zone.commissioned.value(setting))
    changes = sorted(
        (clock.minute_at(change.day, change.minute), float(change.value))
        for change in site.changes
        if change.zone == zone.id and change.setting == setting
    )
    if not changes:
        return np.array([value])
    series = np.full(clock.n, value)
    for index, changed in changes:
        series[index:] = changed
    return series


def at(series: Floats, index: np.typing.NDArray[np.int64]) -> Floats:
    """The timeline's values at these minutes."""
    if len(series) == 1:
        return np.full(len(index), series[0])
    found: Floats = series[np.minimum(index, len(series) - 1)]
    return found
