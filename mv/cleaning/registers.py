"""Running registers: differences, rollover, resets, dropouts, and lumps after a gap."""

import numpy as np
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.base.raw import RawMeter
from mv.base.wording import counted
from mv.cleaning.readings import Readings

GAP_INTERVALS = 1.5  # a step longer than this many usual ones is a gap; common practice, no source
JUMP_RATIO = 20.0  # a rate this far above the 99.9th percentile is another register; no source
ROLLOVER_NEAR = 0.9  # a register rolls over from this share of a power of ten; common practice, no source


def register_steps(raw: RawMeter, numbers: list[int], multiplier: float) -> Readings:
    """Register readings of all files as energy between one reading and the next.

    A step belongs to the reading that ends it. The first reading only opens the register.
    """
    files = [raw.files[n] for n in numbers]
    start = np.concatenate([file.start for file in files])
    value = np.concatenate([file.value for file in files])
    line = np.concatenate([file.line for file in files])
    which = np.concatenate([np.full(len(f.start), n, np.int16) for n, f in zip(numbers, files, strict=True)])
    flags = np.concatenate(
        [f.estimated if f.estimated is not None else np.zeros(len(f.start), bool) for f in files]
    )
    order = np.argsort(start, kind="stable")
    start, value, line, which, flags = (a[order] for a in (start, value, line, which, flags))
    table = Readings(
        names=[],
        start=start.copy(),
        seconds=np.zeros(len(start), np.int64),
        kwh=np.zeros(len(start)),
        line=line,
        file=which,
        estimated=flags.copy(),
        reason=np.zeros(len(start), np.uint8),
        spread=np.zeros(len(start), bool),
    )
    _set_aside_repeats(table, start, value)
    _set_aside_dropouts(table, value)
    _fill_steps(table, start, value, multiplier)
    return table


def _set_aside_repeats(table: Readings, start: NDArray[np.int64], value: NDArray[np.float64]) -> None:
    same = np.zeros(len(start), bool)
    same[1:] = start[1:] == start[:-1]
    equal = np.zeros(len(start), bool)
    equal[1:] = value[1:] == value[:-1]
    table.set_aside("exact duplicate", same & equal)
    table.set_aside("conflicting duplicate", same & ~equal)


def _set_aside_dropouts(table: Readings, value: NDArray[np.float64]) -> None:
    """A reading that falls and is made good by the next one is a glitch of the reading, not a reset."""
    rows = np.flatnonzero(table.used)
    for _ in range(3):
        v = value[rows]
        if len(v) < 3:
            return
        down = np.zeros(len(v), bool)
        down[1:-1] = (v[1:-1] < v[:-2]) & (v[2:] >= v[:-2])
        up = np.zeros(len(v), bool)
        steps = np.diff(v)
        usual = np.median(steps[steps > 0]) if (steps > 0).any() else 0.0
        up[1:-1] = (v[1:-1] > v[:-2] + 1000 * usual) & (v[2:] < v[1:-1]) & (v[2:] >= v[:-2])
        bad = down | (up & (usual > 0))
        if not bad.any():
            return
        mask = np.zeros(len(value), bool)
        mask[rows[bad]] = True
        table.set_aside("register dropout", mask)
        rows = rows[~bad]


def _fill_steps(
    table: Readings, start: NDArray[np.int64], value: NDArray[np.float64], multiplier: float
) -> None:
    rows = np.flatnonzero(table.used)
    if len(rows) < 2:
        return
    t, v = start[rows], value[rows]
    steps, lengths = np.diff(v), np.diff(t)
    steps, unknown = _mended(table, rows, v, steps, lengths)
    ends = rows[1:]
    table.start[ends] = t[:-1]
    table.seconds[ends] = np.where(unknown, 0, lengths)
    table.kwh[ends] = np.where(unknown, 0.0, steps) * multiplier
    usual = float(np.median(lengths))
    gap = (lengths > GAP_INTERVALS * usual) & ~unknown
    table.estimated[ends] |= gap
    assert table.spread is not None
    table.spread[ends] = gap
    if gap.any():
        _tell_gaps(table, ends[gap], lengths[gap], steps[gap] * multiplier)


def _tell_gaps(
    table: Readings, ends: NDArray[np.intp], lengths: NDArray[np.int64], kwh: NDArray[np.float64]
) -> None:
    """One remark on the gaps; where they are several the longest, often the installation, stands apart."""
    words = f"{counted(len(ends), 'gap')} in the register, {float(kwh.sum()):,.1f} kWh in all"
    if len(ends) > 1:
        at = int(np.argmax(lengths))
        hours, line = float(lengths[at]) / 3600.0, int(table.line[ends[at]])
        span = f"{hours / 24.0:,.1f} days" if hours >= 48.0 else f"{hours:,.1f} hours"
        words += f" (the longest {span}, {float(kwh[at]):,.1f} kWh, to line {line})"
    words += ": the energy is known, its course is not; it is spread evenly and counted as estimated"
    table.remarks.append(Remark("register-gap", words, lines=f"to line {int(table.line[ends[0]])}"))


def _mended(
    table: Readings,
    rows: NDArray[np.intp],
    value: NDArray[np.float64],
    steps: NDArray[np.float64],
    lengths: NDArray[np.int64],
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Steps with rollovers added back and daily resets counted; and which steps stay unknown."""
    steps = steps.copy()
    unknown = np.zeros(len(steps), bool)
    rising = steps[steps > 0]
    usual = float(np.quantile(rising, 0.999)) if len(rising) else 0.0
    rolled = resets = 0
    falls = np.flatnonzero(steps < 0)
    rolls = len(falls) < 3 or float(np.ptp(value[falls])) <= 3 * usual  # else it begins again from anywhere
    for number in falls:
        before, after = value[number], value[number + 1]
        modulus = 10.0 ** np.ceil(np.log10(before)) if before > 1 and rolls else 0.0
        if modulus and before >= ROLLOVER_NEAR * modulus and modulus - before + after <= 10 * usual:
            steps[number] = modulus - before + after
            rolled += 1
        elif 0 <= after <= 3 * usual:
            steps[number] = after
            resets += 1
        else:
            unknown[number] = True
    _remark_falls(table, rolled, resets, int(unknown.sum()))
    rate = steps / np.maximum(lengths, 1)
    limit = JUMP_RATIO * float(np.quantile(rate[~unknown & (steps > 0)], 0.999)) if (steps > 0).any() else 0
    jump = (rate > limit) & ~unknown & (steps > 0)
    if limit and jump.any():
        unknown |= jump
        table.remarks.append(
            Remark(
                "register-jump",
                f"the register leaps {int(jump.sum())} time(s) by far more than its usual step",
                lines=f"line {int(table.line[rows[1 + int(np.argmax(jump))]])}",
                remedy="If the meter was changed there, the leap is no energy and is rightly left out.",
            )
        )
    return steps, unknown


def _remark_falls(table: Readings, rolled: int, resets: int, unknown: int) -> None:
    if rolled:
        table.inferred["rollover"] = f"{rolled} time(s) the register passed its last digit and began at zero"
    if resets:
        table.inferred["reset"] = (
            f"{resets} time(s) the register began again at zero; energy since then is counted"
        )
    if unknown:
        table.remarks.append(
            Remark(
                "register-falls",
                f"the register falls {unknown} time(s) without a rollover; energy across each fall is "
                "unknown",
                remedy="Check whether the meter was changed or reset there.",
            )
        )
