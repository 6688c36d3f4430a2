"""From a stretch of time back to the files: every reading met there, its line, and what became of it."""

import re
from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from mv.base.errors import StudyError
from mv.base.raw import RawFile
from mv.base.study_records import Study
from mv.readers import read_meter

COLUMNS = ("file", "line", "clock at the site", "as read", "unit", "what became of it")
NOT_ALL_LISTED = "counts further lines that the ledger does not list"
USED, ESTIMATED = "used", "used; marked as estimated in the file"


def source_lines(
    study: Study,
    meter: str,
    ledger: Mapping[str, Any],
    start: pd.Timestamp,
    end: pd.Timestamp,
) -> pd.DataFrame:
    """The readings of `meter` that begin in the half-open UTC window, in time and then in file order.

    The files are read again as they are now. `ledger` is the meter's entry in the result's `cleaning`,
    which tells the lines that were set aside and why. Raises InputError where a file cannot be read.
    """
    wanted = next((entry for entry in study.meter if entry.id == meter), None)
    if wanted is None:
        raise StudyError("no meter has this name", value=meter)
    raw = read_meter(wanted, study.folder, study.site.timezone)
    aside = {name: _lines_set_aside(ledger, name) for name in {file.name for file in raw.files}}
    parts = [_of_file(file, aside[file.name], study.site.timezone, start, end) for file in raw.files]
    if not parts:
        return pd.DataFrame(columns=list(COLUMNS))
    table = pd.concat(parts, ignore_index=True)
    return table.sort_values(["second", "file", "line"], ignore_index=True)[list(COLUMNS)]


def _of_file(
    file: RawFile, aside: list[tuple[int, int, str]], timezone: str, start: pd.Timestamp, end: pd.Timestamp
) -> pd.DataFrame:
    chosen = np.flatnonzero((file.start >= start.timestamp()) & (file.start < end.timestamp()))
    lines = file.line[chosen]
    clock = pd.to_datetime(file.start[chosen], unit="s", utc=True).tz_convert(timezone)
    unlisted = [reason for _, _, reason in aside if reason.endswith(NOT_ALL_LISTED)]
    fate = np.full(len(chosen), "; ".join([USED, *unlisted]), dtype=object)
    if file.estimated is not None:
        fate[file.estimated[chosen]] = ESTIMATED
    for first, last, reason in aside:
        if first:
            fate[(lines >= first) & (lines <= last)] = f"set aside: {reason}"
    return pd.DataFrame(
        {
            "second": file.start[chosen],
            "file": file.name,
            "line": lines,
            "clock at the site": clock.strftime("%Y-%m-%d %H:%M:%S %Z"),
            "as read": file.value[chosen],
            "unit": file.unit,
            "what became of it": fate,
        }
    )


def _lines_set_aside(ledger: Mapping[str, Any], file: str) -> list[tuple[int, int, str]]:
    """First line, last line and reason of each range that the ledger names; 0 where it lists not all."""
    found = []
    for reason, by_file in (ledger.get("set_aside_lines") or {}).items():
        text, _, more = str(by_file.get(file, "")).partition(" and ")
        for ends in re.finditer(r"(\d+)(?:-(\d+))?", text):
            found.append((int(ends[1]), int(ends[2] or ends[1]), str(reason)))
        if more:
            found.append((0, 0, f"{reason} {NOT_ALL_LISTED}"))
    return found
