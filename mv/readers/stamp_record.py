"""What a column of written stamps says: days, seconds of the day and offsets, row by row."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

DAY_SECONDS = 86_400
NO_OFFSET = np.int32(-(10**6))
EPOCH_SHAPE = "seconds since 1970 (UTC)"


@dataclass
class Stamps:
    """What a column says. Undecided day-month pairs keep their numbers until the order is known.

    `day` days since 1970 (0 where undecided), `second` of the day (86400 for 24:00), `offset`
    seconds east (NO_OFFSET: none written). `pair` holds (first, second, third) for rows whose
    order the shape does not say; third is a full year, or below 100 two digits of one.
    """

    readable: NDArray[np.bool_]
    day: NDArray[np.int32]
    second: NDArray[np.int32]
    offset: NDArray[np.int32] | None = None
    undecided: NDArray[np.bool_] | None = None
    pair: tuple[NDArray[np.int16], NDArray[np.int16], NDArray[np.int16]] | None = None
    has_date: bool = True
    has_clock: bool = True
    has_range: bool = False
    shapes: list[str] = field(default_factory=list)


def joined_stamps(parts: list[Stamps]) -> Stamps:
    """Several chunks of one column as one."""
    if len(parts) == 1:
        return parts[0]
    out = Stamps(
        np.concatenate([part.readable for part in parts]),
        np.concatenate([part.day for part in parts]),
        np.concatenate([part.second for part in parts]),
    )
    if any(part.offset is not None for part in parts):
        out.offset = np.concatenate(
            [p.offset if p.offset is not None else np.full(len(p.day), NO_OFFSET) for p in parts]
        )
    if any(part.pair is not None for part in parts):
        out.undecided = np.concatenate(
            [p.undecided if p.undecided is not None else np.zeros(len(p.day), bool) for p in parts]
        )
        empty = [np.zeros(len(p.day), np.int16) for p in parts]
        columns = [
            np.concatenate([p.pair[i] if p.pair else empty[n] for n, p in enumerate(parts)]) for i in range(3)
        ]
        out.pair = (columns[0], columns[1], columns[2])
    out.has_date = any(part.has_date for part in parts)
    out.has_clock = any(part.has_clock for part in parts)
    out.has_range = any(part.has_range for part in parts)
    out.shapes = list(dict.fromkeys(shape for part in parts for shape in part.shapes))
    return out
