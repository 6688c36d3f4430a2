"""All that one indoor zone's record says, month by month and over the whole period."""

import itertools
from dataclasses import dataclass

import numpy as np

from mv.base.study_records import Zone
from mv.controls.always_on import AlwaysOn, always_on, with_restless
from mv.controls.change_day import dated_by_dwelling, redated
from mv.controls.common_changes import CommonChange, common_changes, restated
from mv.controls.daily import NO_DAYS, BoolArray, Daily, FloatArray, by_day, joined
from mv.controls.daylight import (
    Response,
    daily_response,
    dims_in,
    month_answer,
    steady_without_sun,
    unsteady_without_sun,
)
from mv.controls.floor_rise import floor_rise, rests_at_floor
from mv.controls.hold_time import HoldEvents, half_sample_mode, joined_events
from mv.controls.month_record import MonthView
from mv.controls.month_view import LEAST_SAFE_AGE, UNKNOWN_HOLD_MINUTES, month_view, wholly_on
from mv.controls.motion_age import SURE_ON_AGE
from mv.controls.plateau import REACH, plateaus, upper_plateau
from mv.controls.restless import restlessness
from mv.controls.rounding import rounding_share
from mv.controls.steps import Level, levels
from mv.controls.switch_on_lag import typical_lag
from mv.controls.tolerances import LOW, TRIM, hold_tolerance
from mv.controls.unison import usually
from mv.controls.vacant_days import DARK_SUN_DEG, MOST_ALWAYS_ON, merged
from mv.controls.zone_table import ZoneRecord

FEW_DARK_DAYS = 5  # fewer leave the plateau to days with daylight; common practice, no source
NEVER_OFF_SHARE = 0.85  # of the full-on level, below which the load never falls; common practice, no source
SURE_SHARE = 0.6  # of a hold time; common practice, no source
FEWEST_TO_JUDGE = 60  # readings without sun; common practice, no source
DWELL_ROOM = 0.015  # level either side of a plateau; common practice, no source
MOST_LEVELS = 4  # plateaus that a zone of several sensors may have; common practice, no source
DWELL_SHARE = 0.5  # of readings that dwell at plateaus where sensors rule; common practice, no source
FLOOR_STEP = 0.015  # level; a step of the floor that counts; common practice, no source
DEEP_DIM = 0.97  # of the highest month's plateau; a lower one is daylight's doing; no source
REACHED_SHARE = 0.15  # of days that must reach a plateau for it to be one; no source
NEAR_KNOWN = 5  # days without sun either side that tell the level of a day; common practice, no source
NEAR_PLATEAU = 0.015  # level; a day that comes so close reaches the plateau; no source


@dataclass(frozen=True)
class ZoneEvidence:
    """Months and whole-period series of a zone; levels are fractions of the connected load.

    `trim_days`, `low_days`: what the levels were made of; none where a load that came is allowed for.
    `rounding`: half-width, in steps of the meter, that its rounding leaves of the mean of many readings.
    """

    zone: Zone
    record: ZoneRecord
    views: tuple[MonthView, ...]
    confidence: float
    dims: bool
    response: Response
    lag_minutes: float | None
    floor: AlwaysOn
    trim: tuple[Level, ...]
    trim_days: Daily
    low: tuple[Level, ...]
    low_days: Daily
    hold: tuple[Level, ...]
    floors: tuple[Level, ...]
    common: tuple[CommonChange, ...]
    floor_rise: CommonChange | None
    follows_sensors: bool
    together: bool | None
    restless: float
    rounding: float
    events: HoldEvents | None

    @property
    def last_day(self) -> int:
        """The last local day of the record."""
        return int(self.record.table.day[-1])

    @property
    def has_motion(self) -> bool:
        """True where a motion log covers any of the period."""
        return self.record.runs is not None and bool(np.isfinite(self.record.table.age).any())

    @property
    def may_dim(self) -> bool:
        """True where daylight may lower the lamps: it was seen to, or was agreed to."""
        return self.dims or self.zone.commissioned.daylight_dimming is True

    def series(self, name: str) -> Daily:
        """A daily statistic over all months."""
        return whole(self.views, name)


def whole(views: tuple[MonthView, ...] | list[MonthView], name: str) -> Daily:
    """A daily statistic over all months."""
    return joined([view.daily[name] for view in views if name in view.daily])


def month_views(zone: Zone, record: ZoneRecord) -> list[MonthView]:
    """Each month on its own; the hold time and the floor seen earlier are handed on."""
    table = record.table
    cuts = np.flatnonzero(np.diff(table.month)) + 1
    bounds = [0, *cuts.tolist(), len(table)]
    agreed = zone.commissioned.hold_minutes
    prior, base, lag, dark = agreed, None, None, None
    together: bool | None = None
    last = agreed
    views: list[MonthView] = []
    unsteady: list[float] = []
    for a, b in itertools.pairwise(bounds):
        part = table.part(slice(a, b))
        view = month_view(
            part,
            record.runs,
            month=int(table.month[a]),
            hold_prior=prior,
            base_prior=base,
            hold_last=last,
            lag_prior=lag,
            dark_prior=dark,
            together_prior=together,
            dark_seen=steady_without_sun(unsteady),
            by_clock=agreed is None and zone.commissioned.low_level is None,
            step_level=record.step_level,
        )
        base = view.base
        together = view.together if view.together is not None else together
        lag = view.lag_minutes
        dark_fall = unsteady_without_sun(view)
        unsteady += [] if dark_fall is None else [dark_fall]
        answer = month_answer(view)
        if answer is not None:
            dark = view.dark_level if answer else None  # handed on where lamps answer to daylight
        last = view.hold_minutes if view.hold_minutes is not None else last
        if view.hold_minutes is not None:
            prior = view.hold_minutes if agreed is None else min(agreed, view.hold_minutes)
        views.append(view)
    return views


def gathered(zone: Zone, record: ZoneRecord, *, confidence: float) -> ZoneEvidence:
    """The zone's evidence from its record."""
    views = month_views(zone, record)
    dims = dims_in(views)
    parts = [view.events for view in views if view.events is not None]
    events = joined_events(parts) if parts else None
    step = hold_tolerance(record.table.minutes, zone.commissioned.hold_minutes).step
    lows, trims = low_days(views, dims=dims), trim_days(views, dims=dims)
    low = levels(lows, least_step=LOW.step)
    if not low and (views[-1].base or 0.0) > MOST_ALWAYS_ON:
        lows = whole(views, "night")  # lamps rest alike at all hours
        low = levels(lows, least_step=LOW.step)
    trim = levels(trims, least_step=TRIM.step)
    floors = levels(whole(views, "floor"), least_step=FLOOR_STEP)
    base = views[-1].base if views else None
    common = () if _never_off(trim, base) else common_changes(trim, low, floors, base or 0.0)
    low = restated(low, common, LOW.step)
    rise = floor_rise(levels(whole(views, "night"), least_step=FLOOR_STEP), low, base or 0.0)
    if rise is not None and rests_at_floor(low, base or 0.0):
        low = restated(low, [rise], LOW.step)
    lowest = min((level.value for level in low), default=None)
    lag = usual_lag(views, record.table.minutes)
    hold = levels(hold_days(views, lag or 0.0), least_step=step)
    if events is not None:
        hold = redated(hold, events.day, events.minutes)
    restless = restlessness(record.table, record.step_level)
    sure_on = surely_on_minutes(zone, hold)
    wait = max((level.value for level in hold), default=UNKNOWN_HOLD_MINUTES) + 3.0
    table = record.table
    dark = (table.sun < DARK_SUN_DEG) | np.full(len(table), not dims)
    vacant = (table.age >= wait) & (table.age_max >= table.age + table.minutes - 1e-6)
    low = redated(low, table.day, table.level, vacant & table.is_open & dark)
    if not np.isfinite(table.age).any():
        opened = table.is_open & dark & np.isfinite(table.level)
        low = dated_by_dwelling(low, table.day[opened], table.level[opened], room=REACH)
    trim = redated(trim, table.day, table.level, wholly_on(table, sure_on) & dark)
    return ZoneEvidence(
        zone=zone,
        record=record,
        views=tuple(views),
        confidence=confidence,
        dims=dims,
        response=daily_response(views),
        lag_minutes=lag,
        floor=with_restless(always_on(zone, record, base, lowest, restless=restless), restless),
        trim=tuple(restated(trim, common, TRIM.step)),
        trim_days=NO_DAYS if common else trims,
        low=tuple(low),
        low_days=NO_DAYS if common else lows,
        floors=tuple(floors),
        common=tuple(common),
        floor_rise=rise,
        follows_sensors=follows_sensors(record, sure_on),
        together=usually([view.together for view in views]),
        restless=restless,
        rounding=rounding_share(table, record.step_level),
        hold=tuple(hold),
        events=events,
    )


def _never_off(trim: list[Level], base: float | None) -> bool:
    """True where the lowest load is the lamps' own: it moves with them, and tells of no load beside them."""
    return base is not None and bool(trim) and base >= NEVER_OFF_SHARE * min(level.value for level in trim)


def usual_lag(views: list[MonthView], minutes: float) -> float | None:
    """How late the load follows motion: the months' median, else of all months' switchings together."""
    lags = [view.lag_minutes for view in views if view.lag_minutes is not None]
    if lags:
        return float(np.median(lags))
    return typical_lag(np.concatenate([view.lags for view in views]), minutes) if views else None


def surely_on_minutes(zone: Zone, hold: list[Level]) -> float:
    """Minutes without motion within which lamps are on, under the shortest hold time agreed or seen."""
    agreed = zone.commissioned.hold_minutes
    known = [level.value for level in hold] + ([] if agreed is None else [agreed])
    return max(min([SURE_ON_AGE, *(SURE_SHARE * value for value in known)]), LEAST_SAFE_AGE)


def follows_sensors(record: ZoneRecord, sure_on: float) -> bool:
    """False where lamps with people moving burn at all sorts of levels: switched or dimmed by hand.

    Judged without sun, where a control dwells at one level, or at a few with several sensors.
    `sure_on`: minutes without motion within which lamps are on.
    """
    table = record.table
    on = wholly_on(table, sure_on) & (table.sun < DARK_SUN_DEG)
    value = table.level[on]
    if len(value) < FEWEST_TO_JUDGE:
        return True
    room = max(DWELL_ROOM, 1.5 * record.step_level)
    peaks = sorted(plateaus(value, smoothing=room / 2), key=lambda p: -p.share)[:MOST_LEVELS]
    dwelt = np.zeros(len(value), dtype=bool)
    for peak in peaks:
        dwelt |= np.abs(value - peak.level) <= room
    return float(dwelt.mean()) >= DWELL_SHARE


def trim_days(views: list[MonthView], *, dims: bool) -> Daily:
    """The full-on plateau a day: without sun where lamps dim with daylight.

    On a day without dark hours a dimming zone still reaches its plateau at low sun or under cloud;
    such a day counts when it comes up to the plateau known from dark days.
    """
    every, dark = whole(views, "on_any"), whole(views, "dark")
    if not dims:
        return every
    if len(dark) < FEW_DARK_DAYS:
        return _reached(views)
    extra = ~np.isin(every.day, dark.day) & _comes_up_to(every, dark)
    return merged(dark, every, extra)


def _comes_up_to(days: Daily, known: Daily) -> BoolArray:
    """Days whose value reaches the level of the known days before and after them.

    Where those differ (the level changed between), a day counts that is near the lower or comes up
    to the higher; what lies between them may be daylight's doing, and so is what is near the lower
    while another day still, or already, comes up to the higher.
    """
    after = np.searchsorted(known.day, days.day)
    result = np.zeros(len(days), dtype=bool)
    for at in np.unique(after).tolist():
        before = known.value[max(at - NEAR_KNOWN, 0) : at]
        later = known.value[at : at + NEAR_KNOWN]
        sides = [float(np.median(side)) for side in (before, later) if len(side)]
        here = np.flatnonzero(after == at)
        value = days.value[here]
        high = value >= max(sides) - NEAR_PLATEAU
        low = np.abs(value - min(sides)) <= NEAR_PLATEAU
        if len(sides) == 2 and max(sides) - min(sides) > 2 * NEAR_PLATEAU:
            held = high[::-1] if sides[1] < sides[0] else high
            reached = np.maximum.accumulate(held)
            low &= ~(reached[::-1] if sides[1] < sides[0] else reached)
        result[here] = high | low
    return result


def _reached(views: list[MonthView]) -> Daily:
    """Days that come up to their month's plateau, of months in which enough days agree on one.

    Under daylight a month may agree on the lamps' deepest dim; such a month lies far below others.
    """
    months = [(view.daily["on_any"], _month_plateau(view.daily["on_any"])) for view in views]
    highest = max((float(days.value.max()) for days, _ in months if len(days)), default=0.0)
    parts = []
    for days, plateau in months:
        if plateau is not None and plateau >= DEEP_DIM * highest:
            close = days.value >= plateau - NEAR_PLATEAU
            parts.append(Daily(days.day[close], days.value[close], days.count[close]))
    return joined(parts)


def _month_plateau(days: Daily) -> float | None:
    if len(days) < FEW_DARK_DAYS:
        return None
    top = float(np.max(days.value))
    close = int((days.value >= top - NEAR_PLATEAU).sum())
    return top if close >= max(4, REACHED_SHARE * len(days)) else None


def low_days(views: list[MonthView], *, dims: bool) -> Daily:
    """The level when vacant a day: without sun where daylight may pull vacant lamps lower still.

    A day without dark hours counts when its highest vacant level comes up to the level known.
    """
    if not dims:
        return whole(views, "low")
    top, dark = whole(views, "low_top"), whole(views, "low_dark")
    if len(dark) < FEW_DARK_DAYS:
        return joined([_near_plateau(view.daily["low_top"]) for view in views])
    extra = ~np.isin(top.day, dark.day) & _comes_up_to(top, dark)
    return merged(dark, top, extra)


def _near_plateau(days: Daily) -> Daily:
    """A month's days that come up to its plateau; none where it has no plateau."""
    plateau = upper_plateau(days.value, least_share=0.15) if len(days) else None
    close = days.value >= (np.inf if plateau is None else plateau.level - NEAR_PLATEAU)
    return Daily(days.day[close], days.value[close], days.count[close])


def hold_days(views: list[MonthView], lag: float = 0.0) -> Daily:
    """Each day's usual hold time, the lag of the meter behind the log taken off: the month's, or `lag`."""
    parts = []
    for view in views:
        if view.events is None or not len(view.events.day):
            continue
        behind = lag if view.lag_minutes is None else view.lag_minutes
        groups = by_day(view.events.day, view.events.minutes - behind)
        parts.append(
            Daily(
                np.array([day for day, _ in groups], dtype=np.int64),
                np.array([_usual(values) for _, values in groups]),
                np.array([float(len(values)) for _, values in groups]),
            )
        )
    return joined(parts)


def _usual(values: FloatArray) -> float:
    return half_sample_mode(values) if len(values) >= 5 else float(np.median(values))
