"""A file between text and clock: everything read, but day order, interval end and clock still open."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.readers.stamp_record import Stamps
from mv.readers.unit_names import Unit

# Why a reading could not be read; the words the ledger prints.
NO_TIME = "no readable time"
NO_VALUE = "no value"
NOT_NUMBER = "not a number"
FOOTER = "a total or note, not a reading"
HEADING = "a heading again, not a reading"
OTHER_CHANNEL = "another register or circuit"
OTHER_UNIT = "another quantity"
FLAGGED = "flagged as no reading"
SKIPPED_HOUR = "a time the clock skips"


@dataclass
class Parsed:
    """One file's (or register's) readings in file order. Arrays are of equal length."""

    name: str
    signature: tuple[str, ...]
    stamps: Stamps
    values: NDArray[np.float64]
    lines: NDArray[np.int32]
    end_stamps: Stamps | None = None
    side: str | None = None  # start or end, where the layout says
    side_why: str = ""
    ordinal: NDArray[np.int32] | None = None  # nth interval of the local day, where the layout counts
    seconds: NDArray[np.int64] | None = None  # each reading's own length
    lengths_if_start: NDArray[np.int64] | None = None  # where the interval changes part-way
    lengths_if_end: NDArray[np.int64] | None = None
    estimated: NDArray[np.bool_] | None = None
    factor: NDArray[np.float64] | None = None  # each reading's own, where a unit column mixes units
    unreadable: dict[str, NDArray[np.int32]] = field(default_factory=dict)
    unit: Unit | None = None
    unit_why: str = ""
    register_words: bool = False
    highest_words: bool = False  # the heading names the highest value of each interval, not its mean
    state_words: bool = False  # heading or cells say that 1 and 0 are on and off
    on_time_words: bool = False  # the heading says that a share is the share of time on
    clock: str | None = None  # where the format itself fixes it
    clock_why: str = ""
    clock_words: str = ""
    interval_seconds: int | None = None
    interval_why: str = ""
    inferred: dict[str, str] = field(default_factory=dict)
    remarks: list[Remark] = field(default_factory=list)

    def set_aside(self, reason: str, drop: NDArray[np.bool_]) -> None:
        """Move the marked readings to the unreadable ones under a reason."""
        if not drop.any():
            return
        lines = self.lines[drop]
        before = self.unreadable.get(reason)
        self.unreadable[reason] = lines if before is None else np.concatenate([before, lines])
        self.keep(~drop)

    def keep(self, rows: NDArray[np.bool_]) -> None:
        """Keep only the marked readings in every array."""
        self.stamps = _kept(self.stamps, rows)
        if self.end_stamps is not None:
            self.end_stamps = _kept(self.end_stamps, rows)
        self.values, self.lines = self.values[rows], self.lines[rows]
        for name in ("ordinal", "seconds", "lengths_if_start", "lengths_if_end", "estimated", "factor"):
            array = getattr(self, name)
            if array is not None:
                setattr(self, name, array[rows])


def _kept(stamps: Stamps, rows: NDArray[np.bool_]) -> Stamps:
    return Stamps(
        stamps.readable[rows],
        stamps.day[rows],
        stamps.second[rows],
        None if stamps.offset is None else stamps.offset[rows],
        None if stamps.undecided is None else stamps.undecided[rows],
        None if stamps.pair is None else (stamps.pair[0][rows], stamps.pair[1][rows], stamps.pair[2][rows]),
        stamps.has_date,
        stamps.has_clock,
        stamps.has_range,
        stamps.shapes,
    )
