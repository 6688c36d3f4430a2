"""Energy above what burns always, outside opening hours, month by month.

What is the lamps' own counts, also where they rest at a low level all night; standby, egress and night
lighting do not. Long readings that opening or closing cuts belong to both sides in part: they widen the
interval.
"""

import numpy as np

from mv.controls.always_on import AlwaysOn
from mv.controls.day_spread import Fact, ratio_of_days, share_of_days
from mv.controls.vacant_days import LONG_MINUTES
from mv.controls.zone_table import ZoneTable

WHOLE_MONTH = 0.9  # of a month's days read, for its kWh to stand for a month; common practice, no source
CUT_SHARE = 0.75  # of such a reading that may belong to the other side; common practice, no source
NOISE_LEVEL, NOISE_STEPS = (
    0.002,
    1.2,
)  # level, steps of the meter: what is nearer is the floor; no source
NAMES = ("after_hours_kwh", "after_hours_share")
LAMPS_OR_NOT = (
    "the load never falls low: whether lamps at a low level or other lighting (egress, night lighting) "
    "burn all night cannot be separated"
)


def after_hours(
    table: ZoneTable, floor: AlwaysOn, *, full_kw: float, step_level: float, confidence: float
) -> dict[str, Fact]:
    """kWh in the month, and its share of all above what burns always. `step_level`: the meter's own step."""
    good = np.isfinite(table.level)
    if table.is_open.all() or not table.is_open.any() or not (good & ~table.is_open).any():
        return dict.fromkeys(NAMES, Fact(why="no opening hours are given, or there is no time outside them"))
    if floor.kind == "open":
        return dict.fromkeys(NAMES, Fact(why=LAMPS_OR_NOT))
    always = floor.extra if floor.kind == "lamps" else floor.base
    unit = table.minutes / 60.0 * full_kw
    level = np.nan_to_num(table.level) - always
    above = np.where(good & (level > NOISE_LEVEL + NOISE_STEPS * step_level), level, 0.0) * unit
    days, day = np.unique(table.day, return_inverse=True)
    every = np.bincount(day, weights=above, minlength=len(days)).astype(np.float64)
    closed = np.bincount(day, weights=above * ~table.is_open, minlength=len(days)).astype(np.float64)
    less, more = _cut_readings(table, above)
    doubt = floor.doubt * float((good & ~table.is_open).sum()) * unit if floor.kind == "lamps" else 0.0
    less, more, total = less + doubt, more + doubt, max(float(every.sum()), 1e-12)
    share = share_of_days(days, closed, every, confidence=confidence)
    found = {NAMES[1]: _widened(share, less / total, more / total, most=1.0)}
    read, length = good.sum() * table.minutes / 1440.0, _days_in(int(table.month[0]))
    if read < WHOLE_MONTH * length:
        return {NAMES[0]: Fact(why=f"readings cover {read:.0f} of the month's {length} days"), **found}
    mean = ratio_of_days(days, closed, np.ones(len(days)), confidence=confidence)
    assert mean.low is not None and mean.high is not None
    month = Fact(float(closed.sum()), mean.low * len(days), mean.high * len(days))
    return {NAMES[0]: _widened(month, less, more, most=np.inf), **found}


def _widened(fact: Fact, less: float, more: float, *, most: float) -> Fact:
    """The fact with its ends that much further out, between nothing and `most`."""
    if fact.low is None or fact.high is None:
        return fact
    return Fact(fact.value, max(fact.low - less, 0.0), min(fact.high + more, most))


def _cut_readings(table: ZoneTable, above_kwh: np.ndarray) -> tuple[float, float]:
    """kWh by which readings that opening or closing may cut can make the sum too large, and too small.

    A reading is open where it begins so: the last closed one may reach into opening hours, and the last
    open one beyond them.
    """
    if table.minutes < LONG_MINUTES:
        return 0.0, 0.0
    turns = table.is_open[1:] != table.is_open[:-1]
    last_closed, last_open = turns & ~table.is_open[:-1], turns & table.is_open[:-1]
    sums = (float(above_kwh[:-1][rows].sum()) for rows in (last_closed, last_open))
    less, more = (CUT_SHARE * kwh for kwh in sums)
    return less, more


def _days_in(month: int) -> int:
    first, after = (
        np.datetime64(f"{m // 12:04d}-{m % 12 + 1:02d}-01", "D").astype(int) for m in (month, month + 1)
    )
    return int(after - first)
