"""How far a meter's step may shift the mean of many readings of a small steady load.

A meter that counts pulses carries what is left over into the next reading, and the mean of many is
right. One that rounds each reading does not: of readings that all show one value the load may be half
a step away, and noise smaller than the step undoes that only in part.
"""

import numpy as np

from mv.controls.motion_age import FloatArray
from mv.controls.restless import NO_SUN_DEG
from mv.controls.zone_table import ZoneTable

BLOCK = 8  # readings in a row that are summed; common practice, no source
FEWEST_BLOCKS = 20  # to judge by; common practice, no source
CARRIED_SPREAD = 0.5  # of the variance of unrelated readings: sums so even are carried over; no source
ONE_VALUE = 0.98  # share of readings alike, for the load to be anywhere within a step; no source
CARRIED, ROUNDED, ALIKE = 0.03, 0.15, 0.45  # half-widths in steps: the last is 90 % of half a step


def rounding_share(table: ZoneTable, step_level: float) -> float:
    """Half-width, in steps of the meter, of the mean of the nights' low readings."""
    night = table.level[~table.is_open & (table.sun < NO_SUN_DEG) & np.isfinite(table.level)]
    if step_level <= 0.0 or len(night) < FEWEST_BLOCKS * BLOCK:
        return CARRIED
    count = np.round(night / step_level)
    usual = float(np.median(count))
    if float(np.mean(count == usual)) >= ONE_VALUE:
        return ALIKE
    blocks = count[: len(count) // BLOCK * BLOCK].reshape(-1, BLOCK)
    blocks = blocks[np.abs(blocks - usual).max(axis=1) <= 1.0]
    if len(blocks) < FEWEST_BLOCKS:
        return CARRIED
    return CARRIED if _carried(blocks) else ROUNDED


def _carried(blocks: FloatArray) -> bool:
    """True where sums of readings in a row differ less, from one to the next, than sums of unrelated ones."""
    single = float(np.mean(np.var(blocks, axis=1)))
    between = 0.5 * float(np.mean(np.diff(blocks.sum(axis=1)) ** 2))
    return between < CARRIED_SPREAD * BLOCK * single
