"""Settled logs that measure no energy: one table of arrays with its account."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.base.ledger import FileAccount, Ledger, Remark
from mv.readers.clock_choice import find_clock
from mv.readers.day_order import settle_orders
from mv.readers.interval_ends import find_sides
from mv.readers.intervals import find_interval
from mv.readers.parsed import SKIPPED_HOUR, Parsed
from mv.readers.placing import to_utc_starts
from mv.readers.settle import drop_missing, wall_of
from mv.readers.wanted import Wanted
from mv.readers.zone_names import settle_zone_names


@dataclass
class Log:
    """Rows in time order; `file` indexes `names`."""

    names: list[str]
    start: NDArray[np.int64]
    value: NDArray[np.float64]
    line: NDArray[np.int32]
    file: NDArray[np.int16]
    unit: str | None
    interval_seconds_regular: int | None
    aside: dict[tuple[int, str], NDArray[np.int32]] = field(default_factory=dict)
    inferred: dict[str, str] = field(default_factory=dict)
    remarks: list[Remark] = field(default_factory=list)
    read: list[int] = field(default_factory=list)

    def set_aside(self, why: str, rows: NDArray[np.bool_]) -> None:
        """Take the marked rows out, keeping their lines."""
        if not rows.any():
            return
        for number in np.unique(self.file[rows]):
            lines = self.line[rows & (self.file == number)]
            key = (int(number), why)
            before = self.aside.get(key)
            self.aside[key] = lines if before is None else np.concatenate([before, lines])
        keep = ~rows
        self.start, self.value = self.start[keep], self.value[keep]
        self.line, self.file = self.line[keep], self.file[keep]

    def drop_repeats(self, *, keep_conflicts: bool = False) -> None:
        """Of rows of one moment keep the first if equal; conflicting ones are dropped unless kept."""
        same = np.zeros(len(self.start), bool)
        same[1:] = self.start[1:] == self.start[:-1]
        if not same.any():
            return
        equal = np.zeros(len(self.start), bool)
        equal[1:] = self.value[1:] == self.value[:-1]
        self.set_aside("exact duplicate", same & equal)
        if keep_conflicts:
            return
        same = np.zeros(len(self.start), bool)
        same[1:] = self.start[1:] == self.start[:-1]
        same[:-1] |= same[1:]
        self.set_aside("conflicting duplicate", same)

    def on_grid(self, step: int) -> bool:
        """True where all rows stand whole steps from the first."""
        return bool(((self.start - self.start[0]) % step == 0).all())

    def ledger(self, name: str, remarks: tuple[Remark, ...]) -> Ledger:
        """The account; a log measures no energy."""
        accounts = []
        total: dict[str, int] = {}
        lines: dict[str, dict[str, str]] = {}
        for number, file in enumerate(self.names):
            own = {why: len(found) for (n, why), found in self.aside.items() if n == number}
            for why, count in own.items():
                total[why] = total.get(why, 0) + count
                lines.setdefault(why, {})[file] = _ranges(self.aside[(number, why)])
            used = self.read[number] - sum(own.values())
            accounts.append(FileAccount(file, self.read[number], used, own))
        return Ledger(
            meter=name,
            rows_read=sum(self.read),
            rows_used=sum(account.rows_used for account in accounts),
            set_aside=total,
            estimated_rows=0,
            energy_read_kwh=None,
            energy_used_kwh=None,
            coverage_baseline=None,
            coverage_reporting=None,
            inferred=self.inferred,
            remarks=remarks,
            files=tuple(accounts),
            set_aside_lines=lines,
        )


def _ranges(lines: NDArray[np.int32], *, limit: int = 8) -> str:
    ordered = np.unique(lines)
    cuts = np.flatnonzero(np.diff(ordered) > 1)
    firsts = ordered[np.concatenate([[0], cuts + 1]).astype(int)]
    lasts = ordered[np.concatenate([cuts, [len(ordered) - 1]]).astype(int)]
    spans = [f"{a}" if a == b else f"{a}-{b}" for a, b in zip(firsts, lasts, strict=True)]
    return ", ".join(spans[:limit]) + (f" and {len(spans) - limit} more spans" if len(spans) > limit else "")


def settle_logs(files: Sequence[Parsed], wanted: Wanted) -> Log:
    """Day order, interval end and clock settled as for meters; all files in one time order."""
    settle_orders(files, wanted)
    settle_zone_names(files, wanted)
    groups: dict[tuple[str, ...], list[Parsed]] = {}
    for file in files:
        groups.setdefault(file.signature, []).append(file)
    log = Log(
        [], np.zeros(0, np.int64), np.zeros(0), np.zeros(0, np.int32), np.zeros(0, np.int16), None, None
    )
    parts = []
    intervals: set[int | None] = set()
    for group in groups.values():
        walls = [wall_of(file) for file in group]
        for file, wall in zip(group, walls, strict=True):
            find_interval(file, wall, wanted)
        find_sides(group, walls, wanted)
        walls = [drop_missing(file, wall) for file, wall in zip(group, walls, strict=True)]
        clock = find_clock(group, walls, wanted)
        for file, wall in zip(group, walls, strict=True):
            parts.append(_take(log, file, wall, clock, wanted))
            intervals.add(file.interval_seconds)
    _join(log, parts)
    if len(log.start) == 0:
        raise ReadingError(
            "no row could be read",
            file=log.names[0],
            value="; ".join(sorted({why for _, why in log.aside})) or None,
            remedy=f"Check time_column and value_column in {wanted.table}.",
        )
    known = sorted(step for step in intervals if step)
    log.interval_seconds_regular = known[0] if known and None not in intervals else None
    return log


_Part = tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.int32], NDArray[np.int16]]


def _take(log: Log, file: Parsed, wall: NDArray[np.int64], clock: tuple[str, str], wanted: Wanted) -> _Part:
    number = len(log.names)
    log.names.append(file.name)
    log.read.append(len(wall) + sum(len(lines) for lines in file.unreadable.values()))
    instants = wanted.purpose == "motion"
    start, impossible, notes = to_utc_starts(file, wall, clock[0], wanted, instants=instants)
    log.remarks += [*file.remarks, *notes]
    if impossible.any():
        file.unreadable[SKIPPED_HOUR] = file.lines[impossible]
    for why, lines in file.unreadable.items():
        log.aside[(number, why)] = lines
    keep = ~impossible
    log.inferred |= file.inferred
    log.inferred["clock"] = f"{clock[0]}: {clock[1]}"
    if file.side and not instants:
        log.inferred["stamp"] = f"{file.side}: {file.side_why}"
    if file.unit:
        log.unit = file.unit.name
        if file.unit.factor != 1.0:
            file.values = file.values * file.unit.factor
    count = int(keep.sum())
    return start[keep], file.values[keep], file.lines[keep], np.full(count, number, np.int16)


def _join(log: Log, parts: list[_Part]) -> None:
    start = np.concatenate([part[0] for part in parts])
    order = np.argsort(start, kind="stable")
    log.start = start[order]
    log.value = np.concatenate([part[1] for part in parts])[order]
    log.line = np.concatenate([part[2] for part in parts])[order]
    log.file = np.concatenate([part[3] for part in parts])[order]
