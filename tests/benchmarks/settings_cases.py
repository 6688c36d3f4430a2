"""Simulated zones with known settings, as the settings and drift stages receive them."""

import os
import pickle
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from mv.base.series import MeterSeries, MotionLog
from mv.base.study_records import Commissioned, Span, Study, Zone
from mv.controls import ZoneSettings, infer_settings
from mv.drift import DriftFinding, DriftSeries, find_drift
from mv.drivers import daily_drivers, interval_conditions
from mv.simulate import (
    SimulatedSite,
    SiteDesign,
    default_meters,
    meter_series,
    motion_log,
    random_site,
    simulate_site,
    true_settings,
    zone_changes,
)
from mv.simulate.zone_kinds import KINDS

INDOOR = tuple(kind for kind in KINDS if kind != "outdoor")
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

    @property
    def timezone(self) -> str:
        return self.study.site.timezone


def site_design(
    seed: int, *, kinds: tuple[str, ...] | None = INDOOR, sensed: bool | None = True
) -> SiteDesign:
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


def cases(design: SiteDesign, seed: int, intervals: tuple[int, ...]) -> list[Case]:
    """The site's first zone at each metering interval."""
    return cases_of(simulate_site(design, seed), intervals)


def cases_of(site: SimulatedSite, intervals: tuple[int, ...]) -> list[Case]:
    """The same of a site already simulated."""
    design = site.design
    study = study_of(design)
    zone = study.zone[0]
    first = pd.Timestamp(design.reporting[0], tz=design.timezone).tz_convert("UTC")
    truth = {
        "start": true_settings(design.zone(zone.id)),
        "end": true_settings(design.zone(zone.id), changes=zone_changes(design, zone.id)),
    }
    sensed = design.zone(zone.id).commissioned.occupancy_sensing and not design.zone(zone.id).outdoor
    found = []
    for minutes in intervals:
        meter = meter_series(site, default_meters(site, minutes)[0])
        keep = meter.energy_kwh.index >= first
        meter = replace(meter, energy_kwh=meter.energy_kwh[keep], estimated=meter.estimated[keep])
        found.append(
            Case(
                seed=site.seed,
                minutes=minutes,
                design=design,
                zone=zone,
                study=study,
                meter=meter,
                motion=motion_log(site, zone.id) if sensed else None,
                conditions=interval_conditions(pd.DatetimeIndex(meter.energy_kwh.index), study, zone),
                reporting=Span(first=design.reporting[0], last=design.reporting[1]),
                truth=truth,
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
    groups = case.meter.energy_kwh.groupby(case.conditions["local_day"].to_numpy())
    return groups.sum().where(groups.count() >= 0.98 * groups.size())


def unlogged(case: Case) -> Case:
    """The same case without a motion log."""
    return replace(case, motion=None)


def inferred(case: Case) -> ZoneSettings:
    """The settings stage on a case."""
    return infer_settings(
        case.zone,
        case.meter,
        case.motion,
        case.conditions,
        reporting=case.reporting,
        timezone=case.timezone,
        confidence=0.90,
    )


def looked_at(
    case: Case, settings: ZoneSettings | None = None
) -> tuple[ZoneSettings, tuple[DriftFinding, ...]]:
    """Settings and drift of a case."""
    settings = settings or inferred(case)
    outdoor = case.design.zones[0].outdoor
    energy = daily_energy(case)
    series = DriftSeries(case.zone.id, energy, drivers_of(case), (case.zone.id,), outdoor)
    return settings, find_drift([series], [settings], confidence=0.90)
