"""Catch-up lumps: a reading after a gap, or after zeros that stand for a gap, that holds it all."""

import numpy as np
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.base.study_records import Meter, Study
from mv.cleaning.limits import LOAD_MARGIN, connected_kw_of
from mv.cleaning.readings import Readings, power_of

LUMP_RATIO = 1.5  # without a connected load: a lump exceeds every reading that follows no gap by this
LONGEST_LUMP_SECONDS = 45 * 86_400  # a lump over a longer silence is no catch-up; no source
ZEROS_OF_A_LUMP = 2  # at least so many zeros before a lump stand for the gap; no source
ZERO_AS_MISSING = "zero that stands for no reading"


def spread_lumps(table: Readings, meter: Meter, study: Study) -> None:
    """Spread a lump evenly over the silence it ends and its own interval; the total is kept.

    A lump is a reading that no lamp could have drawn in its own interval but that is plausible over
    the silence before it. It counts as estimated, since its course is not known.
    """
    if len(table.start) < 3 or not _may_hold_lumps(table, meter, study):
        return
    rows = np.flatnonzero(table.used & (table.seconds > 0))
    if len(rows) < 3:
        return
    start, seconds = table.start[rows], table.seconds[rows]
    gap = np.zeros(len(rows), np.int64)
    gap[1:] = start[1:] - (start[:-1] + seconds[:-1])
    power = power_of(table)[rows]
    limit = _limit(table, rows, power, gap, meter, study)
    if limit is None:
        return
    above = power > limit
    if not above.any():
        return
    _spread_after_gaps(table, rows, gap, power, limit, above)
    _spread_after_zeros(table, rows, power, limit, above & (gap <= 0))


def _may_hold_lumps(table: Readings, meter: Meter, study: Study) -> bool:
    """A first look: something stands above the connected load, or (without one) follows a gap."""
    load = connected_kw_of(table, meter, study) if meter.measures == "lighting" else None
    if load is not None:
        return bool((power_of(table) > LOAD_MARGIN * load).any())
    return bool((table.start[1:] - table.start[:-1] > table.seconds[:-1]).any())


def _limit(
    table: Readings,
    rows: NDArray[np.intp],
    power: NDArray[np.float64],
    gap: NDArray[np.int64],
    meter: Meter,
    study: Study,
) -> NDArray[np.float64] | None:
    load = connected_kw_of(table, meter, study) if meter.measures == "lighting" else None
    if load is not None:
        return LOAD_MARGIN * (load[rows] if isinstance(load, np.ndarray) else np.full(len(rows), load))
    plain = power[gap <= 0]
    if len(plain) < 48 or not (gap > 0).any():
        return None
    return np.full(len(rows), LUMP_RATIO * float(plain.max()))


def _spread_after_gaps(
    table: Readings,
    rows: NDArray[np.intp],
    gap: NDArray[np.int64],
    power: NDArray[np.float64],
    limit: NDArray[np.float64],
    above: NDArray[np.bool_],
) -> None:
    seconds = table.seconds[rows]
    plausible = power * seconds / (seconds + np.maximum(gap, 0)) <= limit
    lumps = np.flatnonzero(above & (gap > 0) & (gap <= LONGEST_LUMP_SECONDS) & plausible)
    if len(lumps):
        _stretch(table, rows[lumps], gap[lumps])


def _spread_after_zeros(
    table: Readings,
    rows: NDArray[np.intp],
    power: NDArray[np.float64],
    limit: NDArray[np.float64],
    above: NDArray[np.bool_],
) -> None:
    for lump in np.flatnonzero(above):
        before = lump
        while before > 0 and table.kwh[rows[before - 1]] == 0.0 and lump - before < 5000:
            before -= 1
        count = int(lump - before)
        if count < ZEROS_OF_A_LUMP:
            continue
        silence = int(table.start[rows[lump]] - table.start[rows[before]])
        own = int(table.seconds[rows[lump]])
        if power[lump] * own / (own + silence) > limit[lump]:
            continue
        zeros = np.zeros(len(table.start), bool)
        zeros[rows[before:lump]] = True
        table.set_aside(ZERO_AS_MISSING, zeros)
        _stretch(table, rows[[lump]], np.array([silence]))


def _stretch(table: Readings, rows: NDArray[np.intp], gaps: NDArray[np.int64]) -> None:
    if table.spread is None:
        table.spread = np.zeros(len(table.start), bool)
    table.start[rows] -= gaps
    table.seconds[rows] += gaps
    table.estimated[rows] = True
    table.spread[rows] = True
    mask = np.zeros(len(table.start), bool)
    mask[rows] = True
    table.remarks.append(
        Remark(
            "catch-up-lump",
            f"{len(rows)} reading(s) after a silence hold its energy too "
            f"({float(table.kwh[rows].sum()):.3g} kWh); spread "
            "evenly over it and counted as estimated",
            lines=table.lines_text(mask),
        )
    )
