"""Readings of the same moment: exact copies, conflicts, and overlaps of a coarse with a fine file."""

import numpy as np

from mv.base.errors import ReadingError
from mv.base.ledger import Remark
from mv.cleaning.readings import Readings

ROUNDING = 0.005  # two readings this close (relative) are one, rounded differently; no source


FEWEST_CONFLICTS = 8  # fewer may be slips of the file; no source
NEARLY_ALL = 0.9  # share of readings in conflict that no fault of a meter makes; no source
FAR_SECONDS = 2 * 366 * 86_400  # a silence this long parts a meter's readings from stray ones; no source
FEW_SHARE = 0.01  # stray stamps are few; no source


def set_aside_strays(table: Readings) -> None:
    """A few readings years away from all others carry a wrong date, as of a logger not yet set."""
    start = table.start
    if len(start) < 20 or int(start[-1]) - int(start[0]) < FAR_SECONDS:
        return
    breaks = np.flatnonzero(np.diff(start) > FAR_SECONDS) + 1
    if len(breaks) == 0:
        return
    parts = np.split(np.arange(len(start)), breaks)
    mask = np.zeros(len(start), bool)
    for part in parts:
        if len(part) <= max(FEW_SHARE * len(start), 2) and len(part) < max(map(len, parts)):
            mask[part] = True
    count = table.set_aside("a date years from the others", mask)
    if count:
        table.remarks.append(
            Remark(
                "stray-dates",
                f"{count} readings lie over two years from all others",
                lines=table.lines_text(mask),
                remedy="Check the logger's clock; if the dates are right, give these readings their own "
                "file.",
            )
        )


def set_aside_repeats(table: Readings) -> None:
    """Keep one of equal readings; of an actual and an estimated one the actual; of others none."""
    start = table.start
    if len(start) < 2:
        return
    same = (start[1:] == start[:-1]) & (table.seconds[1:] > 0) & (table.seconds[1:] == table.seconds[:-1])
    if same.any():
        _settle_repeats(table, np.flatnonzero(same))
    if len(table.names) > 1 or bool((start[1:] - start[:-1] < table.seconds[:-1]).any()):
        _set_aside_overlaps(table)


def _settle_repeats(table: Readings, pairs: "np.ndarray[tuple[int], np.dtype[np.intp]]") -> None:
    exact = np.zeros(len(table.start), bool)
    other_file = np.zeros(len(table.start), bool)
    conflict = np.zeros(len(table.start), bool)
    estimated = np.zeros(len(table.start), bool)
    rows = np.unique(np.concatenate([pairs, pairs + 1]))
    rows = rows[table.used[rows]]
    groups = np.split(rows, np.flatnonzero(np.diff(table.start[rows]) | np.diff(table.seconds[rows])) + 1)
    for group in groups:
        if len(group) < 2:
            continue
        keep = group
        actual = group[~table.estimated[group]]
        if 0 < len(actual) < len(group):
            estimated[group[table.estimated[group]]] = True
            keep = actual
        values = table.kwh[keep]
        low, high = float(values.min()), float(values.max())
        if high - low <= ROUNDING * max(abs(low), abs(high)):
            spare = keep[1:]
            exact[spare] = True
            other_file[spare] = table.file[spare] != table.file[keep[0]]
        else:
            conflict[keep] = True
    table.set_aside("in another file too", exact & other_file)
    table.set_aside("exact duplicate", exact)
    table.set_aside("estimate replaced by an actual reading", estimated)
    count = table.set_aside("conflicting duplicate", conflict)
    if count >= max(FEWEST_CONFLICTS, NEARLY_ALL * len(table.start)):
        raise ReadingError(
            "nearly every moment comes more than once with different values: several meters or registers in "
            "one, or a column of the time that was not understood",
            file=", ".join(table.names[:3]),
            place=f"lines {table.lines_text(conflict, limit=3)}",
            remedy="Name one of them (channel or value_column), give each meter its own files, or name the "
            "columns of the time (time_column).",
        )
    if count:
        table.remarks.append(
            Remark(
                "conflicting-duplicates",
                f"{count} readings share their moment with another of a different value; none of them is "
                "used",
                lines=table.lines_text(conflict),
                remedy="Find out which file or register is right, and leave the other out (files or "
                "channel).",
            )
        )


def _set_aside_overlaps(table: Readings) -> None:
    """A longer reading over a span that shorter readings cover as well is left out."""
    rows = np.flatnonzero(table.used & (table.seconds > 0))
    if len(rows) < 2:
        return
    start, seconds = table.start[rows], table.seconds[rows]
    sizes = np.unique(seconds)
    if len(sizes) > 1 and len(sizes) <= 64:
        drop = np.zeros(len(rows), bool)
        for size in sizes[1:][::-1]:
            coarse = np.flatnonzero((seconds == size) & ~drop)
            fine = start[(seconds < size)]
            first = np.searchsorted(fine, start[coarse], side="left")
            after = np.searchsorted(fine, start[coarse] + size, side="left")
            drop[coarse[after > first]] = True
        _mark(table, rows[drop])
        rows = rows[~drop]
        start, seconds = table.start[rows], table.seconds[rows]
    ends = np.maximum.accumulate(start + seconds)
    inside = np.zeros(len(rows), bool)
    inside[1:] = start[1:] < ends[:-1]
    if inside.any():
        _mark(table, rows[inside])


def _mark(table: Readings, rows: "np.ndarray[tuple[int], np.dtype[np.intp]]") -> None:
    mask = np.zeros(len(table.start), bool)
    mask[rows] = True
    count = table.set_aside("overlaps another reading", mask)
    if count:
        table.remarks.append(
            Remark(
                "overlap",
                f"{count} readings cover time that other, finer or earlier, readings cover too",
                lines=table.lines_text(mask),
                remedy="If two of the files are different meters, give each its own [[meter]].",
            )
        )
