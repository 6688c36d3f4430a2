"""Catch-up lumps: a reading after a gap, or after zeros that stand for a gap, that holds it all."""

import numpy as np
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.base.meter_records import Meter
from mv.base.study_records import Study
from mv.cleaning.limits import LOAD_MARGIN, trusted_kw_of
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
    lumps, silences = _lumps_after_gaps(table, rows, gap, power, limit, above)
    more, zeros = _lumps_after_zeros(table, rows, power, limit, above & (gap <= 0))
    if len(lumps) or len(more):
        _stretch(table, np.concatenate([lumps, more]), np.concatenate([silences, zeros]))


def _may_hold_lumps(table: Readings, meter: Meter, study: Study) -> bool:
    """A first look: something stands above the connected load, or (without one) follows a gap."""
    load = trusted_kw_of(table, meter, study)
    if load is not None and bool((power_of(table) > LOAD_MARGIN * load).any()):
        return True
    refuted = load is None or bool(np.isinf(load).any())
    return refuted and bool((table.start[1:] - table.start[:-1] > table.seconds[:-1]).any())


def _limit(
    table: Readings,
    rows: NDArray[np.intp],
    power: NDArray[np.float64],
    gap: NDArray[np.int64],
    meter: Meter,
    study: Study,
) -> NDArray[np.float64] | None:
    load = trusted_kw_of(table, meter, study)
    known = np.inf if load is None else load[rows] if isinstance(load, np.ndarray) else load
    limit = LOAD_MARGIN * np.broadcast_to(np.asarray(known, dtype=np.float64), power.shape)
    plain = power[gap <= 0]
    if len(plain) >= 48 and (gap > 0).any():
        return np.where(np.isinf(limit), LUMP_RATIO * float(plain.max()), limit)
    return None if bool(np.isinf(limit).all()) else limit


def _lumps_after_gaps(
    table: Readings,
    rows: NDArray[np.intp],
    gap: NDArray[np.int64],
    power: NDArray[np.float64],
    limit: NDArray[np.float64],
    above: NDArray[np.bool_],
) -> tuple[NDArray[np.intp], NDArray[np.int64]]:
    """The rows that hold the energy of a gap before them, and the gaps' lengths, seconds."""
    seconds = table.seconds[rows]
    plausible = power * seconds / (seconds + np.maximum(gap, 0)) <= limit
    lumps = np.flatnonzero(above & (gap > 0) & (gap <= LONGEST_LUMP_SECONDS) & plausible)
    return rows[lumps], gap[lumps]


def _lumps_after_zeros(
    table: Readings,
    rows: NDArray[np.intp],
    power: NDArray[np.float64],
    limit: NDArray[np.float64],
    above: NDArray[np.bool_],
) -> tuple[NDArray[np.intp], NDArray[np.int64]]:
    """The rows that hold the energy of zeros before them, which are set aside, and the zeros' length."""
    lumps: list[int] = []
    silences: list[int] = []
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
        lumps.append(int(rows[lump]))
        silences.append(silence)
    return np.array(lumps, np.intp), np.array(silences, np.int64)


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
