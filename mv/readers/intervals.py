"""The step between readings: stated, written as start and end, or the one most readings keep."""

import numpy as np
from numpy.typing import NDArray

from mv.readers.parsed import Parsed
from mv.readers.stamp_record import DAY_SECONDS
from mv.readers.wall_clock import (
    Wall,
)  # fmt: skip
from mv.readers.wanted import Wanted

NEARLY_ALL = 0.8  # share that shows a custom of the file; common practice, no source


WAVERING_SHARE = 0.05  # of the steps: fewer odd ones are gaps and slips; no source


REGULAR_SHARE = 0.5  # share of steps of one length that makes a regular log; common practice, no source


def find_interval(file: Parsed, wall: Wall, wanted: Wanted) -> None:
    """The step most readings have; None where there is no such step."""
    if wanted.interval_minutes:
        file.interval_seconds = round(wanted.interval_minutes * 60)
        return
    if file.interval_seconds is not None:
        return
    if file.end_stamps is not None and _lengths(file, wall):
        return
    steps = np.diff(ordered(wall))
    if not bool((steps > 0).all()):
        steps = steps[steps > 0]
    if len(steps) == 0:
        return
    middle = int(np.median(steps[:: max(len(steps) // 1001, 1)]))
    share = float((steps == middle).mean())
    if share < REGULAR_SHARE:
        sizes, counts = np.unique(steps, return_counts=True)
        middle, share = int(sizes[counts.argmax()]), float(counts.max() / len(steps))
    close = np.abs(steps - middle) <= max(0.05 * middle, 1)
    near = float(close.mean())
    if near >= REGULAR_SHARE and near - share > WAVERING_SHARE:
        file.interval_seconds = _even_step(float(steps[close].mean()))
        file.interval_why = "the mean of steps that waver"
    elif share >= REGULAR_SHARE:
        file.interval_seconds = middle
        if share < 1:
            file.interval_why = f"{share:.1%} of the steps"


EVEN_STEPS = (1, 2, 5, 10, 15, 20, 30, 60, 120, 180, 300, 360, 600, 900, 1200, 1800, 3600, 7200, 86_400)


def _even_step(seconds: float) -> int:
    """The usual interval a wavering step stands for, where one is within two per cent."""
    nearest = min(EVEN_STEPS, key=lambda step: abs(step - seconds))
    return nearest if abs(nearest - seconds) <= 0.02 * nearest else round(seconds)


def ordered(wall: Wall) -> Wall:
    """The stamps in time order; cheap where they are nearly so."""
    if len(wall) < 2 or bool((wall[1:] >= wall[:-1]).all()):
        return wall
    return np.sort(wall, kind="stable")


def _lengths(file: Parsed, wall: Wall) -> bool:
    end = file.end_stamps
    assert end is not None
    lengths = end.day.astype(np.int64) * DAY_SECONDS + end.second - wall
    lengths = np.where(end.readable, lengths, 0)
    lengths = np.where(lengths < 0, lengths + DAY_SECONDS, lengths)  # an end clock without its own date
    good = lengths[(lengths > 0) & (lengths <= 366 * DAY_SECONDS)]
    if len(good) == 0:
        return False
    sizes, counts = np.unique(good, return_counts=True)
    usual = int(sizes[counts.argmax()])
    file.interval_why = "end less start"
    for short in (1, 60):  # ends written as the last second or minute of the interval
        if (usual + short) % 300 == 0 and usual % 300:
            lengths = np.where(lengths > 0, lengths + short, lengths)
            usual += short
            file.interval_why = (
                f"end less start, the end being the interval's last {'second' if short == 1 else 'minute'}"
            )
            break
    extra = _inclusive_days(wall, lengths, usual, file)
    usual, lengths = usual + extra, np.where(lengths > 0, lengths + extra, lengths)
    file.interval_seconds = usual
    odd = (lengths > 0) & (lengths != usual) & (np.abs(lengths - usual) != 3600)
    if odd.mean() > 0.01:
        file.seconds = np.where(lengths > 0, lengths, usual)
    return True


def _inclusive_days(wall: Wall, lengths: NDArray[np.int64], usual: int, file: Parsed) -> int:
    """Bills name their last day, which belongs to them: a day is added where the next begins a day on."""
    if usual < DAY_SECONDS or usual % DAY_SECONDS or len(wall) < 2:
        return 0
    order = np.argsort(wall, kind="stable")
    gap = wall[order][1:] - (wall[order][:-1] + lengths[order][:-1])
    if float((gap == DAY_SECONDS).mean()) < NEARLY_ALL:
        return 0
    file.interval_why = "start to the last day, which belongs to the period"
    return DAY_SECONDS
