"""Simulated zones with known settings, as the settings and drift stages receive them."""

import os
import pickle
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from mv.base.ledger import Ledger
from mv.base.series import MeterSeries, MotionLog
from mv.base.study_records import Commissioned, Span, Study, Zone
from mv.drivers import daily_drivers, interval_conditions
from mv.simulate import SettingChange, SiteDesign, random_site, simulate_site, true_settings
from mv.simulate.meter import MeterDesign, read_meter

EMPTY = Ledger("bench", 0, 0, {}, 0, None, None, None, None, {})
INDOOR = ("workshop", "stores", "office", "hall", "corridor")
SKIPPED_UNSENSED = ("low_level", "hold_minutes")
SKIPPED_OUTDOOR = ("low_level", "hold_minutes", "daylight_dimming", "scheduled_off")


@dataclass
class Case:
    """One zone at one metering interval, with its truth."""

    seed: int
    minutes: int
    design: SiteDesign
    zone: Zone
    study: Study
    meter: MeterSeries
    motion: MotionLog | None
    conditions: pd.DataFrame
    reporting: Span
    truth: dict
    minute_kw: np.ndarray

    @property
    def timezone(self) -> str:
        return self.study.site.timezone


def site_design(seed: int, *, kinds: tuple[str, ...] = INDOOR, sensed: bool | None = True) -> SiteDesign:
    """A site of one zone; drawn again until its zone has sensors where `sensed` asks for them."""
    for attempt in range(50):
        design = random_site(
            seed + 100_000 * attempt, zones=1, kinds=kinds, baseline_months=1, reporting_months=12
        )
        if sensed is None or design.zones[0].commissioned.occupancy_sensing == sensed:
            return design
    raise RuntimeError("no such zone drawn")


def study_of(design: SiteDesign) -> Study:
    """The study record of a simulated site."""
    return Study.model_validate(
        {
            "format": 1,
            "site": {
                "name": design.name,
                "latitude": design.latitude,
                "longitude": design.longitude,
                "timezone": design.timezone,
            },
            "periods": {"baseline": design.baseline, "reporting": design.reporting},
            "meter": [{"id": "M", "files": ["m.csv"], "zones": [z.id for z in design.zones]}],
            "occupancy": {"hours": _joined_hours(design.hours), "holidays": list(design.holidays)},
            "zone": [zone_record(design, z.id).model_dump() for z in design.zones],
        }
    )


def _joined_hours(hours) -> dict:
    table: dict[str, list[str]] = {}
    for key, span in hours:
        table.setdefault(key, []).append(span)
    return table


def zone_record(design: SiteDesign, name: str) -> Zone:
    """The zone as a user would describe it."""
    zone = design.zone(name)
    skip = (
        SKIPPED_OUTDOOR if zone.outdoor else () if zone.commissioned.occupancy_sensing else SKIPPED_UNSENSED
    )
    agreed = {k: v for k, v in true_settings(zone).items() if k not in skip}
    return Zone(
        id=zone.id,
        meter="M",
        fixtures=zone.fixtures,
        watts_before=zone.watts_before,
        watts_after=zone.watts_after,
        place="outdoor" if zone.outdoor else None,
        hours=None if zone.hours is None else _joined_hours(zone.hours),
        commissioned=Commissioned(**agreed),
    )


def cases(
    design: SiteDesign,
    seed: int,
    intervals: tuple[int, ...],
    *,
    changes: tuple[SettingChange, ...] = (),
) -> list[Case]:
    """The site's first zone at each metering interval."""
    design = design.with_changes(*changes) if changes else design
    site = simulate_site(design, seed)
    study = study_of(design)
    zone = study.zone[0]
    found = []
    for minutes in intervals:
        resolution = 0.001 if minutes >= 15 else 0.0001
        gain = float(np.round(1.0 + 0.005 * np.random.default_rng(seed).standard_normal(), 5))
        plan = MeterDesign("M", (zone.id,), minutes, resolution=resolution, gain=gain)
        readings = read_meter(site, plan)
        index = pd.DatetimeIndex(readings.stamps)
        energy = pd.Series(np.asarray(readings.values, dtype=float), index)
        reporting = Span(first=design.reporting[0], last=design.reporting[1])
        keep = index >= pd.Timestamp(design.reporting[0], tz=design.timezone).tz_convert("UTC")
        truth = {
            "start": true_settings(design.zone(zone.id)),
            "end": true_settings(design.zone(zone.id), changes=design.changes),
        }
        found.append(
            Case(
                seed,
                minutes,
                design,
                zone,
                study,
                MeterSeries("M", float(minutes), energy[keep], pd.Series(False, index[keep]), EMPTY),
                _motion(site, zone.id),
                interval_conditions(index[keep], study, zone),
                reporting,
                truth,
                site.zone(zone.id).actual_kw[site.reporting],
            )
        )
    return found


def kept(name: str, make: Callable[[], list[Case]]) -> list[Case]:
    """The cases from TALLYLUX_BENCH_CACHE where they are there, else made and, with that folder, kept."""
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


def _motion(site, zone: str) -> MotionLog:
    people = site.zone(zone).scene.people
    start = site.clock.start
    stamps = np.concatenate((people.motion_start_s, people.motion_end_s))
    state = np.concatenate((np.ones(len(people.motion_start_s)), np.zeros(len(people.motion_end_s))))
    order = np.lexsort((state, stamps))
    index = start + pd.to_timedelta(stamps[order], unit="s")
    first = pd.Timestamp(site.design.reporting[0], tz=site.design.timezone).tz_convert("UTC")
    keep = index >= first
    series = pd.Series(state[order].astype("int8"), index)[keep]
    return MotionLog(zone, series, first, start + pd.Timedelta(minutes=site.clock.n), EMPTY)


def drivers_of(case: Case) -> pd.DataFrame:
    """Daily drivers of the case, motion included."""
    return daily_drivers(
        case.study,
        case.reporting.first,
        case.reporting.last,
        zones=[case.zone],
        motion={} if case.motion is None else {case.zone.id: case.motion},
    )


def daily_energy(case: Case) -> pd.Series:
    """Metered energy by naive local midnight."""
    day = case.conditions["local_day"]
    return case.meter.energy_kwh.groupby(day.to_numpy()).sum()


def unlogged(case: Case) -> Case:
    """The same case without a motion log."""
    return replace(case, motion=None)
