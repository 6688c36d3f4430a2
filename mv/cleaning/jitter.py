"""Stamps that waver about a regular grid, or creep along it."""

import numpy as np
from numpy.typing import NDArray

from mv.base.raw import RawFile

WAVER_SHARE = 0.10  # of the interval: stamps this near a grid are meant to stand on it; no source
WAVER_SECONDS = 180  # a stamp further off is not meant for the grid; no source
NEARLY_ALL = 0.99
CREEP_SHARE = 0.20  # steps this near the interval follow one another; no source


def even_stamps(
    file: RawFile, seconds: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], str]:
    """Energy readings a few seconds off a regular grid are moved onto it; those of a log that creeps
    last until the next reading. Without this neighbours would seem to overlap or leave gaps.

    Returns starts, lengths and what was done ("" for nothing). Power is sampled and is left as it is.
    """
    step = file.interval_seconds
    start = file.start
    if (
        step is None
        or step >= 86_400
        or file.seconds is not None
        or file.quantity == "power"
        or len(start) < 3
    ):
        return start, seconds, ""
    phase = (start - start[0]) % step
    if not phase.any():
        return start, seconds, ""
    off = _off_grid(start, step)
    near = np.abs(off) <= min(WAVER_SHARE * step, WAVER_SECONDS)
    if near.mean() >= NEARLY_ALL:
        moved = np.where(near, start - off, start)
        if len(np.unique(moved)) == len(np.unique(start)):
            return moved, seconds, f"up to {int(np.abs(off[near]).max())} s off the grid, moved onto it"
        return start, seconds, ""
    return (
        start,
        _until_next(start, seconds, step),
        "they creep along the grid; each reading lasts until the next",
    )


def _off_grid(start: NDArray[np.int64], step: int) -> NDArray[np.int64]:
    """Seconds each stamp stands after (or before) the nearest point of the grid most stand on."""
    angle = 2 * np.pi * (start % step) / step
    middle = np.arctan2(np.sin(angle).mean(), np.cos(angle).mean()) / (2 * np.pi) * step
    phase = round(float(middle) / 60.0) * 60 if step % 60 == 0 and step >= 120 else round(float(middle))
    if abs(float(middle) - phase) > WAVER_SHARE * step:
        phase = round(float(middle))
    return (start - phase + step // 2) % step - step // 2


def _until_next(start: NDArray[np.int64], seconds: NDArray[np.int64], step: int) -> NDArray[np.int64]:
    order = np.argsort(start, kind="stable")
    gaps = np.diff(start[order], append=start[order[-1:]] + step)
    follows = np.abs(gaps - step) <= CREEP_SHARE * step
    lengths = seconds.copy()
    lengths[order] = np.where(follows, gaps, seconds[order])
    return lengths
