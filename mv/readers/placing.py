"""Readings placed on the inner clock: UTC seconds of each interval's start."""

import numpy as np
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.readers.parsed import Parsed
from mv.readers.stamp_record import DAY_SECONDS, NO_OFFSET
from mv.readers.wall_clock import (
    Wall,
    fixed_offset,
    to_utc,
)  # fmt: skip
from mv.readers.wanted import Wanted


def _month_lengths(wall: Wall, step: int) -> NDArray[np.int64]:
    """Seconds from each first of a month to the next; `step` from any other day."""
    months = wall.astype("datetime64[s]").astype("datetime64[M]")
    following = (months + np.timedelta64(1, "M")).astype("datetime64[s]").astype(np.int64)
    first = months.astype("datetime64[s]").astype(np.int64)
    return np.where(first == wall, following - wall, step)


def whole_days(file: Parsed, wall: Wall, clock: str, wanted: Wanted) -> tuple[Wall, NDArray[np.int64]]:
    """Starts and lengths of readings of days and more, by the calendar: a day in spring has 23 hours,
    and a month lasts until the next one begins."""
    step = file.interval_seconds or DAY_SECONDS
    lengths = file.seconds if file.seconds is not None else np.full(len(wall), step, np.int64)
    if file.seconds is None and file.end_stamps is None and step >= 27 * DAY_SECONDS and len(wall) > 1:
        order = np.argsort(wall, kind="stable")
        gaps = np.diff(wall[order])
        lengths = lengths.copy()
        lengths[order] = np.append(gaps, step) if file.side != "end" else np.insert(gaps, 0, step)
        if bool((file.stamps.second == 0).all()) and file.side != "end":
            lengths = np.where(lengths == step, _month_lengths(wall, step), lengths)
        lengths = np.where((lengths > 27 * DAY_SECONDS) & (lengths < 32 * DAY_SECONDS), lengths, step)
    begin = wall - lengths if file.side == "end" else wall
    offset, fixed = file.stamps.offset, fixed_offset(clock)
    if offset is not None and bool((offset != NO_OFFSET).all()):
        return begin - offset, lengths
    if fixed is not None:
        return begin - fixed, lengths
    zone = wanted.site_timezone if clock == "site" else clock
    start = to_utc(begin, zone)[0]
    return start, to_utc(begin + lengths, zone)[0] - start


def to_utc_starts(
    file: Parsed, wall: Wall, clock: str, wanted: Wanted, *, instants: bool
) -> tuple[Wall, NDArray[np.bool_], list[Remark]]:
    """UTC starts, the readings at times the clock skips, and what there is to remark."""
    none = np.zeros(len(wall), dtype=bool)
    back = 0 if instants or file.side != "end" else file.interval_seconds or 0
    lengths = file.seconds if file.seconds is not None and file.side == "end" else back
    offset = file.stamps.offset
    if offset is not None and (offset != NO_OFFSET).all():
        return wall - offset - lengths, none, []
    fixed = fixed_offset(clock)
    if file.ordinal is not None:
        step = file.interval_seconds or 0
        day = wall - wall % DAY_SECONDS
        if fixed is not None:
            return day - fixed + file.ordinal * step, none, []
        return _counted(day, file.ordinal, step, wanted.site_timezone if clock == "site" else clock)
    if fixed is not None:
        return wall - fixed - lengths, none, []
    zone = wanted.site_timezone if clock == "site" else clock
    if len(wall) == 0:
        return wall, none, []
    utc, impossible, unpaired = to_utc(wall, zone)
    start = utc - lengths
    if back and (impossible.any() or unpaired):
        other, odd, single = to_utc(wall - back, zone)
        if int(odd.sum()) + single < int(impossible.sum()) + unpaired:
            start, impossible, unpaired = other, odd, single
    return start, impossible, _doubled_hour_notes(file, impossible, unpaired, zone, wanted)


def _counted(
    day: Wall, ordinal: NDArray[np.int32], step: int, zone: str
) -> tuple[Wall, NDArray[np.bool_], list[Remark]]:
    """The nth interval of a local day. A day of 23 or 25 hours has fewer or more of them, unless its
    row is filled by the clock: as many cells as on any day, with the skipped hour empty or zero."""
    if len(day) == 0:
        return day, np.zeros(0, bool), []
    days, where = np.unique(day, return_inverse=True)
    midnights = to_utc(np.append(days, days + DAY_SECONDS), zone)[0]
    begins, lengths = midnights[: len(days)], midnights[len(days) :] - midnights[: len(days)]
    start = begins[where] + ordinal.astype(np.int64) * step
    impossible = np.zeros(len(day), dtype=bool)
    for number in np.flatnonzero(lengths != DAY_SECONDS):
        rows = np.flatnonzero(where == number)
        cells = lengths[number] // step
        by_count = int(ordinal[rows].max()) < cells and not (
            lengths[number] > DAY_SECONDS and int(ordinal[rows].max()) < DAY_SECONDS // step
        )
        if not by_count:
            start[rows], impossible[rows], _ = to_utc(day[rows] + ordinal[rows].astype(np.int64) * step, zone)
    return start, impossible, []


def _doubled_hour_notes(
    file: Parsed, impossible: NDArray[np.bool_], unpaired: int, zone: str, wanted: Wanted
) -> list[Remark]:
    notes = []
    if impossible.any():
        notes.append(
            Remark(
                "skipped-hour",
                f"{int(impossible.sum())} readings stand at times that the clock of {zone} skips",
                file=file.name,
                lines=f"from line {int(file.lines[np.argmax(impossible)])}",
                remedy=f'If the clock does not change in spring, set clock in {wanted.table}, e.g. "UTC".',
            )
        )
    if unpaired and file.interval_seconds:
        notes.append(
            Remark(
                "doubled-hour-once",
                f"the hour that comes twice in autumn stands there once ({unpaired} readings); it is taken "
                "as the first pass and the second is missing",
                file=file.name,
            )
        )
    return notes
