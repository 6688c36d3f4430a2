"""All readings of one meter in one table of arrays, each used or set aside for a reason."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mv.base.ledger import Remark

USED = 0


@dataclass
class Readings:
    """Rows in time order: [start, start + seconds) took `kwh`. `reason` 0 is used, else an index
    into `reasons`. `file` indexes `names`; `estimated` is the utility's flag or ours."""

    names: list[str]
    start: NDArray[np.int64]
    seconds: NDArray[np.int64]
    kwh: NDArray[np.float64]
    line: NDArray[np.int32]
    file: NDArray[np.int16]
    estimated: NDArray[np.bool_]
    reason: NDArray[np.uint8]
    reasons: list[str] = field(default_factory=lambda: ["used"])
    inferred: dict[str, str] = field(default_factory=dict)
    remarks: list[Remark] = field(default_factory=list)
    spread: NDArray[np.bool_] | None = None

    @property
    def used(self) -> NDArray[np.bool_]:
        """The rows in use."""
        mask: NDArray[np.bool_] = self.reason == USED
        return mask

    def set_aside(self, why: str, rows: NDArray[np.bool_]) -> int:
        """Set the marked rows that are still in use aside; returns how many that were."""
        rows = rows & (self.reason == USED)
        count = int(rows.sum())
        if count:
            if why not in self.reasons:
                self.reasons.append(why)
            self.reason[rows] = self.reasons.index(why)
        return count

    def lines_text(self, rows: NDArray[np.bool_], *, limit: int = 8) -> str:
        """Where the marked rows stand, as "lines 12-15, 90" of the first file that has some."""
        return line_ranges(self.line[rows], limit=limit)


def power_of(table: Readings) -> NDArray[np.float64]:
    """Mean power of each reading, kW; 0 where a reading has no span."""
    if len(table.seconds) and (table.seconds == table.seconds[0]).all() and table.seconds[0] > 0:
        return table.kwh * (3600.0 / float(table.seconds[0]))
    seconds = np.where(table.seconds > 0, table.seconds, 1)
    return np.where(table.seconds > 0, table.kwh * (3600.0 / seconds), 0.0)


def line_ranges(lines: NDArray[np.int32], *, limit: int = 8) -> str:
    """Line numbers as compact ranges, at most `limit` of them."""
    ordered = lines if bool((lines[1:] > lines[:-1]).all()) else np.unique(lines)
    if len(ordered) == 0:
        return ""
    cuts = np.flatnonzero(np.diff(ordered) > 1)
    firsts = ordered[np.concatenate([[0], cuts + 1])]
    lasts = ordered[np.concatenate([cuts, [len(ordered) - 1]])]
    spans = [f"{a}" if a == b else f"{a}-{b}" for a, b in zip(firsts[:limit], lasts[:limit], strict=True)]
    more = len(firsts) - limit
    return ", ".join(spans) + (f" and {more} more spans" if more > 0 else "")
