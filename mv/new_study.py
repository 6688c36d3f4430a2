"""A first study.toml from a folder's files: what they say is written down, what they cannot is marked."""

import filecmp
import re
import shutil
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from mv.base.errors import InputError, OutputError, ReadingError, joined
from mv.base.files import write_whole
from mv.base.raw import RawFile
from mv.base.study_records import Meter, Occupancy, Weather, Zone
from mv.readers import ChoiceError, read_meter, read_motion, read_occupancy, read_weather

STUDY_FILE = "study.toml"
METER_FOLDER = "meters"
FILL_IN = "FILL IN"
MOST_CHANNELS = 100  # more columns than this are not circuits of one panel
_SIDE_WORDS = re.compile(
    r"(?<![a-z0-9])(before|after|baseline|base|reporting|report|pre|post|old|new|retrofit|install(ed)?|"
    r"[12]\d{3}([-_]?\d\d){0,2}|"
    r"jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|q[1-4]|to|part ?\d*)(?![a-z0-9])",
    re.IGNORECASE,
)


@dataclass
class Found:
    """One file (or one circuit of it) as read: the keys it needs, and what was inferred."""

    path: str
    side: str
    keys: dict[str, str]
    files: list[RawFile]
    open_question: InputError | None = None


@dataclass
class Draft:
    """One [[meter]] to be written: its id, files and keys."""

    id: str
    parts: list[Found] = field(default_factory=list)


def write_new_study(folder: Path, before: Sequence[Path], after: Sequence[Path]) -> Path:
    """Write `folder`/study.toml from the files of before and after the retrofit; returns its path.

    A file inside the folder is named where it stands; another is copied to `folder`/meters, so that
    the study can be moved as one. Nothing is overwritten. What no file can tell is marked FILL IN.
    Raises InputError that lists every file which cannot be read at all.
    """
    target = Path(folder) / STUDY_FILE
    if target.exists():
        raise OutputError(
            "there is a study already",
            file=target,
            remedy="Choose another folder, or move the old study away.",
        )
    plan = {path: side for side, paths in (("before", before), ("after", after)) for path in paths}
    if not plan:
        raise ReadingError(
            "no file is named", remedy="Give --before and --after, each with at least one file."
        )
    _check_exist(list(plan))
    found, logs, problems = _read_all(plan)
    if problems:
        raise joined(problems)
    names = {path: _settled_name(path, Path(folder)) for path in plan}
    write_whole(target, _text(_drafts(found), logs, names))
    for path, name in names.items():
        _copy(path, Path(folder) / name)
    return target


def _check_exist(paths: list[Path]) -> None:
    missing = [
        ReadingError("there is no such file", file=path, remedy="Check the path.")
        for path in paths
        if not Path(path).is_file()
    ]
    if missing:
        raise joined(missing)


def _settled_name(path: Path, folder: Path) -> str:
    """The file's path in the study: as it stands inside the folder, else under meters/."""
    try:
        return Path(path).resolve().relative_to(Path(folder).resolve()).as_posix()
    except ValueError:
        target = folder / METER_FOLDER / Path(path).name
        if target.exists() and not filecmp.cmp(path, target, shallow=False):
            raise OutputError(
                "another file of this name is there already", file=target, remedy="Rename one of the two."
            ) from None
        return f"{METER_FOLDER}/{Path(path).name}"


def _copy(path: Path, target: Path) -> None:
    if target.exists():
        return
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, target)
    except OSError as error:
        raise OutputError(
            f"cannot be copied: {error.strerror}",
            file=target,
            remedy="Check the folder's permissions and space.",
        ) from error


@dataclass(frozen=True)
class LogFile:
    """A file that is no meter: occupancy, weather or motion, with what was found in it."""

    kind: str
    path: str
    note: str


def _read_all(plan: dict[Path, str]) -> tuple[list[Found], list[LogFile], list[InputError]]:
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
        return [Found(str(path), side, keys, list(read_meter(meter, path.parent, "UTC").files))]
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
        return [Found(str(path), side, keys, [], error)]


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


def _drafts(found: list[Found]) -> list[Draft]:
    """Files before and after of one name (its dates and words of time left out) are one meter; so is
    a single file before beside a single one after."""
    sides = {side: [part for part in found if part.side == side] for side in ("before", "after")}
    drafts: dict[tuple[str, str], Draft] = {}
    alone = all(len(parts) <= 1 for parts in sides.values())
    for part in found:
        channel = next((v for k, v in part.keys.items() if k in ("value_column", "channel")), "")
        stem = "meter" if alone else _stem(part.path)
        shown = (
            channel if channel and len({_stem(p.path) for p in found}) == 1 else f"{stem} {channel}".strip()
        )
        if alone:
            shown = channel or _stem(found[0].path)
        key = (stem, channel)
        drafts.setdefault(key, Draft(shown)).parts.append(part)
    return _unique(list(drafts.values()))


def _stem(path: str) -> str:
    name = Path(path).name.split(".")[0]
    short = re.sub(r"([\s_\-.()])[\s_\-.()]+", r"\1", _SIDE_WORDS.sub("", name))
    return short.strip(" _-.()") or name


def _unique(drafts: list[Draft]) -> list[Draft]:
    seen: dict[str, int] = {}
    for draft in drafts:
        number = seen[draft.id] = seen.get(draft.id, 0) + 1
        if number > 1:
            draft.id = f"{draft.id} {number}"
    return drafts


def _text(drafts: list[Draft], logs: list[LogFile], names: dict[Path, str]) -> str:
    known = {str(path): name for path, name in names.items()}
    parts = [_HEAD, _periods(drafts), *(_meter_text(draft, known) for draft in drafts)]
    parts += [_logs_text(logs, known), _TAIL.format(meter=_quoted(drafts[0].id) if drafts else '"meter"')]
    return "\n".join(part for part in parts if part)


_HEAD = f"""\
# A study of a lighting retrofit, drafted from its files. Lines marked {FILL_IN} hold what no file can
# tell: take the "# " off the key and give its value. Then run: tallylux check study.toml
format = 1

[study]
title = "Lighting retrofit"
confidence = 0.90                      # two-sided, of every interval

[site]
name = "Site"                          # {FILL_IN}: the site's name
# latitude =                           # {FILL_IN}: degrees, north positive
# longitude =                          # {FILL_IN}: degrees, east positive
# timezone = "America/Chicago"         # {FILL_IN}: the site's IANA time zone
"""

_TAIL = f"""\
# {FILL_IN}: what was promised, either as two numbers or as an inventory.
# [predicted]
# annual_kwh =                         # kWh saved in a year
# peak_kw =                            # kW saved at the programme's peak
# inventory = "inventory.csv"

# {FILL_IN}: one table a zone; what was agreed at hand-over goes under [zone.commissioned].
# [[zone]]
# id = "zone 1"
# meter = {{meter}}
# fixtures =
# watts_before =                       # input power of one fixture
# watts_after =
# [zone.commissioned]
# high_trim =                          # full-on level, fraction of connected load
# low_level =                          # level when vacant in opening hours; 0 = off
# hold_minutes =                       # time delay after the last motion
# daylight_dimming =
# scheduled_off =

# {FILL_IN}: opening hours, and dates treated as closed.
# [occupancy.hours]
# mon-fri = "08:00-18:00"
"""


def _periods(drafts: list[Draft]) -> str:
    """The whole days that the files of each side cover."""
    spans = {}
    for side in ("before", "after"):
        files = [f for d in drafts for p in d.parts if p.side == side for f in p.files if len(f.start)]
        if files:
            spans[side] = _whole_days(files)
    lines = [
        "[periods]                              # local dates, both included; from the files' first and "
        "last days"
    ]
    if len(spans) == 2 and spans["after"][0] > spans["before"][1]:
        for name, side in (("baseline", "before"), ("reporting", "after")):
            lines.append(f'{name} = ["{spans[side][0]}", "{spans[side][1]}"]')
        lines.append(
            f"# {FILL_IN}: move these so that the installation and the settling in lie between them."
        )
        return "\n".join(lines) + "\n"
    lines[0] = f"# {FILL_IN}: the files do not tell two periods apart.\n# [periods]"
    for name, side in (("baseline", "before"), ("reporting", "after")):
        span = spans.get(side, ("first date", "last date"))
        lines.append(f'# {name} = ["{span[0]}", "{span[1]}"]')
    return "\n".join(lines) + "\n"


def _whole_days(files: list[RawFile]) -> tuple[str, str]:
    first = min(int(file.start.min()) for file in files)
    last = max(int(file.start.max()) + (file.interval_seconds or 0) for file in files)
    begin = pd.Timestamp(first, unit="s").ceil("D")
    end = pd.Timestamp(last, unit="s").floor("D") - pd.Timedelta(days=1)
    if end < begin:
        begin, end = pd.Timestamp(first, unit="s").floor("D"), pd.Timestamp(last, unit="s").floor("D")
    return f"{begin:%Y-%m-%d}", f"{end:%Y-%m-%d}"


def _meter_text(draft: Draft, names: dict[str, str]) -> str:
    files = list(dict.fromkeys(names[part.path] for part in draft.parts))
    lines = ["[[meter]]", f"id = {_quoted(draft.id)}", f"files = [{', '.join(map(_quoted, files))}]"]
    lines.append('measures = "lighting"                  # or "whole building"')
    keys: dict[str, set[str]] = {}
    for part in draft.parts:
        for key, value in part.keys.items():
            keys.setdefault(key, set()).add(value)
    lines += [f"{key} = {_quoted(next(iter(values)))}" for key, values in keys.items() if len(values) == 1]
    for part in draft.parts:
        lines += _facts(part, names[part.path])
    return "\n".join(lines) + "\n"


def _facts(part: Found, name: str) -> list[str]:
    if part.open_question is not None:
        question = part.open_question
        return [
            f"# {FILL_IN}: {name} {question.what}"
            + (f" (found: {question.value})" if question.value is not None else ""),
            f"#   {_without_table(question.remedy or '')}",
        ]
    lines = []
    for file in part.files:
        span = f"{_day(file.start.min())} to {_day(file.start.max())}" if len(file.start) else "no readings"
        lines.append(f"# {part.side}: {_comment(file.name)}, {len(file.start)} readings, {span}")
        for what, why in file.inferred.items():
            if what not in ("time format", "clock"):
                lines.append(f"#   {what}: {_comment(why)}")
    return lines


def _without_table(remedy: str) -> str:
    return _comment(remedy.replace(" in [[meter]] id = 'new'", " here"))


def _comment(text: str) -> str:
    return "".join(mark if mark.isprintable() else " " for mark in text)[:160]


def _day(second: np.int64) -> str:
    return f"{pd.Timestamp(int(second), unit='s'):%Y-%m-%d}"


def _logs_text(logs: list[LogFile], names: dict[str, str]) -> str:
    lines: list[str] = []
    for kind in ("occupancy", "weather"):
        own = [log for log in logs if log.kind == kind]
        if own:
            files = ", ".join(_quoted(names[log.path]) for log in own)
            lines += [f"[{kind}]", f"files = [{files}]"]
            lines += [f"# {names[log.path]}: {_comment(log.note)}" for log in own] + [""]
    for log in logs:
        if log.kind == "motion":
            lines += [
                f"# {FILL_IN}: name this motion log in its zone: motion = [{_quoted(names[log.path])}]  # "
                f"{log.note}",
                "",
            ]
    return "\n".join(lines)


def _quoted(text: str) -> str:
    """A TOML basic string."""
    marks = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r"}
    return '"' + "".join(marks.get(c, c if c.isprintable() else f"\\u{ord(c):04x}") for c in text[:200]) + '"'
