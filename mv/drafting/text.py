"""The text of a drafted study.toml: what the files say, and FILL IN where no file can tell."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from mv.base.raw import RawFile
from mv.drafting.claim_text import NEW_CLAIM
from mv.drafting.found import Found, LogFile

FILL_IN = "FILL IN"
SIDES = ("before", "after")


@dataclass
class Draft:
    """One [[meter]] to be written: its id, files and keys."""

    id: str
    parts: list[Found] = field(default_factory=list)


def study_text(drafts: list[Draft], logs: list[LogFile], names: dict[Path, str]) -> str:
    """The whole of a drafted study.toml; `names` are the files' paths in the study."""
    known = {str(path): name for path, name in names.items()}
    parts = [
        _HEAD,
        _periods([p for d in drafts for p in d.parts]),
        *(_meter_text(draft, known) for draft in drafts),
    ]
    parts += [_logs_text(logs, known), _TAIL.format(meter=_quoted(drafts[0].id) if drafts else '"meter"')]
    parts.append(NEW_CLAIM)
    return "\n".join(part for part in parts if part)


_HEAD = f"""\
# A study of a lighting retrofit, drafted from its files. Lines marked {FILL_IN} hold what no file can
# tell: take the "# " off the key and give its value. Then run: tallylux check study.toml
# Every table and key, with units and examples: python -m mv.study_file.reference
format = 1

[study]
title = "Lighting retrofit"            # {FILL_IN}: the study's title, which heads every page
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


def days_of_sides(found: Sequence[Found]) -> dict[str, tuple[str, str]]:
    """The first and last whole day that the files of each side cover; a side without readings is left out."""
    files = {side: [f for p in found if p.side == side for f in p.files if len(f.start)] for side in SIDES}
    return {side: _whole_days(own) for side, own in files.items() if own}


def _periods(found: Sequence[Found]) -> str:
    spans = days_of_sides(found)
    in_utc = _in_utc([file for part in found for file in part.files if len(file.start)])
    lines = [
        "[periods]                              # local dates, both included; from the files' first and "
        "last days"
    ]
    if len(spans) == 2 and spans["after"][0] > spans["before"][1]:
        for name, side in zip(("baseline", "reporting"), SIDES, strict=True):
            lines.append(f'{name} = ["{spans[side][0]}", "{spans[side][1]}"]')
        lines.append(
            f"# {FILL_IN}: move these so that the installation and the settling in lie between them."
        )
        if in_utc:
            lines.append(
                "# The stamps are in UTC, and so are these days: the site's may begin or end one sooner."
            )
        return "\n".join(lines) + "\n"
    lines[0] = f"# {FILL_IN}: the files do not tell two periods apart.\n# [periods]"
    for name, side in zip(("baseline", "reporting"), SIDES, strict=True):
        span = spans.get(side, ("first date", "last date"))
        lines.append(f'# {name} = ["{span[0]}", "{span[1]}"]')
    return "\n".join(lines) + "\n"


def _whole_days(files: list[RawFile]) -> tuple[str, str]:
    ends = [_local_ends(file) for file in files]
    first, last = min(first for first, _ in ends), max(last for _, last in ends)
    begin = pd.Timestamp(first, unit="s").ceil("D")
    end = pd.Timestamp(last, unit="s").floor("D") - pd.Timedelta(days=1)
    if end < begin:
        begin, end = pd.Timestamp(first, unit="s").floor("D"), pd.Timestamp(last, unit="s").floor("D")
    return f"{begin:%Y-%m-%d}", f"{end:%Y-%m-%d}"


def _local_ends(file: RawFile) -> tuple[int, int]:
    """The first reading's start and the last one's end by the wall clock, as far as the file knows it."""
    early, late = file.stated_offsets or (0, 0)
    return int(file.start.min()) + early, int(file.start.max()) + (file.interval_seconds or 0) + late


def _in_utc(files: list[RawFile]) -> bool:
    return any(file.stated_offsets == (0, 0) for file in files)


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
