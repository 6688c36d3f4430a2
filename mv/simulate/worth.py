"""What each planted change truly costs, by simulating the same site without it."""

from dataclasses import dataclass, replace

import numpy as np

from mv.simulate.design import SettingChange
from mv.simulate.new_lamps import Measures
from mv.simulate.site import SimulatedSite, actual_power_kw


@dataclass(frozen=True)
class ChangeWorth:
    """Energy a change added between its minute and the end of the reporting period.

    `fraction` is of what the zone would have used in that time without it; negative where the change
    saves (failed lamps).
    """

    change: SettingChange
    kwh: float
    fraction: float
    kwh_per_month: float


def change_worths(site: SimulatedSite) -> tuple[ChangeWorth, ...]:
    """Each change's worth, the others staying as they are."""
    return tuple(_worth(site, change) for change in site.design.changes)


def _worth(site: SimulatedSite, change: SettingChange) -> ChangeWorth:
    zone, clock = site.zone(change.zone), site.clock
    others = tuple(other for other in site.design.changes if other is not change)
    without = replace(site.design, changes=others)
    power = actual_power_kw(
        without, zone.design, zone.scene, zone.baseline_kw, site.handover_minute, Measures()
    )
    span = slice(max(clock.minute_at(change.day, change.minute), site.reporting.start), site.reporting.stop)
    would = float(np.sum(power[span])) / 60.0
    kwh = float(np.sum(zone.actual_kw[span])) / 60.0 - would
    months = max((span.stop - span.start) / (1440.0 * 365.25 / 12.0), 1e-9)
    return ChangeWorth(change, kwh, kwh / would if would > 0 else 0.0, kwh / months)
