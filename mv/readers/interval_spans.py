"""Files whose interval changes part-way: the spans of one interval each, and the file cut into them."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.base.raw import RawFile
from mv.readers.parsed import Parsed
from mv.readers.short_spans import short_runs
from mv.readers.stamp_record import DAY_SECONDS
from mv.readers.unit_names import unit_of
from mv.readers.wall_clock import Wall
from mv.readers.wanted import Wanted

FEWEST_STEPS = 12  # so many equal steps on end are a setting of the logger, not missing rows; no source
MOST_SPANS = 24  # a file that changes more often has no interval at all; no source
LEAST_KEPT = 0.7  # share of steps that keep their span's interval, the rest being gaps; no source
MOST_SHORTER = 0.02  # share of steps below their span's interval; no source
NO_SPAN = -1


def find_spans(file: Parsed, wall: Wall, wanted: Wanted) -> None:
    """Give each reading the interval of the span it stands in, where the file holds several.

    A span is a run of equal steps; steps that belong to none are gaps. Nothing is done where the
    study states the interval or the file states each reading's end.
    """
    if wanted.interval_minutes or file.seconds is not None or file.end_stamps is not None:
        return
    if file.ordinal is not None or len(wall) < 2 * FEWEST_STEPS:
        return
    order = np.argsort(wall, kind="stable")
    steps = np.diff(wall[order])
    odd = np.flatnonzero(steps != (file.interval_seconds or 0))
    if not bool(((np.diff(odd) == 1) & (steps[odd[1:]] == steps[odd[:-1]])).any()):
        return  # no two odd steps on end
    anchors = _anchored(steps)
    if not (anchors != NO_SPAN).any():
        return
    before, after = _filled(anchors), _filled(anchors[::-1])[::-1]
    found = short_runs(file.values[order], wall[order], before, energy=_is_energy(file, wanted))
    before, after = (np.where(found.steps, steps, own) for own in (before, after))
    if found.open:
        file.remarks.append(_open_runs(file, found.open, wanted))
    sizes = _runs(np.where(found.steps, steps, anchors)[found.steps | (anchors != NO_SPAN)])
    if not 2 <= len(sizes) <= MOST_SPANS or max(sizes) >= DAY_SECONDS:
        return
    if not _kept(steps, before, after):
        return
    file.lengths_if_start = _placed(order, np.append(before, before[-1]))
    file.lengths_if_end = _placed(order, np.insert(after, 0, after[0]))
    file.interval_seconds = int(np.bincount(before).argmax())
    file.interval_why = ", then ".join(f"{size / 60:g}" for size in sizes) + " min: the steps change part-way"
    file.remarks.append(
        Remark(
            "interval-changes",
            f"the interval changes part-way: {', then '.join(f'{size / 60:g}' for size in sizes)} min; each "
            "reading is taken to last as long as the steps about it",
            file=file.name,
            lines=f"from line {int(file.lines[order[int(np.argmax(before != before[0]))]])}",
            remedy=f"If rows are missing there instead, set interval_minutes in {wanted.table}.",
        )
    )


def _is_energy(file: Parsed, wanted: Wanted) -> bool:
    """True where a reading is the energy of its interval, so that its size tells its length."""
    if wanted.quantity is not None:
        return wanted.quantity in ("energy", "pulses")
    unit = unit_of(wanted.unit) if wanted.unit else file.unit
    return unit is not None and unit.measures in ("energy", "pulses")


def _open_runs(file: Parsed, count: int, wanted: Wanted) -> Remark:
    return Remark(
        "uneven-steps",
        f"{count} time(s) two or three readings on end stand further apart, or nearer, than the others, and "
        "nothing tells whether they are of another interval or rows are missing; missing rows are taken",
        file=file.name,
        remedy=f"If the logger was set to another interval there, give those rows a file of their own; "
        f"interval_minutes in {wanted.table} confirms the interval.",
    )


def _anchored(steps: NDArray[np.int64]) -> NDArray[np.int64]:
    """Each step of a long run of equal ones; NO_SPAN for every other."""
    cuts = np.flatnonzero(np.diff(steps)) + 1
    bounds = np.concatenate([[0], cuts, [len(steps)]])
    length = np.repeat(np.diff(bounds), np.diff(bounds))
    return np.where((length >= FEWEST_STEPS) & (steps > 0), steps, NO_SPAN)


def _runs(values: NDArray[np.int64]) -> list[int]:
    """The values without immediate repeats."""
    if not len(values):
        return []
    return [int(values[0]), *(int(v) for v in values[1:][np.diff(values) != 0])]


def _filled(anchors: NDArray[np.int64]) -> NDArray[np.int64]:
    """Steps outside any run take the interval of the run before them (the first run's at the front)."""
    known = anchors != NO_SPAN
    last = np.maximum.accumulate(np.where(known, np.arange(len(anchors)), -1))
    return anchors[np.where(last < 0, int(np.argmax(known)), last)]


def _kept(steps: NDArray[np.int64], before: NDArray[np.int64], after: NDArray[np.int64]) -> bool:
    shorter = (steps < before) & (steps < after)
    return float((steps == before).mean()) >= LEAST_KEPT and float(shorter.mean()) <= MOST_SHORTER


def _placed(order: NDArray[np.intp], values: NDArray[np.int64]) -> NDArray[np.int64]:
    placed = np.empty(len(values), np.int64)
    placed[order] = values
    return placed


def choose_lengths(file: Parsed) -> None:
    """Each reading's own length, now that it is known whether stamps are starts or ends."""
    lengths = file.lengths_if_end if file.side == "end" else file.lengths_if_start
    if lengths is not None:
        file.seconds = lengths


def by_interval(raw: RawFile) -> list[RawFile]:
    """The file cut where its interval changes, as if each span were a file of its own."""
    if raw.seconds is None or not len(raw.start):
        return [raw]
    order = np.argsort(raw.start, kind="stable")
    lengths = raw.seconds[order]
    parts = np.split(order, np.flatnonzero(np.diff(lengths)) + 1)
    spans = []
    for number, rows in enumerate(parts):
        rows = np.sort(rows)
        size = int(raw.seconds[rows[0]])
        spans.append(
            replace(
                raw,
                start=raw.start[rows],
                value=raw.value[rows],
                line=raw.line[rows],
                seconds=None,
                interval_seconds=size,
                estimated=None if raw.estimated is None else raw.estimated[rows],
                unreadable=raw.unreadable if number == 0 else {},
                remarks=raw.remarks if number == 0 else (),
            )
        )
    return spans
