"""The questions a file leaves open, settled from all files of one layout together.

Day order, whether stamps mark an interval's start or end, the clock they follow and the quantity:
the study's word counts, else evidence in the files, else a refusal that names the key to set.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mv.base.raw import Quantity, RawFile
from mv.readers.clock_choice import find_clock
from mv.readers.day_order import settle_orders
from mv.readers.interval_ends import find_sides
from mv.readers.interval_spans import by_interval, choose_lengths, find_spans
from mv.readers.intervals import find_interval
from mv.readers.parsed import NO_VALUE, NOT_NUMBER, SKIPPED_HOUR, Parsed
from mv.readers.placing import to_utc_starts, whole_days
from mv.readers.quantities import find_quantity
from mv.readers.stamp_record import DAY_SECONDS, NO_OFFSET
from mv.readers.unit_names import Unit
from mv.readers.wall_clock import (
    Wall,
)  # fmt: skip
from mv.readers.wanted import Wanted
from mv.readers.zone_names import settle_zone_names

LARGEST_NUMBER = 1e100  # no meter reads more; sums of more would overflow


def settle(files: Sequence[Parsed], wanted: Wanted) -> list[RawFile]:
    """Settle every file; those with the same headings lend one another their evidence."""
    settle_orders(files, wanted)
    settle_zone_names(files, wanted)
    groups: dict[tuple[str, ...], list[Parsed]] = {}
    for file in files:
        groups.setdefault(file.signature, []).append(file)
    settled = []
    for group in groups.values():
        walls = [wall_of(file) for file in group]
        for file, wall in zip(group, walls, strict=True):
            stated = file.interval_seconds is not None
            find_interval(file, wall, wanted)
            if not stated:
                find_spans(file, wall, wanted)
        find_sides(group, walls, wanted)
        walls = [drop_missing(file, wall) for file, wall in zip(group, walls, strict=True)]
        clock = find_clock(group, walls, wanted)
        for file, wall in zip(group, walls, strict=True):
            settled += _spans(file, wall, clock, wanted)
    return settled


def is_instant(quantity: Quantity, unit: Unit) -> bool:
    """Read at a moment, so that its stamps begin or end nothing."""
    return quantity == "register" or (quantity == "on-off" and unit.inside == "state")


def _spans(file: Parsed, wall: Wall, clock: tuple[str, str], wanted: Wanted) -> list[RawFile]:
    """The file's record, or one for each span of another interval."""
    if file.lengths_if_start is None:
        return [_raw(file, wall, clock, wanted)]
    if is_instant(*find_quantity(replace(file, remarks=[], inferred={}), wall, wanted)):
        file.remarks = [remark for remark in file.remarks if remark.code != "interval-changes"]
        return [_raw(file, wall, clock, wanted)]
    choose_lengths(file)
    return by_interval(_raw(file, wall, clock, wanted))


def wall_of(file: Parsed) -> Wall:
    """Wall-clock seconds since 1970 of the readings; a day's midnight under its own date is mended."""
    wall = file.stamps.day.astype(np.int64)
    wall *= DAY_SECONDS
    wall += file.stamps.second
    if file.ordinal is None and len(wall) > 3:
        _mend_midnights(file, wall)
    return wall


def _mend_midnights(file: Parsed, wall: Wall) -> None:
    """Some exports end each day with 00:00 under the same date; it is the next day's beginning."""
    second = file.stamps.second
    zeros = np.flatnonzero(second == 0)
    if len(zeros) == 0:
        return
    ascending = bool(wall[-1] >= wall[0])
    before = zeros - 1 if ascending else zeros + 1
    inside = (before >= 0) & (before < len(wall))
    rows, before = zeros[inside], before[inside]
    drop = wall[before] - wall[rows]
    late = (drop > 0) & (drop < DAY_SECONDS) & (file.stamps.day[before] == file.stamps.day[rows])
    step = DAY_SECONDS - drop
    late &= step <= 2 * 3600
    if late.sum() >= max(0.9 * len(zeros), 1):
        wall[rows[late]] += DAY_SECONDS
        file.side, file.side_why = "end", "each day runs from its first interval's end to 00:00"
        file.inferred["midnight"] = (
            f"{int(late.sum())} stamps 00:00 follow 23:xx of the same date: taken as the end of that day"
        )


def drop_missing(file: Parsed, wall: Wall) -> Wall:
    """Set aside the readings without a value, whose stamps have told the interval by now."""
    plain = np.abs(file.values) < LARGEST_NUMBER  # false for what is missing, too
    if plain.all():
        return wall
    missing = np.isnan(file.values)
    file.set_aside(NOT_NUMBER, ~plain & ~missing)
    file.set_aside(NO_VALUE, np.isnan(file.values))
    return wall[plain]


def _raw(file: Parsed, wall: Wall, clock: tuple[str, str], wanted: Wanted) -> RawFile:
    """The finished record: quantity, unit and UTC."""
    quantity, unit = find_quantity(file, wall, wanted)
    instants = is_instant(quantity, unit)
    if instants:
        file.remarks = [remark for remark in file.remarks if remark.code != "stamp-unproven"]
    start, impossible, notes = to_utc_starts(file, wall, clock[0], wanted, instants=instants)
    inferred = dict(file.inferred)
    inferred |= {"quantity": quantity[0:], "clock": f"{clock[0]}: {clock[1]}"}
    inferred["quantity"] = f"{quantity}, {unit.name}" + (f": {file.unit_why}" if file.unit_why else "")
    if not instants and file.side:
        inferred["stamp"] = f"{file.side} of the interval: {file.side_why}"
    if file.interval_seconds:
        inferred["interval"] = f"{file.interval_seconds / 60:g} min" + (
            f": {file.interval_why}" if file.interval_why else ""
        )
    if file.stamps.shapes:
        inferred.setdefault("time format", "; ".join(file.stamps.shapes[:4]))
    if (file.interval_seconds or 0) >= DAY_SECONDS and not instants and file.ordinal is None and len(wall):
        start, file.seconds = whole_days(file, wall, clock[0], wanted)
        inferred["interval"] = "whole days, months or billing periods by the calendar"
    values = file.values if unit.factor == 1.0 else file.values * unit.factor
    if file.factor is not None:
        values = values * file.factor
    arrays: tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.int32]] = (start, values, file.lines)
    seconds, estimated = file.seconds, file.estimated
    if impossible.any():
        file.unreadable[SKIPPED_HOUR] = file.lines[impossible]
        keep = ~impossible
        arrays = (start[keep], values[keep], file.lines[keep])
        seconds = None if seconds is None else seconds[keep]
        estimated = None if estimated is None else estimated[keep]
    return RawFile(
        name=file.name,
        quantity=quantity,
        unit=unit.inside,
        interval_seconds=file.interval_seconds,
        start=arrays[0],
        value=arrays[1],
        line=arrays[2],
        seconds=seconds,
        estimated=estimated,
        unreadable=file.unreadable,
        inferred=inferred,
        remarks=(*file.remarks, *notes),
        stated_offsets=_stated_offsets(file, start),
    )


def _stated_offsets(file: Parsed, start: Wall) -> tuple[int, int] | None:
    """The offsets of the earliest and the latest stamp; None where not every stamp states one."""
    offset = file.stamps.offset
    if offset is None or len(start) == 0 or (offset == NO_OFFSET).any():
        return None
    return int(offset[start.argmin()]), int(offset[start.argmax()])
