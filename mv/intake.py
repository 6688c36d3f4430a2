"""Everything a study names, read and cleaned: meters, logs, weather and inventory.

Problems of all files are gathered and told together.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from mv.base.errors import InputError, ReadingError, joined
from mv.base.files import sha256_of
from mv.base.meter_records import Meter
from mv.base.series import MeterSeries, MotionLog, OccupancySeries, WeatherSeries
from mv.base.study_records import Study, Zone
from mv.cleaning import clean_meter, with_clocks_compared
from mv.predicted import Inventory, read_inventory
from mv.progress import Step, no_progress
from mv.readers import fetch_query, files_of, read_meter, read_motion, read_occupancy, read_weather
from mv.study import STUDY_FILE

Read = TypeVar("Read")


@dataclass(frozen=True)
class Intake:
    """What was read. `motion` is by zone id; None where the study names no such file."""

    meters: Mapping[str, MeterSeries]
    motion: Mapping[str, MotionLog]
    occupancy: OccupancySeries | None
    weather: WeatherSeries | None
    inventory: Inventory | None
    inputs: Sequence[Mapping[str, Any]]  # name, size and SHA-256 of each file, as it was read


def read_meters(study: Study, step: Step) -> dict[str, MeterSeries]:
    """Every meter of the study, read and cleaned. Raises one InputError for all that is wrong."""
    _fetch_queries(study)
    logs, wrong = _attempted(_weather_jobs(study), step, 0.0)
    meters, more = _attempted(_meter_jobs(study, logs.get("weather")), step, 0.1)
    _refuse([*wrong, *more])
    return with_clocks_compared(meters, study)


def read_everything(study: Study, step: Step, *, fetch: bool = True) -> Intake:
    """Every input of the study. Raises one InputError for all that is wrong, or that changed meanwhile.

    Queries are run unless `fetch` is false: then their rows have just been fetched. The study file
    may be edited meanwhile: it was loaded before, and is fingerprinted as it was then.
    """
    as_loaded = {path: _fingerprint(path, study.folder) for path in _study_file(study)}
    if fetch:
        _fetch_queries(study)
    before = _states(study)
    folder, timezone = study.folder, study.site.timezone
    logged = [zone for zone in study.zone if zone.motion]
    jobs = _weather_jobs(study)
    jobs |= {_motion_job(zone): partial(read_motion, zone, folder, timezone) for zone in logged}
    if study.occupancy.files:
        jobs["occupancy"] = partial(read_occupancy, study.occupancy, folder, timezone)
    if study.predicted.inventory is not None:
        jobs["inventory"] = partial(_inventory, study)
    logs, wrong = _attempted(jobs, step, 0.0)
    meters, more = _attempted(_meter_jobs(study, logs.get("weather")), step, 0.2)
    _refuse([*wrong, *more])
    inputs = [as_loaded.get(path) or _fingerprint(path, study.folder) for path in _input_paths(study)]
    _refuse(_changed(before, _states(study)))
    return Intake(
        meters=with_clocks_compared(meters, study),
        motion={zone.id: logs[_motion_job(zone)] for zone in logged},
        occupancy=logs.get("occupancy"),
        weather=logs.get("weather"),
        inventory=logs.get("inventory"),
        inputs=inputs,
    )


def _fetch_queries(study: Study) -> None:
    jobs = {meter.id: partial(fetch_query, meter, study.folder) for meter in study.meter if meter.query}
    _refuse(_attempted(jobs, no_progress, 0.0)[1])


def _states(study: Study) -> dict[Path, tuple[int, int]]:
    """Size and time of the last change of each data file that is there."""
    try:
        own = _study_file(study)
        found = {path: path.stat() for path in _input_paths(study) if path not in own}
    except InputError:
        return {}  # told in reading, with all else that is wrong
    return {path: (stat.st_size, stat.st_mtime_ns) for path, stat in found.items()}


def _changed(before: Mapping[Path, object], after: Mapping[Path, object]) -> list[InputError]:
    paths = [path for path in {**before, **after} if before.get(path) != after.get(path)]
    remedy = "Run again when whatever writes it has finished."
    return [ReadingError("changed while it was being read", file=path, remedy=remedy) for path in paths]


def inputs_as_json(study: Study) -> list[dict[str, Any]]:
    """Name, size and SHA-256 of the study file and of each file it names, in the study's order."""
    return [_fingerprint(path, study.folder) for path in _input_paths(study)]


def input_names(study: Study) -> list[str]:
    """The names alone, of those that are there."""
    return [_name(path, study.folder) for path in _input_paths(study)]


def _study_file(study: Study) -> list[Path]:
    path = study.folder / STUDY_FILE
    return [path] if path.exists() else []


def _input_paths(study: Study) -> list[Path]:
    paths = _study_file(study)
    for patterns in _patterns(study):
        paths += files_of(patterns, study.folder, key="files")
    if study.predicted.inventory is not None:
        paths.append(study.folder / study.predicted.inventory)
    return [path for path in dict.fromkeys(paths) if path.exists()]


def _patterns(study: Study) -> list[tuple[str, ...]]:
    named = [meter.files for meter in study.meter] + [study.occupancy.files]
    if study.weather is not None:
        named.append(study.weather.files)
    return [patterns for patterns in [*named, *(zone.motion for zone in study.zone)] if patterns]


def _fingerprint(path: Path, folder: Path) -> dict[str, Any]:
    return {"name": _name(path, folder), "bytes": path.stat().st_size, "sha256": sha256_of(path)}


def _name(path: Path, folder: Path) -> str:
    return (path.relative_to(folder) if path.is_relative_to(folder) else path).as_posix()


def _motion_job(zone: Zone) -> str:
    return f"motion in {zone.id}"


def _weather_jobs(study: Study) -> dict[str, Callable[[], Any]]:
    if study.weather is None:
        return {}
    return {"weather": partial(read_weather, study.weather, study.folder, study.site.timezone)}


def _meter_jobs(study: Study, weather: WeatherSeries | None) -> dict[str, Callable[[], MeterSeries]]:
    return {meter.id: partial(_meter, study, meter, weather) for meter in study.meter}


def _meter(study: Study, meter: Meter, weather: WeatherSeries | None) -> MeterSeries:
    raw = read_meter(meter, study.folder, study.site.timezone)
    return clean_meter(raw, meter, study, weather=weather)


def _inventory(study: Study) -> Inventory:
    path = study.folder / str(study.predicted.inventory)
    return read_inventory(path, known_zones=[zone.id for zone in study.zone] or None)


def _attempted(
    jobs: Mapping[str, Callable[[], Read]], step: Step, begun: float
) -> tuple[dict[str, Read], list[InputError]]:
    """What each job gave, and the problems of those that failed."""
    done: dict[str, Read] = {}
    problems: list[InputError] = []
    for number, (name, job) in enumerate(jobs.items()):
        step(f"Reading {name}", begun + 0.2 * number / len(jobs))
        try:
            done[name] = job()
        except InputError as problem:
            problems.append(problem)
    return done, problems


def _refuse(problems: Sequence[InputError]) -> None:
    if problems:
        raise joined(problems)
