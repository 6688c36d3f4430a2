"""One month of a zone: what each interval says of the controls, and a statistic a day.

Nothing here looks at another month, except for the hold time handed on where the month has too
few events of its own; so a month once told stays as it was told.
"""

from dataclasses import dataclass, field

import numpy as np

from mv.controls.daily import NO_DAYS, Daily, IntArray, daily_mean, daily_quantile, daily_top
from mv.controls.hold_time import (
    COARSEST_MINUTES,
    HoldEvents,
    half_sample_mode,
    hold_events,
    switch_on_lags,
)
from mv.controls.motion_age import BoolArray, FloatArray, MotionRuns
from mv.controls.plateau import REACH, lower_plateau, upper_plateau
from mv.controls.zone_table import ZoneTable

DARK_SUN_DEG = -2.0  # sun elevation below which no daylight reaches a room; common practice, no source
BRIGHT_SUN_DEG = 10.0  # above which a daylit room should answer; common practice, no source
FEWEST_EVENTS = 8  # gaps in motion for a hold time; common practice, no source
LONGEST_SAFE_AGE = 5.0  # minutes; shorter holds than twice this are met by the prior; no source
UNKNOWN_HOLD_MINUTES = 45.0  # vacancy is sure after so long where no hold is known; no source
LIT_ABOVE_BASE = 0.03  # level above the floor that counts as lit; common practice, no source
SECOND_SHARE = 0.08  # of open time at a plateau for it to count; common practice, no source
ODD_OFF = 0.02  # level at which lamps count as off by hand; common practice, no source


@dataclass(frozen=True)
class MonthView:
    """The month's own hold time and its daily statistics by name.

    trim: plateau of lamps wholly on; low: level when vacant in opening hours; night: level when
    vacant outside them; floor: lowest level of the night; night_on: share of vacant closed time
    with lamps on; bright and dark: mean of wholly-on lamps with and without sun.
    """

    month: int
    hold_minutes: float | None
    hold_spread: float
    events: HoldEvents | None
    lag_minutes: float | None
    daily: dict[str, Daily] = field(default_factory=dict)
    base: float | None = None


def month_view(
    table: ZoneTable,
    runs: MotionRuns | None,
    *,
    month: int,
    hold_prior: float | None,
    base_prior: float | None,
) -> MonthView:
    """Everything one month says. `hold_prior`: the hold time agreed, or seen a month earlier.

    `base_prior`: the lowest floor seen in earlier months, as a level.
    """
    if runs is None or not np.isfinite(table.age).any():
        return _without_motion(table, month=month, base_prior=base_prior)
    near = runs.cut(table.start[0] - 1440.0, table.start[-1] + table.minutes)
    safe = float(np.clip(0.5 * (hold_prior or 6.0), 1.0, LONGEST_SAFE_AGE))
    events = None
    hold, spread = None, 0.0
    if table.minutes <= COARSEST_MINUTES:
        events = hold_events(table, near, safe_age=safe)
        hold, spread = typical_hold(events.minutes)
    lag = typical_lag(switch_on_lags(table, near, rested=(hold or hold_prior or 20.0) + 10.0))
    sure_hold = hold if hold is not None else hold_prior
    wholly_on = _wholly_on(table, min(safe, 0.6 * sure_hold) if sure_hold else safe)
    vacant = _vacant(table, events, sure_hold)
    daily = _daily_levels(table, wholly_on=wholly_on, vacant=vacant)
    base = _add_nights(table, vacant, daily, base_prior)
    return MonthView(month, hold, spread, events, lag, daily, base)


def typical_hold(minutes: FloatArray) -> tuple[float | None, float]:
    """Mode of the events' hold times with the spread around it; None where they do not agree."""
    if len(minutes) < FEWEST_EVENTS:
        return None, 0.0
    mode = half_sample_mode(minutes)
    near = minutes[np.abs(minutes - mode) <= max(2.5, 0.2 * abs(mode))]
    if len(near) < max(FEWEST_EVENTS // 2, 0.25 * len(minutes)):
        return None, 0.0
    return float(np.median(near)), float(np.std(near))


def typical_lag(lags: FloatArray) -> float | None:
    """How late the load follows the start of motion, where most switchings agree on it."""
    if len(lags) < FEWEST_EVENTS:
        return None
    mode = half_sample_mode(lags)
    agree = np.abs(lags - mode) <= 1.0
    return float(np.median(lags[agree])) if agree.mean() >= 0.5 else None


def _wholly_on(table: ZoneTable, safe: float) -> BoolArray:
    """Intervals in which any control keeps the lamps on throughout, the one before included."""
    on = table.age_max <= safe
    if table.minutes <= 5:
        before = np.zeros_like(on)
        before[1:] = on[:-1]
        on &= before
    return on & np.isfinite(table.level)


def _vacant(table: ZoneTable, events: HoldEvents | None, hold: float | None) -> BoolArray:
    """Intervals without motion that begin well after any hold seen this month has run out."""
    wait = UNKNOWN_HOLD_MINUTES
    if hold is not None:
        wait = hold + max(2.0, 0.1 * hold)
        if events is not None and len(events.minutes) >= FEWEST_EVENTS:
            late = float(np.quantile(events.minutes, 0.9))
            wait = max(wait, min(late + 1.0, UNKNOWN_HOLD_MINUTES))
    still = table.age_max >= table.age + table.minutes - 1e-6
    return (table.age >= wait) & still & np.isfinite(table.level)


def _daily_levels(table: ZoneTable, *, wholly_on: BoolArray, vacant: BoolArray) -> dict[str, Daily]:
    dark, bright = table.sun < DARK_SUN_DEG, table.sun > BRIGHT_SUN_DEG
    daily = {
        "dark": _of(table, wholly_on & dark, daily_top, least=2),
        "on_dark": _of(table, wholly_on & dark & (table.level > ODD_OFF), daily_mean, least=2),
        "on_any": _of(table, wholly_on, daily_top, least=2),
        "bright": _of(table, wholly_on & bright, daily_mean, least=3),
        "bright_low": _of(table, wholly_on & bright, _low_quantile, least=3),
        "dark_low": _of(table, wholly_on & dark & (table.level > ODD_OFF), _low_quantile, least=3),
        "bright_sun": daily_mean(table.day[wholly_on & bright], table.sun[wholly_on & bright], least=3),
    }
    for name, rows in (("low", vacant & table.is_open), ("night", vacant & ~table.is_open)):
        daily[name] = _preferring_dark(table, rows, dark)
    return daily


def _add_nights(
    table: ZoneTable, vacant: BoolArray, daily: dict[str, Daily], base_prior: float | None
) -> float | None:
    """Adds the floor and the share of vacant closed time with lamps on; returns the base to date."""
    daily["floor"] = _of(table, vacant, _floor, least=2)
    floors = [] if base_prior is None else [base_prior]
    if len(daily["floor"]):
        floors.append(float(np.quantile(daily["floor"].value, 0.1)))
    base = min(floors) if floors else None
    closed = vacant & ~table.is_open
    if base is not None:
        lit = (table.level[closed] > base + LIT_ABOVE_BASE).astype(np.float64)
        daily["night_on"] = daily_mean(table.day[closed], lit, least=2)
    return base


def _of(table: ZoneTable, rows: BoolArray, statistic: object, *, least: int) -> Daily:
    assert callable(statistic)
    result = statistic(table.day[rows], table.level[rows], least=least)
    assert isinstance(result, Daily)
    return result


def _floor(day: IntArray, value: FloatArray, *, least: int) -> Daily:
    return daily_quantile(day, value, 0.2, least=least)


def _low_quantile(day: IntArray, value: FloatArray, *, least: int) -> Daily:
    return daily_quantile(day, value, 0.15, least=least)


def _preferring_dark(table: ZoneTable, rows: BoolArray, dark: BoolArray) -> Daily:
    """Daily median of the rows without sun; of all rows on days that have none."""
    sunless = daily_quantile(table.day[rows & dark], table.level[rows & dark], 0.5, least=2)
    every = daily_quantile(table.day[rows], table.level[rows], 0.5, least=2)
    lacking = ~np.isin(every.day, sunless.day)
    day = np.concatenate((sunless.day, every.day[lacking]))
    order = np.argsort(day)
    return Daily(
        day[order],
        np.concatenate((sunless.value, every.value[lacking]))[order],
        np.concatenate((sunless.count, every.count[lacking]))[order],
    )


def _without_motion(table: ZoneTable, *, month: int, base_prior: float | None) -> MonthView:
    """What the load alone shows: its upper plateau, a second one in open hours, and the nights."""
    good = np.isfinite(table.level)
    dark, bright = table.sun < DARK_SUN_DEG, table.sun > BRIGHT_SUN_DEG
    daily: dict[str, Daily] = {}
    lit = good & (table.level > 0.5 * _high(table.level[good]))
    daily["dark"] = _of(table, lit & dark, daily_top, least=2)
    daily["on_dark"] = _of(table, lit & dark, daily_mean, least=2)
    daily["on_any"] = _of(table, lit, daily_top, least=2)
    sunny = good & bright & table.is_open
    top = daily_quantile(table.day[sunny], table.level[sunny], 0.9, least=4)
    daily["bright"], daily["bright_low"] = top, top
    daily["bright_sun"] = daily_mean(table.day[sunny], table.sun[sunny], least=4)
    closed = good & ~table.is_open
    rest = closed if closed.any() else good
    daily["night"] = _preferring_dark(table, closed, dark)
    daily["low"] = _second_plateau(table, good & table.is_open)
    base = _add_nights(table, rest, daily, base_prior)
    return MonthView(month, None, 0.0, None, None, daily, base)


def _high(level: FloatArray) -> float:
    return float(np.quantile(level, 0.98)) if len(level) else 0.0


def _second_plateau(table: ZoneTable, rows: BoolArray) -> Daily:
    """Median of each day's readings at the month's lower plateau, where there are two plateaus."""
    level = table.level[rows]
    high = upper_plateau(level, least_share=SECOND_SHARE)
    low = lower_plateau(level, least_share=SECOND_SHARE)
    if high is None or low is None or high.level - low.level < 2 * REACH:
        return NO_DAYS
    near = rows & (np.abs(table.level - low.level) <= REACH)
    return daily_quantile(table.day[near], table.level[near], 0.5, least=2)
