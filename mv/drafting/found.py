"""What the files given to `tallylux new` hold: meters, circuits of one file, and logs that are no meter."""

import re
from dataclasses import dataclass
from pathlib import Path

from mv.base.errors import InputError, ReadingError
from mv.base.meter_records import Meter
from mv.base.raw import RawFile
from mv.base.study_records import Occupancy, Weather, Zone
from mv.readers import SHARED_NAME, ChoiceError, read_meter, read_motion, read_occupancy, read_weather

MOST_CHANNELS = 100  # more columns than this are not circuits of one panel


@dataclass
class Found:
    """One file (or one circuit of it) as read: the keys it needs, and what was inferred."""

    path: str
    side: str
    keys: dict[str, str]
    files: list[RawFile]
    open_question: InputError | None = None


@dataclass(frozen=True)
class LogFile:
    """A file that is no meter: occupancy, weather or motion, with what was found in it."""

    kind: str
    path: str
    note: str


def read_all(plan: dict[Path, str]) -> tuple[list[Found], list[LogFile], list[InputError]]:
    """Every file as meters or as a log, and what is wrong with those that are neither."""
    found: list[Found] = []
    logs: list[LogFile] = []
    problems: list[InputError] = []
    for path, side in plan.items():
        try:
            log = _as_log(Path(path))
            if log:
                logs.append(log)
            else:
                found += _as_meter(Path(path), side, {})
        except InputError as error:
            problems.append(error)
    return found, logs, problems


def _pattern(path: Path) -> str:
    return str(path.resolve())


def _as_meter(path: Path, side: str, keys: dict[str, str]) -> list[Found]:
    """The file as one meter, or as one a circuit or register where it holds several."""
    meter = Meter.model_validate({"id": "new", "files": (_pattern(path),), **keys})
    try:
        return [Found(str(path), side, keys, _files_of(meter, path.parent))]
    except ChoiceError as error:
        if error.key in keys or not error.choices or len(error.choices) > MOST_CHANNELS:
            raise
        every: list[Found] = []
        for choice in error.choices:
            every += _as_meter(path, side, {**keys, error.key: choice})
        return every
    except ReadingError as error:
        if error.remedy is None or "Set " not in error.remedy:
            raise
        return [Found(str(path), side, keys, _for_their_days(meter, path.parent), error)]


def _files_of(meter: Meter, folder: Path) -> list[RawFile]:
    """The files as read by a clock that stands for the site's, which is not known yet."""
    try:
        return list(read_meter(meter, folder, "UTC").files)
    except ReadingError as error:
        if SHARED_NAME not in error.what:
            raise
        return list(read_meter(meter.model_copy(update={"clock": "UTC"}), folder, "UTC").files)


def _for_their_days(meter: Meter, folder: Path) -> list[RawFile]:
    """The files read as if they held kWh, for the days that they cover; none where more is unknown."""
    try:
        return _files_of(meter.model_copy(update={"quantity": "energy", "unit": "kWh"}), folder)
    except InputError:
        return []


_LOG_WORDS = {
    "weather": re.compile(r"temp|weather|dry.?bulb|\boat\b", re.IGNORECASE),
    "occupancy": re.compile(r"occup|people|headcount|presence", re.IGNORECASE),
    "motion": re.compile(r"motion|\bpir\b|movement", re.IGNORECASE),
}


def _as_log(path: Path) -> LogFile | None:
    """Occupancy, weather and motion files are known by their name, and by reading as such."""
    for kind, words in _LOG_WORDS.items():
        if not words.search(path.stem):
            continue
        try:
            return LogFile(kind, str(path), _log_note(kind, path))
        except InputError:
            continue
    return None


def _log_note(kind: str, path: Path) -> str:
    files = (_pattern(path),)
    if kind == "weather":
        weather = read_weather(Weather(files=files), path.parent, "UTC")
        return f"{weather.interval_minutes:g} min; {weather.ledger.inferred.get('unit', '')}"
    if kind == "occupancy":
        occupancy = read_occupancy(Occupancy(files=files), path.parent, "UTC")
        return f"{occupancy.measures}, {occupancy.interval_minutes:g} min"
    log = read_motion(Zone(id="new", motion=files), path.parent, "UTC")
    return f"{len(log.state)} motion changes"
