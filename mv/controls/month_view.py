"""One month of a zone: what each interval says of the controls, and a statistic a day.

Nothing here looks at another month, except for the hold time handed on where the month has too
few events of its own; so a month once told stays as it was told.
"""

import numpy as np

from mv.controls.daily import Daily, daily_mean, daily_quantile, daily_top
from mv.controls.hold_time import (
    COARSEST_MINUTES,
    HoldEvents,
    hold_events,
    typical_hold,
)
from mv.controls.load_only import under_the_sun, without_motion
from mv.controls.month_record import MonthView
from mv.controls.motion_age import SURE_ON_AGE, BoolArray, FloatArray, MotionRuns, motion_share
from mv.controls.switch_on_lag import switch_on_lags, typical_lag
from mv.controls.unison import together_under_motion
from mv.controls.vacant_days import DARK_SUN_DEG, add_nights, dark_level, vacant_days
from mv.controls.zone_table import ZoneTable, shortest_motion

BRIGHT_SUN_DEG = 10.0  # above which a daylit room should answer; common practice, no source
LEAST_SAFE_AGE = 1.0  # minutes without motion that any hold bridges; common practice, no source
LONGEST_SAFE_AGE = 5.0  # minutes; shorter holds than twice this are met by the prior; no source
LONGEST_WAIT_MINUTES = 60.0  # for vacancy to be sure where holds differ; common practice, no source
UNKNOWN_HOLD_MINUTES = 45.0  # vacancy is sure after so long where no hold is known; no source
PARTLY_ON_MINUTES = 10.0  # grid from which intervals are seldom wholly lit; common practice, no source
ENOUGH_WHOLLY_ON = 60  # intervals wholly on in a month that make others needless; no source
LEAST_LIT_SHARE = 0.75  # of an interval lit for its level to be worked out; common practice, no source
HOLD_DOUBT = 0.2  # minutes by which a hold time of many events is still unsure; no source
MOST_SHARE_DOUBT = 0.03  # of an interval, for its level to be worked out; common practice, no source
HIGH_SUN_DEG = 20.0  # elevation that any daylit zone answers to; common practice, no source
HIGH_QUANTILE = 0.9  # of a day's readings: daylight lowers even these; common practice, no source
LOW_QUANTILE = 0.15  # of a day's readings: a clear fall that one odd reading does not make; no source
RECENT_MINUTES = 120.0  # age up to which a level with lamps on still tells the daylight; no source
CLEAR_DROP = 0.04  # level; a fall that daylight alone did not limit; common practice, no source
NEAR_FULL = 0.85  # of the full level: hardly any daylight; common practice, no source
ODD_OFF = 0.02  # level at which lamps count as off by hand; common practice, no source

_NO_LAGS = np.zeros(0)


def month_view(
    table: ZoneTable,
    runs: MotionRuns | None,
    *,
    month: int,
    hold_prior: float | None,
    base_prior: float | None,
    hold_last: float | None = None,
    lag_prior: float | None = None,
    dark_prior: float | None = None,
    together_prior: bool | None = None,
    dark_seen: bool = False,
    by_clock: bool = False,
    step_level: float,
) -> MonthView:
    """Everything one month says. `hold_prior`: the shortest hold time agreed or seen before;
    `hold_last`: the one last seen.

    `base_prior`: the lowest floor seen in earlier months; `step_level`: the meter's step; levels.
    `together_prior`: whether all lamps went on and off as one when last seen; `by_clock`: no sensor
    was agreed to rule them; `dark_seen`: earlier months showed steady lamps without sun.
    """
    if runs is None or not np.isfinite(table.age).any():
        return without_motion(
            table,
            dark_prior=dark_prior,
            month=month,
            base_prior=base_prior,
            step_level=step_level,
            log_fails=runs is not None,
            by_clock=by_clock,
        )
    runs = runs.told_until(table.end)
    near = runs.cut(table.start[0] - 1440.0, table.end)
    safe = float(np.clip(0.5 * (hold_prior or 6.0), LEAST_SAFE_AGE, LONGEST_SAFE_AGE))
    together = together_under_motion(table, wholly_on(table, min(SURE_ON_AGE, safe)), step_level)
    as_one = together if together is not None else together_prior
    events = None
    hold, spread = None, 0.0
    if table.minutes <= COARSEST_MINUTES:
        events = hold_events(table, near, safe_age=safe, step_level=step_level, together=as_one)
        hold, spread = typical_hold(events.minutes, events.half)
    lags = switch_on_lags(table, near, rested=(hold or hold_prior or 20.0) + 10.0)
    lag = typical_lag(lags, table.minutes)
    lag = lag_prior if lag is None else lag
    lag = None if as_one is False else lag  # a part that comes on does not tell the clock
    sure_hold = hold if hold is not None else hold_prior
    vacant = _vacant(table, events, max(sure_hold, hold_last or 0.0) if sure_hold is not None else hold_last)
    on = wholly_on(table, max(min(safe, 0.6 * sure_hold), LEAST_SAFE_AGE) if sure_hold else safe)
    lit = np.where(on, table.level, np.nan)
    seldom = on.sum() < ENOUGH_WHOLLY_ON
    if hold is not None and seldom and table.minutes >= PARTLY_ON_MINUTES:
        doubt = float(np.hypot(HOLD_DOUBT, 2.0 * spread / np.sqrt(len(events.minutes)))) if events else 0.0
        lit = _with_partly_on(table, near, lit, vacant, hold - (lag or 0.0), doubt)
    free = _free_of_daylight(table, lit)
    daily = _lit_days(table, lit, on, step_level) | vacant_days(table, vacant, step_level, free)
    if not _sure_together(as_one, table.minutes):
        daily |= under_the_sun(table, np.isfinite(table.level) & table.is_open, dark_seen=dark_seen)
    base = add_nights(table, vacant, daily, base_prior, step_level)
    return MonthView(
        month,
        hold,
        spread,
        events,
        lag,
        daily,
        base,
        dark_level(daily, dark_prior),
        together,
        _NO_LAGS if as_one is False else lags,
        shortest_motion(near),
    )


def _sure_together(together: bool | None, minutes: float) -> bool:
    """True where motion means that all lamps are on; on a coarse grid it must have been seen."""
    return minutes <= COARSEST_MINUTES if together is None else together


def wholly_on(table: ZoneTable, safe: float) -> BoolArray:
    """Intervals in which any control keeps the lamps on throughout, the one before included."""
    on = table.age_max <= safe
    if table.minutes <= 5:
        before = np.zeros_like(on)
        before[1:] = on[:-1]
        on &= before
    return np.asarray(on & np.isfinite(table.level))


def _with_partly_on(
    table: ZoneTable, runs: MotionRuns, lit: FloatArray, vacant: BoolArray, hold: float, doubt: float
) -> FloatArray:
    """Level the lamps must have had while on, also in intervals they were on for in part.

    With share g of the interval lit and the level when vacant known, P = g P_on + (1 - g) P_low.
    Intervals are left out whose g the hold time's own doubt, minutes, could shift by much.
    """
    more, less = (motion_share(runs, table.start, table.minutes, max(hold + d, 0.0)) for d in (doubt, -doubt))
    share = motion_share(runs, table.start, table.minutes, max(hold, 0.0))
    low = np.full(len(table), np.nan)
    for state in (True, False):
        rest = table.level[vacant & (table.is_open == state)]
        if len(rest) >= 3:
            low[table.is_open == state] = float(np.median(rest))
    part = np.isnan(lit) & (share >= LEAST_LIT_SHARE) & np.isfinite(table.age_max)
    part &= more - less <= 2.0 * MOST_SHARE_DOUBT
    with np.errstate(divide="ignore", invalid="ignore"):
        level = (table.level - (1.0 - share) * low) / share
    return np.asarray(np.where(part, level, lit))


def _vacant(table: ZoneTable, events: HoldEvents | None, hold: float | None) -> BoolArray:
    """Intervals without motion that begin well after any hold seen this month has run out."""
    wait = UNKNOWN_HOLD_MINUTES
    if hold is not None:
        wait = hold + max(2.0, 0.1 * hold)
        if events is not None and len(events.minutes) >= 3:
            late = float(np.quantile(events.minutes, 0.9))
            wait = max(wait, min(late + 1.0, LONGEST_WAIT_MINUTES))
    still = table.age_max >= table.age + table.minutes - 1e-6
    return (table.age >= wait) & still & np.isfinite(table.level)


def _free_of_daylight(table: ZoneTable, lit: FloatArray) -> BoolArray:
    """Rows in which daylight had not already pulled the lamps down to the level when vacant.

    True where the last level seen with lamps on lies clearly above, or is near the full one.
    """
    seen = np.flatnonzero(np.isfinite(lit))
    if not len(seen):
        return np.zeros(len(table), dtype=bool)
    last = np.searchsorted(seen, np.arange(len(table)), side="right") - 1
    row = seen[np.maximum(last, 0)]
    recent = (last >= 0) & (table.start - table.start[row] <= RECENT_MINUTES)
    held = lit[row]
    full = float(np.quantile(lit[seen], 0.95))
    return np.asarray(recent & ((held - table.level >= CLEAR_DROP) | (held >= NEAR_FULL * full)))


def _lit_days(table: ZoneTable, lit: FloatArray, wholly: BoolArray, step_level: float) -> dict[str, Daily]:
    """Daily statistics of lamps that are on; `lit` is NaN where they are not surely so."""
    on = np.isfinite(lit)
    dark, bright = on & (table.sun < DARK_SUN_DEG), wholly & (table.sun > BRIGHT_SUN_DEG)
    dim = wholly & (table.sun <= BRIGHT_SUN_DEG)
    high = wholly & (table.sun > HIGH_SUN_DEG)
    by_hand = lit <= ODD_OFF
    room = max(0.03, 2.5 * step_level)
    return {
        "dark": daily_top(table.day[dark], lit[dark], least=2, room=room),
        "on_any": daily_top(table.day[on], lit[on], least=2, room=room),
        "bright": daily_mean(table.day[bright], lit[bright], least=3),
        "high_top": daily_quantile(table.day[high], lit[high], HIGH_QUANTILE, least=3),
        "bright_low": daily_quantile(table.day[bright], lit[bright], LOW_QUANTILE, least=3),
        "dark_low": daily_quantile(table.day[dark & ~by_hand], lit[dark & ~by_hand], LOW_QUANTILE, least=3),
        "bright_sun": daily_mean(table.day[bright], table.sun[bright], least=3),
        "low_sun": daily_mean(table.day[dim], lit[dim], least=2),
    }
