"""Values that stand still: zeros where the meter never reads zero, and a frozen last reading."""

import numpy as np
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.base.study_records import Meter
from mv.cleaning.lumps import ZERO_AS_MISSING
from mv.cleaning.readings import Readings

LONG_RUN_SECONDS = 24 * 3600  # a still stand shorter than a day is an ordinary night; no source
FEW_ZEROS = 0.001  # share of zeros outside long runs of a meter that never reads zero; no source
FLOOR_SHARE = 0.02  # such a meter's floor stands this far above zero, of its usual level; no source
RESTLESS_SHARE = 0.05  # share of equal neighbours of a meter fine enough that none stands still; no source


def set_aside_stuck(table: Readings, meter: Meter) -> None:
    """Set aside what stands still and cannot: lighting on schedule is flat, so resolution decides.

    Zeros count as missing only where the meter otherwise never reads zero. A repeated value counts
    as frozen only where the meter's readings otherwise hardly ever repeat.
    """
    rows = np.flatnonzero(table.used & (table.seconds > 0))
    if len(rows) < 96:
        return
    kwh = table.kwh[rows]
    equal = kwh[1:] == kwh[:-1]
    if not equal.any():
        return
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
    _frozen(table, rows, kwh, equal, inside, meter)


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
    meter: Meter,
) -> None:
    outside = ~(inside[1:] & inside[:-1]) & (kwh[1:] != 0.0)
    if not outside.any() or float(equal[outside].mean()) > RESTLESS_SHARE:
        return
    still = inside & (kwh != 0.0)
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
