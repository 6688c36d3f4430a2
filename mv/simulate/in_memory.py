"""A simulated site as the records that stages take, without files: for benches over many sites."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd

from mv.base.ledger import Ledger
from mv.base.series import MeterSeries, MotionLog, OccupancySeries, WeatherSeries
from mv.simulate.file_faults import with_faults
from mv.simulate.meter import TO_KILO, FileFault, MeterDesign, read_meter
from mv.simulate.site import SimulatedSite, logged_motion


def plain_ledger(name: str, rows: int, energy_kwh: float | None = None) -> Ledger:
    """The account of a record in which every row was good."""
    return Ledger(name, rows, rows, {}, 0, energy_kwh, energy_kwh, None, None, {})


def meter_series(site: SimulatedSite, meter: MeterDesign) -> MeterSeries:
    """The meter's energy on its full grid; missing, spiked or lumped intervals are NaN.

    Recording errors (gain, noise, resolution) are in it; file faults are shown as perfect cleaning
    would leave them.
    """
    readings = with_faults(read_meter(site, meter), _harmless(meter), site.design.timezone)
    kwh = pd.Series(readings.values, index=readings.stamps) / TO_KILO[meter.unit]
    if meter.quantity == "power":
        kwh = kwh * (meter.interval_minutes / 60.0)
    if meter.quantity == "register":
        kwh = kwh.diff().shift(-1)
    grid = site.clock.stamps(meter.interval_minutes)
    energy = kwh.reindex(grid).rename("energy_kwh")
    estimated = pd.Series(False, index=grid, name="estimated")
    used = int(energy.notna().sum())
    ledger = plain_ledger(meter.id, used, float(energy.sum()))
    return MeterSeries(meter.id, float(meter.interval_minutes), energy, estimated, ledger)


def _harmless(meter: MeterDesign) -> MeterDesign:
    """The same meter with every fault turned into a plain gap, and no doubled rows."""
    gaps = tuple(
        replace(fault, kind="gap", minutes=_lost_minutes(fault, meter.interval_minutes))
        for fault in meter.faults
        if fault.kind != "duplicate"
    )
    return replace(meter, faults=gaps)


def _lost_minutes(fault: FileFault, step: int) -> int:
    """How long a fault leaves nothing to use: a lump takes one interval more, a spike is one."""
    return {"lump": fault.minutes + step, "spike": step}.get(fault.kind, fault.minutes)


def motion_log(
    site: SimulatedSite,
    zone: str,
    *,
    whole_span: bool = False,
    silent: Sequence[tuple[date, date]] = (),
) -> MotionLog:
    """The zone's motion changes over the reporting period (or the whole span).

    `silent`: local dates, both included, on which the log (not the sensor) lost everything.
    """
    span = slice(0, site.clock.n) if whole_span else site.reporting
    starts, ends = logged_motion(site, zone, span, silent)
    seconds = np.column_stack([starts, ends]).ravel()
    first, last = (site.clock.start + pd.Timedelta(minutes=m) for m in (span.start, span.stop))
    stamps = site.clock.start + pd.to_timedelta(seconds.astype(np.int64), unit="s")
    states = np.tile(np.array([1, 0], dtype=np.int8), len(seconds) // 2)
    state = pd.Series(states, index=pd.DatetimeIndex(stamps), name="state")
    return MotionLog(zone, state, first, last, plain_ledger(f"motion {zone}", len(state)))


def occupancy_series(site: SimulatedSite, *, interval_minutes: int = 60) -> OccupancySeries:
    """Mean people on site per interval, without the counter's error."""
    indoor = [zone.people for zone in site.zones if not zone.design.outdoor]
    people = np.sum(indoor, axis=0) if indoor else np.zeros(site.clock.n)
    value = site.series(people.astype(np.float64), interval_minutes).rename("people")
    return OccupancySeries("count", float(interval_minutes), value, plain_ledger("occupancy", len(value)))


def weather_series(site: SimulatedSite, *, interval_minutes: int = 60) -> WeatherSeries:
    """Outdoor temperature per interval."""
    air = site.series(site.sky.air_c, interval_minutes).rename("temperature_c")
    return WeatherSeries(float(interval_minutes), air, plain_ledger("weather", len(air)))
