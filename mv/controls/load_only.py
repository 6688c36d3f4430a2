"""What a month shows where motion is not known: plateaus of the load, and the nights."""

import numpy as np

from mv.controls.daily import (
    NO_DAYS,
    BoolArray,
    Daily,
    FloatArray,
    daily_mean,
    daily_middle,
    daily_quantile,
    daily_top,
)
from mv.controls.month_record import MonthView
from mv.controls.plateau import REACH, lower_plateau, upper_plateau
from mv.controls.vacant_days import DARK_SUN_DEG, add_nights, vacant_days
from mv.controls.zone_table import ZoneTable

BRIGHT_SUN_DEG = 10.0  # above which a daylit room should answer; common practice, no source
SECOND_SHARE = 0.08  # of open time at a plateau for it to count; common practice, no source


def without_motion(table: ZoneTable, *, month: int, base_prior: float | None, step_level: float) -> MonthView:
    """The month read from its load alone: no hold time, and a low level only as a plateau."""
    good = np.isfinite(table.level)
    dark, bright = table.sun < DARK_SUN_DEG, table.sun > BRIGHT_SUN_DEG
    lit = good & (table.level > 0.5 * _high(table.level[good]))
    room = max(0.03, 2.5 * step_level)
    closed = good & ~table.is_open
    daily = vacant_days(table, closed, step_level)
    sunny = good & bright & table.is_open
    top = daily_quantile(table.day[sunny], table.level[sunny], 0.9, least=4)
    daily |= {
        "dark": daily_top(table.day[lit & dark], table.level[lit & dark], least=2, room=room),
        "on_any": daily_top(table.day[lit], table.level[lit], least=2, room=room),
        "bright": top,
        "bright_low": top,
        "bright_sun": daily_mean(table.day[sunny], table.sun[sunny], least=4),
    }
    low = _second_plateau(table, good & table.is_open)
    daily |= {"low": low, "low_dark": low, "low_top": low}
    base = add_nights(table, closed if closed.any() else good, daily, base_prior, step_level)
    return MonthView(month, None, 0.0, None, None, daily, base)


def _high(level: FloatArray) -> float:
    return float(np.quantile(level, 0.98)) if len(level) else 0.0


def _second_plateau(table: ZoneTable, rows: BoolArray) -> Daily:
    """Each day's readings at the month's lower plateau, where there are two plateaus."""
    level = table.level[rows]
    high = upper_plateau(level, least_share=SECOND_SHARE)
    low = lower_plateau(level, least_share=SECOND_SHARE)
    if high is None or low is None or high.level - low.level < 2 * REACH:
        return NO_DAYS
    near = rows & (np.abs(table.level - low.level) <= REACH)
    return daily_middle(table.day[near], table.level[near], least=2)
