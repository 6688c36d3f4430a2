"""A simulated site written out as the folder a user would have."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd

from mv.base.files import write_whole
from mv.base.programme_records import Peak
from mv.simulate.arrays import Floats, stream
from mv.simulate.file_faults import with_faults
from mv.simulate.layouts import gzipped, meter_text, number_texts, stamp_texts, table_text
from mv.simulate.meter import MeterDesign, read_meter
from mv.simulate.papers import INVENTORY_COLUMNS, drawn_extras, drawn_inventory
from mv.simulate.site import SimulatedSite, SimulatedZone, logged_motion
from mv.simulate.study_text import StudyExtras, study_text
from mv.simulate.truth import truth_record

COUNTER_ERROR = 0.04  # people counters miss or double this share of passages; common practice, no source


def write_study(
    site: SimulatedSite,
    folder: Path,
    *,
    interval_minutes: int | None = None,
    meters: Sequence[MeterDesign] | None = None,
    motion_zones: Sequence[str] | None = None,
    motion_compressed: bool = False,
    motion_silent: Mapping[str, Sequence[tuple[date, date]]] | None = None,
    occupancy: bool = True,
    extras: StudyExtras | None = None,
    truth: bool = True,
    bridge: bool = False,
) -> Path:
    """Write study.toml, meter files, logs, weather, inventory and truth.json; returns the study's path.

    `meters` None: one meter a zone (or one for the whole building), every key stated.
    `extras` None: a prediction by inventory, a peak window and prices are drawn.
    `motion_zones` None: every indoor zone with sensors, over the reporting period; `motion_silent`
    holds, by zone, local dates both included on which its log lost everything.
    """
    plan = list(meters) if meters is not None else default_meters(site, interval_minutes)
    files = {meter.id: _write_meter(site, meter, folder) for meter in plan}
    logged = motion_zones if motion_zones is not None else _sensed_zones(site)
    quiet = motion_silent or {}
    motions = {
        zone: [_write_motion(site, zone, folder, motion_compressed, quiet.get(zone, ()))] for zone in logged
    }
    weather = _write_weather(site, folder) if site.design.whole_building is not None else None
    papers = extras
    if papers is None:
        papers = drawn_extras(site.design, site.seed)
        inventory = table_text(INVENTORY_COLUMNS, drawn_inventory(site.design, site.seed))
        write_whole(folder / "inventory.csv", inventory)
    text = study_text(
        site.design,
        plan,
        files,
        motions,
        occupancy=_write_occupancy(site, folder) if occupancy else {},
        weather=weather,
        extras=papers,
    )
    write_whole(folder / "study.toml", text)
    if truth:
        peak = Peak.model_validate(dict(papers.peak)) if papers.peak else None
        record = truth_record(site, peak=peak, bridge=bridge)
        write_whole(folder / "truth.json", json.dumps(_rounded(record), indent=1) + "\n")
    return folder / "study.toml"


def default_meters(site: SimulatedSite, interval_minutes: int | None = None) -> list[MeterDesign]:
    """One plain meter a zone, or one for the whole building; gain error of about half a per cent."""
    design = site.design
    interval = interval_minutes or design.interval_minutes
    rng = stream(site.seed, "meter gains")
    gains = np.round(1.0 + 0.005 * rng.standard_normal(len(design.zones) + 1), 5)
    whole = design.whole_building is not None
    plain = MeterDesign("main", (), interval, resolution=0.1 if interval > 5 else 0.01, whole_building=True)
    if whole:
        return [replace(plain, zones=tuple(z.id for z in design.zones), gain=float(gains[0]))]
    fine = 0.001 if interval >= 15 else 0.0001
    return [
        MeterDesign(f"M-{zone.id}", (zone.id,), interval, resolution=fine, gain=float(gain))
        for zone, gain in zip(design.zones, gains[1:], strict=True)
    ]


def _sensed_zones(site: SimulatedSite) -> list[str]:
    return [z.id for z in site.design.zones if not z.outdoor and z.commissioned.occupancy_sensing]


def _write_meter(site: SimulatedSite, meter: MeterDesign, folder: Path) -> list[str]:
    """One file, or one a local year; returns the names for study.toml."""
    zone = site.design.timezone
    record = with_faults(read_meter(site, meter), meter, zone)
    years = record.stamps.tz_convert(zone).year.to_numpy()
    parts = sorted(set(years.tolist())) if meter.split_by_year else [None]
    ending = ".csv.gz" if meter.compressed else ".csv"
    for year in parts:
        keep = np.ones(len(years), dtype=np.bool_) if year is None else years == year
        text = meter_text(record.chosen(keep), meter, zone)
        name = f"{meter.id}{'' if year is None else f'-{year}'}{ending}"
        write_whole(folder / "meters" / name, gzipped(text) if meter.compressed else text)
    return [f"meters/{meter.id}{'-*' if meter.split_by_year else ''}{ending}"]


def _write_motion(
    site: SimulatedSite,
    name: str,
    folder: Path,
    compressed: bool,
    silent: Sequence[tuple[date, date]],
) -> str:
    """The sensor's changes over the reporting period: 1 when motion starts, 0 when it ends."""
    text = motion_text(site, site.zone(name), silent)
    path = f"motion/motion-{name}.csv{'.gz' if compressed else ''}"
    write_whole(folder / path, gzipped(text) if compressed else text)
    return path


def motion_text(site: SimulatedSite, zone: SimulatedZone, silent: Sequence[tuple[date, date]] = ()) -> str:
    """A motion log with stamps in UTC, to the second; begins and ends in known states."""
    starts, ends = logged_motion(site, zone.design.id, site.reporting, silent)
    first = site.reporting.start * 60.0
    seconds = np.column_stack([starts, ends]).ravel()
    states = np.tile([1, 0], len(starts))
    seconds, states = np.append(first, seconds), np.append(0, states)
    origin = site.clock.start.tz_localize(None).to_datetime64().astype("datetime64[s]")
    stamps = pd.DatetimeIndex(origin + seconds.astype("timedelta64[s]"), tz="UTC")
    times = stamp_texts(stamps, "utc", "UTC", unit="s")
    return table_text(("time", "state"), list(zip(times, states.tolist(), strict=True)))


def _write_occupancy(site: SimulatedSite, folder: Path) -> dict[str, object]:
    """Mean people counted on site per hour, with the counter's error."""
    indoor = [zone.people for zone in site.zones if not zone.design.outdoor]
    people = np.sum(indoor, axis=0) if indoor else np.zeros(site.clock.n)
    hourly = _hourly(people)
    error = 1.0 + COUNTER_ERROR * stream(site.seed, "counter").standard_normal(len(hourly))
    times = stamp_texts(site.clock.stamps(60), "utc", "UTC")
    values = number_texts(np.clip(hourly * error, 0.0, None), 2)
    text = table_text(("time", "people"), list(zip(times, values, strict=True)))
    write_whole(folder / "occupancy.csv", text)
    return {"files": ["occupancy.csv"], "measures": "count"}


def _write_weather(site: SimulatedSite, folder: Path) -> dict[str, object]:
    times = stamp_texts(site.clock.stamps(60), "utc", "UTC")
    values = number_texts(_hourly(site.sky.air_c), 1)
    text = table_text(("time", "temperature_c"), list(zip(times, values, strict=True)))
    write_whole(folder / "weather.csv", text)
    return {"files": ["weather.csv"], "unit": "C"}


def _hourly(minutes: Floats | np.typing.NDArray[np.int64]) -> Floats:
    means: Floats = minutes[: len(minutes) // 60 * 60].reshape(-1, 60).mean(axis=1).astype(np.float64)
    return means


def _rounded(value: object) -> object:
    """Floats to six decimals, so that the file's bytes do not hang on the last bit."""
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_rounded(item) for item in value]
    return round(value, 6) if isinstance(value, float) else value
