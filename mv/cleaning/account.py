"""The ledger of one meter, from its readings and what became of them."""

from collections.abc import Mapping

import numpy as np

from mv.base.ledger import FileAccount, Ledger, Remark
from mv.base.raw import RawMeter
from mv.cleaning.gaps import Filled
from mv.cleaning.readings import Readings, line_ranges


def make_ledger(
    raw: RawMeter,
    table: Readings,
    filled: Filled,
    coverage: tuple[float | None, float | None],
    remarks: tuple[Remark, ...],
) -> Ledger:
    """Account for every reading of every file: used, or set aside for a reason, with its lines."""
    accounts, lines = _file_accounts(raw, table)
    set_aside: dict[str, int] = {}
    for account in accounts:
        for reason, count in account.set_aside.items():
            set_aside[reason] = set_aside.get(reason, 0) + count
    used = table.used
    every = bool(used.all())
    read_kwh = float(table.kwh.sum())
    return Ledger(
        meter=raw.meter,
        rows_read=sum(account.rows_read for account in accounts),
        rows_used=sum(account.rows_used for account in accounts),
        set_aside=dict(sorted(set_aside.items(), key=lambda item: -item[1])),
        estimated_rows=int((table.estimated & used).sum()) + filled.intervals,
        energy_read_kwh=read_kwh,
        energy_used_kwh=read_kwh if every else float(table.kwh[used].sum()),
        coverage_baseline=coverage[0],
        coverage_reporting=coverage[1],
        inferred=_inferred(raw, table),
        remarks=remarks,
        files=accounts,
        set_aside_lines=lines,
        filled_intervals=filled.intervals,
        energy_filled_kwh=filled.energy_kwh,
    )


def _file_accounts(
    raw: RawMeter, table: Readings
) -> tuple[tuple[FileAccount, ...], dict[str, dict[str, str]]]:
    codes = len(table.reasons)
    counts = np.bincount(table.file.astype(np.intp) * codes + table.reason, minlength=codes * len(raw.files))
    accounts = []
    lines: dict[str, dict[str, str]] = {}
    for number, file in enumerate(raw.files):
        own = counts[number * codes : (number + 1) * codes]
        aside = {reason: len(found) for reason, found in file.unreadable.items()}
        for reason, found in file.unreadable.items():
            lines.setdefault(reason, {})[file.name] = line_ranges(found)
        for code in range(1, codes):
            if own[code]:
                reason = table.reasons[code]
                aside[reason] = aside.get(reason, 0) + int(own[code])
                rows = (table.file == number) & (table.reason == code)
                named = lines.setdefault(reason, {})
                earlier = f"{named[file.name]}, " if file.name in named else ""
                named[file.name] = earlier + line_ranges(table.line[rows])
        accounts.append(FileAccount(file.name, file.rows_read, int(own[0]), aside))
    return tuple(_one_a_name(accounts)), lines


def _one_a_name(accounts: list[FileAccount]) -> list[FileAccount]:
    """A file read in several spans has one account."""
    merged: dict[str, FileAccount] = {}
    for one in accounts:
        other = merged.get(one.name)
        if other is None:
            merged[one.name] = one
            continue
        aside = dict(other.set_aside)
        for reason, count in one.set_aside.items():
            aside[reason] = aside.get(reason, 0) + count
        merged[one.name] = FileAccount(
            one.name, other.rows_read + one.rows_read, other.rows_used + one.rows_used, aside
        )
    return list(merged.values())


def _inferred(raw: RawMeter, table: Readings) -> Mapping[str, str]:
    """What was inferred; where files differ, each file's own."""
    merged: dict[str, str] = {}
    keys = dict.fromkeys(key for file in raw.files for key in file.inferred)
    for key in keys:
        said: dict[str, list[str]] = {}
        for file in raw.files:
            if key in file.inferred:
                said.setdefault(file.inferred[key], []).append(file.name)
        if len(said) == 1:
            merged[key] = next(iter(said))
        else:
            merged[key] = "; ".join(f"{text} [{_names(names)}]" for text, names in said.items())
    return merged | table.inferred


def _names(names: list[str]) -> str:
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
