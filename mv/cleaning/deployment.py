"""Test switching in the first and last hour of a log, when it was put up and taken down."""

import numpy as np
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.cleaning.readings import Readings, power_of

TEST_SECONDS = 3600  # a test of the logger takes place within the hour; common practice, no source
FEWEST_SWITCHINGS = 4  # on, off, on, off; no source
TEST_SWITCHING = "test switching at deployment"


def set_aside_tests(table: Readings, intervals: dict[int, int | None]) -> None:
    """Set aside bursts of switching at the very beginning and end of a file's readings, where the
    file nowhere else switches as often within an hour. Only fine logs can show them."""
    power = power_of(table)
    for number, step in intervals.items():
        if step is not None and step > 300:
            continue
        rows = np.flatnonzero((table.file == number) & table.used & (table.seconds > 0))
        if len(rows) < 50:
            continue
        level = (float(power[rows].max()) + float(power[rows].min())) / 2
        switched = np.flatnonzero(np.diff((power[rows] > level).astype(np.int8)) != 0) + 1
        if len(switched) < FEWEST_SWITCHINGS:
            continue
        _set_aside_burst(table, rows, switched)


def _set_aside_burst(table: Readings, rows: NDArray[np.intp], switched: NDArray[np.intp]) -> None:
    moments = table.start[rows[switched]]
    begin, end = int(table.start[rows[0]]), int(table.start[rows[-1]])
    busiest = np.searchsorted(moments, moments + TEST_SECONDS) - np.arange(len(moments))
    early, late = moments < begin + TEST_SECONDS, moments > end - TEST_SECONDS
    rest = busiest[~early & ~late]
    usual = int(rest.max()) if len(rest) else 0
    for side, last in ((early, False), (late, True)):
        count = int(side.sum())
        if count < FEWEST_SWITCHINGS or count <= usual:
            continue
        mask = np.zeros(len(table.start), bool)
        edge = int(switched[side][0] if last else switched[side][-1])
        mask[rows[edge:] if last else rows[:edge]] = True
        table.set_aside(TEST_SWITCHING, mask)
        table.remarks.append(
            Remark(
                "test-switching",
                f"{count} switchings in the {'last' if last else 'first'} hour, more than in any other: "
                "taken as a test "
                f"of the logger",
                file=table.names[int(table.file[rows[0]])],
                lines=table.lines_text(mask),
            )
        )
