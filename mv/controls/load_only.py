"""What a month shows where motion is not known: plateaus of the load, and the nights."""

import numpy as np

from mv.controls.daily import (
    NO_DAYS,
    BoolArray,
    Daily,
    FloatArray,
    IntArray,
    daily_mean,
    daily_middle,
    daily_quantile,
    daily_top,
)
from mv.controls.month_record import MonthView
from mv.controls.plateau import REACH, plateaus
from mv.controls.unison import together_by_load
from mv.controls.vacant_days import DARK_SUN_DEG, add_nights, dark_level, vacant_days
from mv.controls.zone_table import ZoneTable

BRIGHT_SUN_DEG = 10.0  # above which a daylit room should answer; common practice, no source
DWELL_ROOM = 0.03  # level by which neighbours on a plateau may differ; common practice, no source
SETTLED_ROOM = 0.01  # level by which a reading wholly on and one beside it differ; common practice, no source
SETTLED_SHARE = 0.3  # of lit readings with one like them beside, for the others to be left out; no source
DWELL_SHARE = 0.5  # of readings whose neighbour is alike; common practice, no source
FEWEST_PAIRS = 20  # neighbours to judge by; common practice, no source
FEWEST_NIGHTS = 3  # days with dark opening hours that make a month's level without sun; no source
THROUGHOUT_SHARE = 0.9  # of dark opening hours at the full level, for lamps lit throughout; no source
LOW_QUANTILE = 0.15  # of a day's readings: a clear fall that one odd reading does not make; no source
HIGH_QUANTILE = 0.9  # of a day's readings: lamps on in some of them; common practice, no source
SECOND_SHARE = 0.08  # of open time at a plateau for it to count; common practice, no source


def without_motion(
    table: ZoneTable,
    *,
    month: int,
    base_prior: float | None,
    step_level: float,
    log_fails: bool,
    dark_prior: float | None,
    by_clock: bool,
) -> MonthView:
    """The month read from its load alone: no hold time, and a low level only as a plateau.

    `log_fails`: the zone has a motion log that is silent this month; what needs lamps that are
    surely on is then left to other months. `by_clock`: no sensor rules the lamps.
    """
    good = np.isfinite(table.level)
    dark = table.sun < DARK_SUN_DEG
    lit = good & (table.level > _lit_above(table.day[good], table.level[good]))
    if not by_clock and not _dwells(table.level, lit):
        lit = np.zeros_like(lit)
    lit = _settled(table.level, lit, step_level)
    room = max(0.03, 2.5 * step_level)
    closed = good & ~table.is_open
    daily = vacant_days(table, closed, step_level)
    daily |= {
        "dark": daily_top(table.day[lit & dark], table.level[lit & dark], least=2, room=room),
        "on_any": daily_top(table.day[lit], table.level[lit], least=2, room=room),
    }
    opened = good & table.is_open
    daily |= NO_SUN if log_fails else under_the_sun(table, opened, dark_seen=by_clock, by_clock=by_clock)
    daily |= {
        "low": _second_plateau(table, opened),
        "low_dark": _second_plateau(table, opened & dark),
        "low_top": NO_DAYS,
    }
    base = add_nights(table, closed if closed.any() else good, daily, base_prior, step_level)
    together = together_by_load(table, opened, step_level)
    return MonthView(month, None, 0.0, None, None, daily, base, dark_level(daily, dark_prior), together)


NO_SUN: dict[str, Daily] = dict.fromkeys(("bright", "bright_low", "bright_sun"), NO_DAYS)


def under_the_sun(
    table: ZoneTable, opened: BoolArray, *, dark_seen: bool, by_clock: bool = False
) -> dict[str, Daily]:
    """High readings of each day with sun, and how far those without sun fall below the plateau.

    Without motion, or with several sensors, a low reading may be vacancy; only where the day's high
    readings hold steady in the dark can their fall under the sun be daylight. A month without dark
    hours (`dark_seen`: an earlier one had them) is measured against what is known by then.
    `by_clock`: no sensor rules the lamps, so that low readings tell as well.
    """
    dark, bright = table.sun < DARK_SUN_DEG, table.sun > BRIGHT_SUN_DEG
    sunny, sunless = opened & bright, opened & dark
    night = daily_quantile(table.day[sunless], table.level[sunless], HIGH_QUANTILE, least=4)
    if len(night) < FEWEST_NIGHTS and not dark_seen:
        return NO_SUN
    top = daily_quantile(table.day[sunny], table.level[sunny], HIGH_QUANTILE, least=4)
    sun = daily_mean(table.day[sunny], table.sun[sunny], least=4)
    mean, low = top, top
    if by_clock and _lit_throughout(table.level[sunless], night):
        mean = daily_mean(table.day[sunny], table.level[sunny], least=4)
        low = daily_quantile(table.day[sunny], table.level[sunny], LOW_QUANTILE, least=4)
    found = {"bright": mean, "bright_low": low, "bright_sun": sun}
    if len(night) >= FEWEST_NIGHTS:
        usual = float(np.quantile(night.value, 0.15))
        found["dark_low"] = Daily(night.day, np.full(len(night), usual), night.count)
    return found


def _lit_throughout(sunless: FloatArray, night: Daily) -> bool:
    """True where lamps by the clock burn at one level whenever no sun reaches them, as far as is seen."""
    if not len(night):
        return True
    return float(np.mean(sunless >= float(np.median(night.value)) - DWELL_ROOM)) >= THROUGHOUT_SHARE


def _settled(level: FloatArray, lit: BoolArray, step_level: float) -> BoolArray:
    """The lit readings with one like them beside, as a switching within an interval has none; all if few."""
    alike = np.abs(np.diff(level)) <= max(SETTLED_ROOM, 1.5 * step_level)
    beside = np.concatenate((alike, [False])) | np.concatenate(([False], alike))
    kept = lit & beside
    return kept if kept.sum() >= SETTLED_SHARE * lit.sum() else lit


def _dwells(level: FloatArray, rows: BoolArray) -> bool:
    """True where a reading among the rows is mostly followed by one like it, as on a plateau.

    Lamps that come and go within an interval leave means of all sizes, which are no setting.
    """
    pairs = rows[1:] & rows[:-1]
    if pairs.sum() < FEWEST_PAIRS or pairs.sum() < DWELL_SHARE * rows.sum():
        return False
    alike = np.abs(np.diff(level)[pairs]) <= DWELL_ROOM
    return float(alike.mean()) >= DWELL_SHARE


def _lit_above(day: IntArray, level: FloatArray) -> float:
    """Half-way to the month's high readings: from nothing, or from lamps that never go off between visits.

    A level that some day never fell to is no rest: the full one was lowered within the month.
    """
    if not len(level):
        return 0.0
    rest = daily_quantile(day, level, 0.05, least=1)
    low, high = float(rest.value.max()), float(np.quantile(level, 0.98))
    return 0.5 * (low + high) if high - low >= 2 * REACH else 0.5 * high


def _second_plateau(table: ZoneTable, rows: BoolArray) -> Daily:
    """Each day's readings at the month's lower plateau, where there are two plateaus."""
    dwelt = [plateau for plateau in plateaus(table.level[rows]) if plateau.share >= SECOND_SHARE]
    if not dwelt or dwelt[-1].level - dwelt[0].level < 2 * REACH:
        return NO_DAYS
    low = dwelt[0]
    near = rows & (np.abs(table.level - low.level) <= REACH)
    if not _dwells(table.level, near):
        return NO_DAYS
    return daily_middle(table.day[near], table.level[near], least=2)
