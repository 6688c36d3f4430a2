"""The answer key: true settings with their dates, true avoided energy, true size of each measure."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import numpy as np

from mv.base.programme_records import Peak
from mv.simulate.design import INTERFACE_SETTINGS, Setting, SettingChange, SiteDesign, ZoneDesign
from mv.simulate.new_lamps import Measures
from mv.simulate.site import SimulatedSite, SimulatedZone, actual_power_kw

BRIDGE_STEPS: tuple[tuple[str, str], ...] = (
    ("lamp change", "lamp_change"),
    ("high trim", "high_trim"),
    ("occupancy sensing", "occupancy_sensing"),
    ("daylight dimming", "daylight_dimming"),
    ("scheduling", "scheduling"),
    ("standby", "standby"),
    ("other changes", "other_changes"),
)
SHOWS_AS: Mapping[Setting, tuple[Setting, ...]] = {  # settings a fault may rightly be taken for
    "high_trim": ("high_trim",),
    "low_level": ("low_level",),
    "hold_minutes": ("hold_minutes",),
    "daylight_dimming": ("daylight_dimming",),
    "scheduled_off": ("scheduled_off",),
    "standby_watts": ("standby_watts",),
    "sensor_bypassed": ("hold_minutes", "low_level"),
    "override_on": ("scheduled_off", "hold_minutes", "low_level"),
    "photocell_stuck": (),
    "switching_elevation": (),
    "lamps_failed": ("high_trim", "low_level", "standby_watts"),
    "added_kw": ("standby_watts", "high_trim", "low_level"),
    "clock_offset_minutes": ("scheduled_off",),
}
Truth = dict[str, object]


def true_settings(zone: ZoneDesign, *, changes: tuple[SettingChange, ...] = ()) -> dict[str, float | bool]:
    """The interface's settings of a zone once these changes have been made."""
    found: dict[str, float | bool] = {key: zone.commissioned.value(key) for key in INTERFACE_SETTINGS}
    for change in sorted(changes, key=lambda c: (c.day, c.minute)):
        if change.zone == zone.id and change.setting in found:
            found[change.setting] = change.value
    return found


def zone_changes(design: SiteDesign, zone: str) -> tuple[SettingChange, ...]:
    """The zone's changes in order of time."""
    own = (change for change in design.changes if change.zone == zone)
    return tuple(sorted(own, key=lambda change: (change.day, change.minute)))


def bridge_steps(site: SimulatedSite) -> dict[str, dict[str, float]]:
    """kWh saved over the reporting period by each measure, switched on one after the other.

    Same people, same sky, same later changes; zone -> step -> kWh. The steps of a zone add up to
    its avoided energy exactly; a step that costs energy (standby) is negative.
    """
    return {zone.design.id: _zone_bridge(site, zone) for zone in site.zones}


def _zone_bridge(site: SimulatedSite, zone: SimulatedZone) -> dict[str, float]:
    acting = Measures(*[False] * len(BRIDGE_STEPS))
    before = _energy(zone.baseline_kw, site)
    steps = {}
    for name, measure in BRIDGE_STEPS:
        acting = replace(acting, **{measure: True})
        power = actual_power_kw(
            site.design, zone.design, zone.scene, zone.baseline_kw, site.handover_minute, acting
        )
        after = _energy(power, site)
        steps[name] = before - after
        before = after
    return steps


def _energy(power_kw: np.typing.NDArray[np.float64], site: SimulatedSite) -> float:
    return float(np.sum(power_kw[site.reporting]) / 60.0)


def avoided_by_month(site: SimulatedSite) -> dict[str, float]:
    """kWh avoided at the meters, by local calendar month of the reporting period."""
    saved = site.baseline_total_kw - site.actual_total_kw
    first, last = site.design.reporting
    months = sorted({(d.year, d.month) for d in _days(first, last)})
    found = {}
    for year, month in months:
        inside = [d for d in _days(first, last) if (d.year, d.month) == (year, month)]
        found[f"{year:04d}-{month:02d}"] = float(np.sum(saved[site.clock.span(inside[0], inside[-1])]) / 60)
    return found


def _days(first: date, last: date) -> list[date]:
    return [date.fromordinal(n) for n in range(first.toordinal(), last.toordinal() + 1)]


def peak_reduction_kw(site: SimulatedSite, peak: Peak) -> float | None:
    """Mean kW saved over the peak window of the reporting period; None where it holds no minute."""
    clock, span = site.clock, site.reporting
    months = np.array(
        [date.fromordinal(site.clock.first_day.toordinal() + d).month for d in range(clock.days)]
    )
    good = np.isin(months, peak.months)
    if peak.weekdays_only:
        good &= clock.weekday < 5
    if peak.holidays_excluded:
        good &= ~clock.flags_of_days(site.design.holidays)
    hour = clock.minute_of_day / 60.0
    inside = good[clock.day] & (hour >= peak.hours[0]) & (hour < peak.hours[1])
    saved = (site.baseline_total_kw - site.actual_total_kw)[span][inside[span]]
    return float(saved.mean()) if len(saved) else None


def truth_record(site: SimulatedSite, *, peak: Peak | None = None, bridge: bool = True) -> Truth:
    """Everything a reader may want to compare a result with, ready for JSON."""
    span, design = site.reporting, site.design
    record: Truth = {
        "invented": True,
        "seed": site.seed,
        "avoided_kwh": site.avoided_kwh,
        "avoided_kwh_by_zone": site.avoided_kwh_by_zone,
        "avoided_kwh_by_month": avoided_by_month(site),
        "baseline_at_reporting_conditions_kwh": float(np.sum(site.baseline_total_kw[span]) / 60),
        "actual_reporting_kwh": float(np.sum(site.actual_total_kw[span]) / 60),
        "baseline_period_kwh": float(np.sum(site.actual_total_kw[site.baseline]) / 60),
        "settings": {zone.id: _settings_record(design, zone) for zone in design.zones},
        "changes": [_change_record(change) for change in sorted(design.changes, key=_in_time)],
    }
    if peak is not None:
        record["peak_kw"] = peak_reduction_kw(site, peak)
    if bridge:
        record["bridge_kwh_by_zone"] = bridge_steps(site)
    return record


def _settings_record(design: SiteDesign, zone: ZoneDesign) -> Truth:
    changes = zone_changes(design, zone.id)
    return {
        "commissioned": true_settings(zone),
        "at_the_end": true_settings(zone, changes=changes),
        "occupancy_sensing": zone.commissioned.occupancy_sensing,
        "egress_kw_before": zone.egress_kw_before,
        "egress_kw_after": zone.egress_kw_after,
    }


def _change_record(change: SettingChange) -> Truth:
    return {
        "zone": change.zone,
        "date": change.day.isoformat(),
        "minute_of_day": change.minute,
        "setting": change.setting,
        "value": change.value,
        "cause": change.cause,
        "may_show_as": list(SHOWS_AS[change.setting]),
    }


def _in_time(change: SettingChange) -> tuple[date, int, str, str]:
    return change.day, change.minute, change.zone, change.setting
