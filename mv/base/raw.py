"""What a meter's files say before cleaning: readings on the inner clock, each with its line."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from mv.base.ledger import Remark

Quantity = Literal["energy", "power", "register", "current", "on-off", "pulses"]
Seconds = NDArray[np.int64]
Values = NDArray[np.float64]
Lines = NDArray[np.int32]


@dataclass(frozen=True)
class RawFile:
    """One file's readings of one meter, in file order, nothing mended.

    `start` is UTC seconds since 1970: the interval's start, or for a register, a state log or a
    log without a regular step the instant of the reading. `seconds` is each reading's own length
    where the file states it; else `interval_seconds` holds for all (None: no regular step).
    `value` is in the unit named: kWh, kW, A, pulses, state (0 or 1) or fraction (of the interval on).
    `stated_offsets` are those from UTC that the earliest and the latest stamp state, seconds east.
    `unreadable` keeps the lines of readings that could not be read, by reason.
    """

    name: str
    quantity: Quantity
    unit: str
    interval_seconds: int | None
    start: Seconds
    value: Values
    line: Lines
    seconds: Seconds | None = None
    estimated: NDArray[np.bool_] | None = None
    unreadable: Mapping[str, Lines] = field(default_factory=dict)
    inferred: Mapping[str, str] = field(default_factory=dict)
    remarks: tuple[Remark, ...] = ()
    stated_offsets: tuple[int, int] | None = None

    @property
    def rows_read(self) -> int:
        """Every reading met in the file, readable or not."""
        return len(self.start) + sum(len(lines) for lines in self.unreadable.values())


@dataclass(frozen=True)
class RawMeter:
    """All files of one meter (or log), in the order of their first reading."""

    meter: str
    files: tuple[RawFile, ...]
    remarks: tuple[Remark, ...] = ()
