"""Values that stand still: zeros where the meter never reads zero, and a frozen last reading.

Lighting on schedule is flat, and bills of equal months are ordinary: a stand-still is set aside only
with evidence that the meter's readings otherwise never stand still, and else only remarked.
"""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.cleaning.lumps import ZERO_AS_MISSING
from mv.cleaning.readings import Readings

LONG_RUN_SECONDS = 24 * 3600  # a still stand shorter than a day is an ordinary night; no source
FEW_ZEROS = 0.001  # share of zeros outside long runs of a meter that never reads zero; no source
FLOOR_SHARE = 0.02  # such a meter's floor stands this far above zero, of its usual level; no source
RESTLESS_SHARE = 0.05  # share of equal neighbours of a meter fine enough that none stands still; no source
FEWEST_EQUAL = 20  # equal readings on end that chance does not make of such a meter; no source
ABOVE_FLOOR = (
    1.5  # a frozen value stands this far above the least the meter reads; standby may be flat; no source
)
SPELL_SECONDS = (
    14 * 24 * 3600
)  # a lighting meter that reads 0, or one value, for longer is remarked; no source
DAY_SECONDS = 24 * 3600


def set_aside_stuck(table: Readings) -> None:
    """Set aside what stands still and cannot: lighting on schedule is flat, so resolution decides.

    Zeros count as missing only where the meter otherwise never reads zero. A repeated value counts
    as frozen only where the meter's readings otherwise hardly ever repeat. Readings of a day and
    more may well be equal, and are left alone.
    """
    rows = np.flatnonzero(table.used & (table.seconds > 0) & (table.seconds < DAY_SECONDS))
    if len(rows) < 96:
        return
    kwh = table.kwh[rows]
    if not _may_stand(kwh, table.seconds[rows], LONG_RUN_SECONDS):
        return
    equal = kwh[1:] == kwh[:-1]
    first, after = _runs(equal)
    lasting = table.start[rows[after - 1]] + table.seconds[rows[after - 1]] - table.start[rows[first]]
    long = lasting >= LONG_RUN_SECONDS
    if not long.any():
        return
    first, after = first[long], after[long]
    inside = np.zeros(len(rows), bool)
    for a, b in zip(first, after, strict=True):
        inside[a:b] = True
    _zeros(table, rows, kwh, inside)
    _frozen(table, rows, kwh, equal, inside)


def _may_stand(kwh: NDArray[np.float64], seconds: NDArray[np.int64], spell: int) -> bool:
    """A first look at readings so far apart that a run as long as the spell holds two of them."""
    apart = max(spell // max(int(seconds.max()), 1) // 2, 1)
    look = kwh[::apart]
    return bool((look[1:] == look[:-1]).any())


def _runs(equal: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """First and one-past-last reading of each run of equal values."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], equal, [False]]).astype(np.int8)))
    return edges[0::2], edges[1::2] + 1


def _zeros(
    table: Readings, rows: NDArray[np.intp], kwh: NDArray[np.float64], inside: NDArray[np.bool_]
) -> None:
    zero = kwh == 0.0
    still = zero & inside
    rest = kwh[~inside]
    if not still.any() or len(rest) < 96:
        return
    never_zero = float((rest == 0.0).mean()) <= FEW_ZEROS
    floor = float(np.quantile(rest, 0.01))
    if never_zero and floor > FLOOR_SHARE * float(np.median(rest)):
        mask = np.zeros(len(table.start), bool)
        mask[rows[still]] = True
        count = table.set_aside(ZERO_AS_MISSING, mask)
        table.remarks.append(
            Remark(
                "zeros-as-missing",
                f"{count} readings of 0 in runs of a day and more, from a meter that otherwise never reads 0",
                lines=table.lines_text(mask),
                remedy="If the circuit really was off (an outage, a closure), say so as an [[event]].",
            )
        )


def _frozen(
    table: Readings,
    rows: NDArray[np.intp],
    kwh: NDArray[np.float64],
    equal: NDArray[np.bool_],
    inside: NDArray[np.bool_],
) -> None:
    outside = ~(inside[1:] & inside[:-1]) & (kwh[1:] != 0.0)
    if not outside.any() or float(equal[outside].mean()) > RESTLESS_SHARE:
        return
    floor = float(np.quantile(kwh[~inside], 0.02)) if (~inside).any() else 0.0
    still = inside & (kwh > ABOVE_FLOOR * max(floor, 0.0)) & (kwh != 0.0) & _long(equal)
    if not still.any() or still.mean() > 0.5:
        return
    mask = np.zeros(len(table.start), bool)
    mask[rows[still]] = True
    count = table.set_aside("frozen value", mask)
    if count:
        table.remarks.append(
            Remark(
                "frozen",
                f"{count} readings repeat one value to the last digit for a day and more, while this "
                "meter's readings "
                "otherwise hardly ever repeat",
                lines=table.lines_text(mask),
                remedy="Check the logger or its link; lighting that is steady still shows the meter's last "
                "digits move.",
            )
        )


def _long(equal: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Readings in runs of at least FEWEST_EQUAL equal ones."""
    inside = np.zeros(len(equal) + 1, bool)
    for a, b in zip(*_runs(equal), strict=True):
        inside[a:b] = b - a >= FEWEST_EQUAL
    return inside


def remark_spells(table: Readings, timezone: str) -> None:
    """Say where the readings in use are 0, or one and the same number, for weeks: they stay in use."""
    rows = np.flatnonzero(table.used & (table.seconds > 0) & (table.seconds < 27 * DAY_SECONDS))
    if len(rows) < 2:
        return
    kwh, seconds = table.kwh[rows], table.seconds[rows]
    if not _may_stand(kwh, seconds, SPELL_SECONDS):
        return
    start, end = table.start[rows], table.start[rows] + seconds
    metered_on = start[1:] - end[:-1] < DAY_SECONDS  # a stretch without readings says nothing of the load
    first, after = _runs((kwh[1:] == kwh[:-1]) & metered_on)
    long = end[after - 1] - start[first] >= SPELL_SECONDS
    first, after = first[long], after[long]
    for dark in (True, False):
        chosen = [(a, b) for a, b in zip(first, after, strict=True) if (kwh[a] == 0.0) == dark]
        if not dark:  # a bill or a day may well equal the next
            chosen = [(a, b) for a, b in chosen if table.seconds[rows[a]] < DAY_SECONDS]
        if chosen:
            table.remarks.append(_spell_remark(table, rows, chosen, timezone, dark=dark))


def _spell_remark(
    table: Readings, rows: NDArray[np.intp], spells: list[tuple[int, int]], timezone: str, *, dark: bool
) -> Remark:
    mask = np.zeros(len(table.start), bool)
    for a, b in spells:
        mask[rows[a:b]] = True
    a, b = max(spells, key=lambda spell: int(table.start[rows[spell[1] - 1]] - table.start[rows[spell[0]]]))
    dates = [
        pd.Timestamp(int(table.start[rows[n]]), unit="s", tz="UTC").tz_convert(timezone) for n in (a, b - 1)
    ]
    value = "0" if dark else f"{float(table.kwh[rows[a]]):g} kWh"
    return Remark(
        "zero-for-weeks" if dark else "one-value-for-weeks",
        f"{int(mask.sum())} readings are {value} throughout, the longest from {dates[0]:%Y-%m-%d} to "
        f"{dates[1]:%Y-%m-%d}; they are used",
        lines=table.lines_text(mask),
        remedy="If the place was closed, say so as an [[event]]; if it was lit, the meter, its transformers "
        "or its link failed, and these dates must not be used."
        if dark
        else "If these lights burn day and night at one level, this is right; else the meter or its link "
        "stood still.",
    )
