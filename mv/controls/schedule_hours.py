"""The hours at which a schedule, not people, switches the lamps: told from lamps at rest.

Where nobody moves, lamps rest at another level inside the scheduled hours than outside. The time of
day at which that level changes, on all days alike, is the schedule's own. Where there is no motion log
all readings count, and only a change within minutes on nearly all days is taken for a clock's.
"""

import numpy as np

from mv.controls.daily import BoolArray, FloatArray, IntArray
from mv.controls.day_spread import Fact
from mv.controls.month_view import UNKNOWN_HOLD_MINUTES
from mv.controls.schedule_clock import LEAST_CONTRAST
from mv.controls.zone_table import ZoneTable

AFTER_HOLD_MINUTES = 5.0  # more, until lamps are at rest; common practice, no source
FEWEST_ROWS = 20  # readings at rest inside and outside opening hours; common practice, no source
FEWEST_DAYS = 3  # days that show a time of day; common practice, no source
MOSTLY = 0.8  # share of days lit (or dark) that makes a time of day so; common practice, no source
WIDEST_HOURS = 0.5  # within which a schedule must switch with a motion log; no source
CLOCK_MINUTES = 20.0  # the same without a log, as people come within half an hour too; no source

NAMES = ("schedule_on_hour", "schedule_off_hour")


def schedule_hours(table: ZoneTable, hold_minutes: float | None) -> dict[str, Fact]:
    """Local hours at which resting lamps come up and go down; the ends hold the switching."""
    logged = bool(np.isfinite(table.age).any())
    resting = _resting(table, hold_minutes) if logged else np.isfinite(table.level)
    inside, outside = table.level[resting & table.is_open], table.level[resting & ~table.is_open]
    if len(inside) < FEWEST_ROWS or len(outside) < FEWEST_ROWS:
        return _both("the zone is too seldom vacant inside and outside opening hours")
    high, low = float(np.median(inside)), float(np.median(outside))
    if high - low < LEAST_CONTRAST:
        return _both("lamps rest at the same level in and outside opening hours, so no schedule shows")
    chosen = resting & usual_days(table)
    minute = np.round(table.hour * 60.0 / table.minutes).astype(np.int64)
    bins, share = _lit_by_time(minute[chosen], table.day[chosen], table.level[chosen] > 0.5 * (high + low))
    widest = WIDEST_HOURS if logged else CLOCK_MINUTES / 60.0
    widest = max(widest, 3.0 * table.minutes / 60.0)
    return _switchings(bins * table.minutes / 60.0, share, table.minutes / 60.0, widest)


def _both(why: str) -> dict[str, Fact]:
    return {name: Fact(why=why) for name in NAMES}


def _resting(table: ZoneTable, hold_minutes: float | None) -> BoolArray:
    wait = (UNKNOWN_HOLD_MINUTES if hold_minutes is None else hold_minutes) + AFTER_HOLD_MINUTES
    still = table.age_max >= table.age + table.minutes - 1e-6
    return np.asarray(np.isfinite(table.level) & (table.age >= wait) & still)


def usual_days(table: ZoneTable) -> BoolArray:
    """Rows of the days with the commonest opening hours."""
    opened = table.day[table.is_open]
    days, first = np.unique(opened, return_index=True)
    last = np.append(first[1:], len(opened)) - 1
    hour = table.hour[table.is_open]
    patterns, code, count = np.unique(
        np.column_stack([hour[first], hour[last]]), axis=0, return_inverse=True, return_counts=True
    )
    usual = days[code.ravel() == int(count.argmax())] if len(patterns) else days
    return np.asarray(np.isin(table.day, usual))


def _lit_by_time(minute: IntArray, day: IntArray, lit: BoolArray) -> tuple[FloatArray, FloatArray]:
    """Times of day seen on enough days, and the share of them with lamps lit."""
    bins, code, count = np.unique(minute, return_inverse=True, return_counts=True)
    share = np.bincount(code, weights=lit.astype(np.float64), minlength=len(bins)) / np.maximum(count, 1)
    enough = count >= min(FEWEST_DAYS, len(np.unique(day)))
    return bins[enough].astype(np.float64), share[enough]


def _switchings(hours: FloatArray, share: FloatArray, step: float, widest: float) -> dict[str, Fact]:
    """The last dark time before the first lit one, and the first dark one after the last lit."""
    lit, dark = np.flatnonzero(share >= MOSTLY), np.flatnonzero(share <= 1.0 - MOSTLY)
    if not len(lit):
        return _both("at no time of day do resting lamps burn on most days")
    before, after = dark[dark < lit[0]], dark[dark > lit[-1]]
    between = share[lit[0] : lit[-1] + 1]
    if float(np.mean(between >= MOSTLY)) < MOSTLY:
        return _both("lamps come and go at different times on different days, as by hand")
    on, off = NAMES
    return {
        on: _within(hours[before[-1]], hours[lit[0]], step, widest) if len(before) else _never("come on"),
        off: _within(hours[lit[-1]], hours[after[0]], step, widest) if len(after) else _never("go off"),
    }


def _within(earlier: float, later: float, step: float, widest: float) -> Fact:
    """Between two readings of different state, half an interval wider at either end."""
    low, high = earlier + 0.5 * step, later + 0.5 * step
    if high - low > widest + 1e-9:
        return Fact(why="lamps are not at rest often enough, or switch at different times, to tell the hour")
    return Fact(0.5 * (low + high), low, high)


def _never(what: str) -> Fact:
    return Fact(why=f"lamps are never seen to {what} by the clock within the day")
