"""Planted changes and quiet years as the watch for drift receives them, kept small enough for a disk.

A record holds what was planted, the settings inferred and the zone's days and hours; inferring is the slow
part, so records are kept in TALLYLUX_BENCH_CACHE where that is set.
"""

import os
import pickle
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
from settings_cases import (
    Case,
    daily_energy,
    drivers_of,
    inferred,
    site_design,
    study_of,
    unlogged,
    zone_record,
)

from mv.base.study_records import Span
from mv.controls import ZoneSettings
from mv.drift import DriftSeries, fine_kw, hourly_kw
from mv.drivers import interval_conditions
from mv.simulate import (
    SiteDesign,
    default_meters,
    firmware_reset,
    meter_series,
    motion_log,
    random_changes,
    random_site,
    simulate_site,
)

RESET_ZONES = 3


@dataclass(frozen=True)
class Planted:
    """One change: its cause in the simulator's words, its day, its worth as a share of the zone's energy."""

    cause: str
    day: date
    fraction: float
    kwh_per_month: float


@dataclass(frozen=True)
class Record:
    """One site at one metering interval; `planted` None for a quiet year."""

    seed: int
    minutes: int
    logged: bool
    planted: Planted | None
    zone_kind: str
    settings: tuple[ZoneSettings, ...]
    series: tuple[DriftSeries, ...]


def kept(name: str, make: Callable[[], list[Record]]) -> list[Record]:
    """The records from TALLYLUX_BENCH_CACHE where they are there, else made and, with that folder, kept."""
    folder = os.environ.get("TALLYLUX_BENCH_CACHE")
    if not folder:
        return make()
    path = Path(folder) / f"{name}.pkl"
    if path.exists():
        return pickle.loads(path.read_bytes())
    found = make()
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(pickle.dumps(found, protocol=5))
    return found


def changed(seed: int, cause: str, intervals: tuple[int, ...], least_worth: float = 0.0) -> list[Record]:
    """A zone with one planted change, at every interval, with its motion log and without.

    None where the zone cannot have it, or where it is worth less than `least_worth` of the energy.
    """
    if cause == "firmware reset":
        design = random_site(
            seed, zones=RESET_ZONES, kinds=("office", "workshop", "stores", "corridor"), baseline_months=1
        )
        day = design.reporting[0] + (date(2023, 6, 1) - date(2023, 3, 1)) + pd.Timedelta(days=seed % 150)
        changes = firmware_reset(design, day)
    else:
        design = site_design(seed, kinds=("outdoor",) if "photocell" in cause else None, sensed=None)
        changes = random_changes(design, seed, kinds=(cause,))
    if not changes:
        return []
    site = simulate_site(design.with_changes(*changes), seed)
    planted = _worth_of_all(site, design, changes[0].day, cause)
    if abs(planted.fraction) < least_worth:
        return []
    return [r for m in intervals for r in records_of(site, m, planted)]


def _worth_of_all(site, design: SiteDesign, day: date, cause: str) -> Planted:
    """What the changes cost together, from the day on, by simulating the site without them."""
    without = simulate_site(design, site.seed)
    span = slice(site.clock.minute_at(day, 0), site.reporting.stop)
    used, would = (sum(z.actual_kw[span].sum() / 60 for z in s.zones) for s in (site, without))
    months = (span.stop - span.start) / (1440 * 30.4375)
    return Planted(cause, day, (used - would) / would, (used - would) / months)


def quiet_looks(seed: int, minutes: int, *, logged: bool = True) -> list[Record]:
    """The same zone as it is after each month of the year, as a facility manager would look."""
    site = simulate_site(site_design(seed, kinds=None, sensed=None), seed)
    first, last = site.design.reporting
    ends = [d.date() for d in pd.date_range(first, last, freq="ME")]
    return [record_of(site, minutes, None, logged=logged, until=end) for end in ends]


def records_of(site, minutes: int, planted: Planted | None) -> list[Record]:
    """With the motion log, and without where there is one."""
    with_log = record_of(site, minutes, planted, logged=True)
    if not any(_sensed(site.design, z.id) for z in site.design.zones):
        return [replace(with_log, logged=False)]
    return [with_log, record_of(site, minutes, planted, logged=False)]


def record_of(site, minutes: int, planted: Planted | None, *, logged: bool, until: date | None = None):
    """Settings and series of every zone of the site at one interval."""
    settings, series = [], []
    for case in zone_cases(site, minutes, until):
        case = case if logged else unlogged(case)
        settings.append(inferred(case))
        zone = case.zone.id
        series.append(
            DriftSeries(
                where=zone,
                energy_kwh=daily_energy(case),
                drivers=drivers_of(case),
                zones=(zone,),
                outdoor=site.design.zone(zone).outdoor,
                hourly_kw=hourly_kw(case.meter.power_kw, case.timezone),
                fine_kw=_single(fine_kw(case.meter.power_kw, case.timezone, minutes)),
            )
        )
    kind = site.design.zones[0].kind
    return Record(site.seed, minutes, logged, planted, kind, tuple(settings), tuple(series))


def _single(table: pd.DataFrame | None) -> pd.DataFrame | None:
    """In single precision, which is enough here and takes half the room."""
    return None if table is None else table.astype(np.float32)


def zone_cases(site, minutes: int, until: date | None = None) -> Iterator[Case]:
    """Each zone on a meter of its own, over the reporting period or its part until a day."""
    design = site.design
    study = study_of(design)
    first, last = design.reporting[0], until or design.reporting[1]
    start = pd.Timestamp(first, tz=design.timezone).tz_convert("UTC")
    end = (pd.Timestamp(last, tz=design.timezone) + pd.DateOffset(days=1)).tz_convert("UTC")
    for zone in design.zones:
        plain = next(m for m in default_meters(site, minutes) if m.zones == (zone.id,))
        meter = meter_series(site, plain)
        keep = (meter.energy_kwh.index >= start) & (meter.energy_kwh.index < end)
        meter = replace(meter, energy_kwh=meter.energy_kwh[keep], estimated=meter.estimated[keep])
        log = motion_log(site, zone.id) if _sensed(design, zone.id) else None
        if log is not None and until is not None:
            log = replace(log, state=log.state[log.state.index < end], known_to=end)
        record = zone_record(design, zone.id)
        yield Case(
            seed=site.seed,
            minutes=minutes,
            design=design,
            zone=record,
            study=study,
            meter=meter,
            motion=log,
            conditions=interval_conditions(pd.DatetimeIndex(meter.energy_kwh.index), study, record),
            reporting=Span(first=first, last=last),
            truth={},
        )


def _sensed(design: SiteDesign, zone: str) -> bool:
    found = design.zone(zone)
    return found.commissioned.occupancy_sensing and not found.outdoor
