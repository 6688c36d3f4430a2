"""How late the load follows the start of motion: what the clocks of meter and log differ by."""

import numpy as np

from mv.controls.fall_edge import FINEST_MINUTES, fall_edges
from mv.controls.hold_time import LEAST_DROP, half_sample_mode
from mv.controls.motion_age import SURE_ON_AGE, FloatArray, MotionRuns
from mv.controls.zone_table import ZoneTable

FEWEST_LAGS = 20  # switchings-on for a lag of the clocks; common practice, no source
AGREEING_SHARE = 0.6  # of switchings that must agree on it; common practice, no source
LARGEST_LEAD_MINUTES = 7.0  # of the meter's clock before the log's that is looked for; no source
MARGIN_MINUTES = 8.0  # of the time rested that may pass before the first reading used; no source
LOW_SUN_DEG = 5.0  # sun elevation below which daylight hardly moves the lamps; common practice, no source
LEAST_RISE = 2.0 * LEAST_DROP  # level; common practice, no source


def switch_on_lags(table: ZoneTable, runs: MotionRuns, *, rested: float) -> FloatArray:
    """Minutes from the start of motion to the rise of the load, after at least `rested` minutes.

    The reading that tells the level before must begin when lamps are off: all that follows counts as
    the rise. By the area rule of the hold time: late switching, or a meter clock that runs behind, leaves a
    deficit; on a fine grid by the readings beside the rise.
    """
    if len(runs.start) < 2:
        return np.zeros(0)
    began, gap = runs.start[1:], runs.start[1:] - runs.end[:-1]
    row = np.searchsorted(table.start, began, side="right") - 1
    n, step = len(table), table.minutes
    reach = 1 if step > 5 else max(2, int(np.ceil(10 / step)))
    back = 1 if step > 5 else max(1, int(np.ceil(LARGEST_LEAD_MINUTES / step)))
    keep = (gap >= rested) & (row >= back + 1) & (row + reach + 1 < n)
    row, began = row[keep], began[keep]
    off = table.start[row - back - 1] - runs.end[:-1][keep] >= rested - MARGIN_MINUTES
    row, began = row[off], began[off]
    if not len(row):
        return np.zeros(0)
    window = np.stack([table.level[row + ahead] for ahead in range(-back, reach + 1)])
    low, high = table.level[row - back - 1], table.level[row + reach]
    longest = np.stack([table.age_max[row + ahead] for ahead in range(1, reach + 1)]).max(axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        lit = ((window - low) / (high - low)).sum(axis=0) * step
    near_dark = (table.sun[row] < LOW_SUN_DEG) | (step <= 5)  # changing daylight looks like a lag
    sure = near_dark & (high - low >= LEAST_RISE) & np.isfinite(lit) & (longest <= SURE_ON_AGE)
    sure &= table.is_open[row + reach] == table.is_open[row - back - 1]  # a schedule lifts lamps at rest
    sure &= table.start[row + reach] - table.start[row - back - 1] < (reach + back + 1.5) * step
    lag = table.start[row + reach] + step - began - lit
    if step <= FINEST_MINUTES and sure.any():
        beside = _beside(table, began[sure], row[sure], (back, reach), low=low[sure], high=high[sure])
        lag[sure] = np.where(np.isfinite(beside), beside, lag[sure])
    return np.asarray(lag[sure & (lag <= step + LARGEST_LEAD_MINUTES) & (lag >= -LARGEST_LEAD_MINUTES)])


def _beside(
    table: ZoneTable,
    began: FloatArray,
    row: np.ndarray,
    reach: tuple[int, int],
    *,
    low: FloatArray,
    high: FloatArray,
) -> FloatArray:
    """The same by the readings beside the rise, which is a fall of the load's negative."""
    nowhere = np.zeros(len(table), dtype=np.bool_)
    first, last = row - reach[0], row + reach[1]
    rise = fall_edges(
        -table.level,
        table.start,
        table.minutes,
        began,
        first,
        last,
        high=-low,
        low=-high,
        surely_on=nowhere,
        step_level=0.0,
    )
    return rise.minutes


def typical_lag(lags: FloatArray, minutes: float) -> float | None:
    """How late the load follows the start of motion, where most of many switchings agree on it."""
    if len(lags) < FEWEST_LAGS:
        return None
    mode = half_sample_mode(lags)
    agree = np.abs(lags - mode) <= 0.5 + 0.05 * minutes
    return float(np.median(lags[agree])) if agree.mean() >= AGREEING_SHARE else None
