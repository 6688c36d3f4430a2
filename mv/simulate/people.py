"""Who is where, minute by minute, and what of it a motion sensor sees."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from mv.simulate.arrays import (
    Bools,
    Floats,
    Ints,
    autoregressive,
    overlap_count,
    runs,
    stream,
)
from mv.simulate.design import Behaviour, SiteDesign, ZoneDesign
from mv.simulate.minute_clock import MinuteClock, Opening

_STILL_BLOCK = 20  # minutes for which people keep about the same liveliness


@dataclass(frozen=True)
class Habits:
    """What drifts from day to day: workload (a factor), hours (minutes later), carelessness (logit)."""

    workload: Floats
    later: Floats
    careless: Floats


@dataclass(frozen=True)
class People:
    """`count`: people present per minute. `motion_start_s`, `motion_end_s`: seconds from the start."""

    count: Ints
    motion: Bools
    motion_start_s: Floats
    motion_end_s: Floats


def make_people(
    zone: ZoneDesign, site: SiteDesign, clock: MinuteClock, hours: Opening, seed: int
) -> tuple[People, Habits]:
    """Presence, motion and the habits behind them, for one zone over the whole span."""
    habits = make_habits(zone, site, clock, seed)
    starts, ends = _all_spans(zone.behaviour, clock, hours, habits, seed, zone.id)
    count = overlap_count(starts, np.maximum(ends, starts), clock.n)
    motion = sensed_motion(zone.behaviour, count, clock, stream(seed, zone.id, "motion"))
    first_s, last_s = motion_seconds(motion, stream(seed, zone.id, "seconds"))
    return People(count, motion, first_s, last_s), habits


def make_habits(zone: ZoneDesign, site: SiteDesign, clock: MinuteClock, seed: int) -> Habits:
    """Slow drift of behaviour: part the site's, part the zone's own."""
    own, shared = stream(seed, zone.id, "habits"), stream(seed, "habits")
    keep, n, b = site.persistence, clock.days, zone.behaviour
    site_part, zone_part = (autoregressive(r, n, correlation=keep, sd=0.71) for r in (shared, own))
    yearday = clock.first_day.timetuple().tm_yday + np.arange(n)
    season = b.season_amplitude * np.cos(2 * np.pi * (yearday - 30.0) / 365.25)
    workload = np.exp(b.workload_sd * (site_part + zone_part) + season)
    for first, last in site.quiet_weeks:
        workload[_days_between(clock, first, last)] *= 0.55
    for step in site.workload_steps:
        if step.zone in ("*", zone.id):
            workload[max(0, clock.day_of(step.day)) :] *= step.factor
    later = autoregressive(own, n, correlation=keep, sd=b.hours_sd)
    careless = autoregressive(own, n, correlation=keep, sd=0.8)
    return Habits(workload, later, careless)


def _days_between(clock: MinuteClock, first: date, last: date) -> slice:
    return slice(max(0, clock.day_of(first)), max(0, clock.day_of(last) + 1))


def _all_spans(
    b: Behaviour, clock: MinuteClock, hours: Opening, habits: Habits, seed: int, name: str
) -> tuple[Ints, Ints]:
    parts = [
        _staff_spans(b, clock, hours, habits, stream(seed, name, "staff")),
        _visit_spans(b, clock, hours, habits, stream(seed, name, "visits")),
        _cleaner_spans(b, clock, hours, stream(seed, name, "cleaners")),
    ]
    return np.concatenate([p[0] for p in parts]), np.concatenate([p[1] for p in parts])


def _staff_spans(
    b: Behaviour, clock: MinuteClock, hours: Opening, habits: Habits, rng: np.random.Generator
) -> tuple[Ints, Ints]:
    """Spans of presence of the regular people: the working day, cut by lunch and breaks."""
    shape = (clock.days, max(b.staff, 1))
    length = (hours.closes - hours.opens) / b.shifts
    shift = np.arange(shape[1]) % b.shifts
    begin = hours.opens[:, None] + length[:, None] * shift
    own_arrival, own_departure = rng.normal(0, 12, shape[1]), rng.normal(0, 15, shape[1])
    later = habits.later[:, None]
    arrive = begin + b.arrival + own_arrival + later * 0.4 + rng.normal(0, b.arrival_sd, shape)
    overtime = np.where(rng.random(shape) < 0.07, rng.exponential(50.0, shape), 0.0)
    leave = begin + length[:, None] + b.departure + own_departure + later + overtime
    leave = np.maximum(leave + rng.normal(0, b.departure_sd, shape), arrive + 30.0)
    chance = np.clip(b.attendance * np.minimum(habits.workload, 1.12)[:, None], 0.0, 1.0)
    there = (rng.random(shape) < chance) & hours.open_day[:, None] & (b.staff > 0)
    day = np.broadcast_to(np.arange(clock.days)[:, None], shape)[there]
    window = np.column_stack([arrive[there], leave[there]])
    if b.breaks_together:
        crew = np.broadcast_to(begin, shape)[there], np.broadcast_to(begin + length[:, None], shape)[there]
        return _cut_by_breaks(b, clock, day, window, np.column_stack(crew), rng)
    return _cut_by_breaks(b, clock, day, window, window, rng)


def _cut_by_breaks(
    b: Behaviour, clock: MinuteClock, day: Ints, window: Floats, shift: Floats, rng: np.random.Generator
) -> tuple[Ints, Ints]:
    """Spans between breaks spread over `shift` (a person's own day, or the crew's), lunch in the middle."""
    number, people = b.breaks_per_day + 1, len(day)
    usual = np.full(number, b.break_minutes)
    usual[number // 2] = b.lunch_minutes
    loose = 0.02 if b.breaks_together else 0.3
    piece = (shift[:, 1] - shift[:, 0])[:, None] / (number + 1)
    jitter = rng.uniform(-loose, loose, (people, number))
    centre = shift[:, :1] + piece * (np.arange(number) + 1 + jitter)
    steady = 60.0 if b.breaks_together else 6.0
    away = np.minimum(rng.gamma(steady, 1 / steady, (people, number)) * usual, piece * 0.4)
    begin = np.column_stack([window[:, 0], centre + away / 2])
    end = np.minimum(np.column_stack([centre - away / 2, window[:, 1]]), window[:, 1:])
    begin = np.maximum(begin, window[:, :1])
    days = np.broadcast_to(day[:, None], begin.shape).ravel()
    starts = clock.index_of(days, np.rint(begin).astype(np.int64).ravel())
    ends = clock.index_of(days, np.rint(end).astype(np.int64).ravel())
    return starts, ends


def _visit_spans(
    b: Behaviour, clock: MinuteClock, hours: Opening, habits: Habits, rng: np.random.Generator
) -> tuple[Ints, Ints]:
    """People passing through: a Poisson process with the day's profile and workload."""
    wave = visit_profile(b, clock.minute_of_day) * habits.workload[clock.day] * b.visits_per_hour / 60.0
    rate = np.where(hours.open, wave, b.closed_visits_per_day / 1440.0)
    starts = np.repeat(np.arange(clock.n), rng.poisson(rate))
    stay = 1 + rng.exponential(max(b.visit_minutes - 1.0, 0.1), len(starts)).astype(np.int64)
    quiet = ~hours.open[starts]
    stay[quiet] = np.minimum(stay[quiet], 1 + rng.integers(0, 12, int(quiet.sum())))
    return starts, np.minimum(starts + stay, clock.n)


def visit_profile(b: Behaviour, minute_of_day: Ints) -> Floats:
    """Relative rate of visits over the day, mean near 1 in usual opening hours."""
    hour = minute_of_day / 60.0
    if b.visit_profile == "midday":
        return 0.35 + 1.3 * np.exp(-(((hour - 12.3) / 2.6) ** 2))
    if b.visit_profile == "evening":
        return (
            0.25 + 0.7 * np.exp(-(((hour - 11.0) / 2.5) ** 2)) + 1.5 * np.exp(-(((hour - 19.5) / 2.2) ** 2))
        )
    return np.ones(len(hour))


def _cleaner_spans(
    b: Behaviour, clock: MinuteClock, hours: Opening, rng: np.random.Generator
) -> tuple[Ints, Ints]:
    came = hours.open_day & (rng.random(clock.days) > 0.04) & np.isin(clock.weekday, b.cleaner_days)
    day = np.flatnonzero(came)
    if b.cleaners_after_closing is None:
        day = day[:0]
    begin = hours.closes[day] + (b.cleaners_after_closing or 0.0) + rng.normal(0, 12, len(day))
    stay = np.maximum(rng.normal(b.cleaner_minutes, 8, len(day)), 5.0)
    first = clock.index_of(day, np.rint(begin).astype(np.int64))
    return first, np.minimum(first + np.rint(stay).astype(np.int64), clock.n)


def sensed_motion(b: Behaviour, count: Ints, clock: MinuteClock, rng: np.random.Generator) -> Bools:
    """Minutes in which the sensor saw motion; still people are missed, draughts seen."""
    lively = rng.beta(4.0, 2.0, clock.n // _STILL_BLOCK + 1) * 1.4
    there = np.flatnonzero(count)
    chance = np.clip(b.motion_probability * lively[there // _STILL_BLOCK], 0.0, 0.98)
    motion = np.zeros(clock.n, dtype=np.bool_)
    motion[there] = rng.random(len(there)) < 1.0 - (1.0 - chance) ** count[there]
    arrivals = np.flatnonzero(np.diff(count, prepend=0) > 0)
    motion[arrivals] = True  # walking in is seen
    motion[rng.integers(0, clock.n, rng.poisson(b.false_motion_per_day * clock.days))] = True
    return motion


def dark_by_choice(b: Behaviour, clock: MinuteClock, count: Ints, rng: np.random.Generator) -> Bools:
    """Minutes in which people present keep the light off with a wall switch."""
    starts = np.flatnonzero(rng.random(clock.n) < b.dark_hours_per_week / (7 * 1440.0))
    starts = starts[count[starts] > 0]
    stay = rng.integers(25, 95, len(starts))
    flags: Bools = overlap_count(starts, np.minimum(starts + stay, clock.n), clock.n) > 0
    return flags


def motion_by_group(people: People, groups: int, rng: np.random.Generator) -> list[Bools]:
    """Which of several sensors saw each minute's motion: people spread out and stay put for a while."""
    n = len(people.motion)
    blocks = n // _STILL_BLOCK + 1
    rank = np.argsort(rng.random((blocks, groups)), axis=1)
    reached = np.ceil(groups * (1.0 - (1.0 - 1.0 / groups) ** np.maximum(people.count, 1)))
    block = np.arange(n) // _STILL_BLOCK
    return [people.motion & (rank[block, group] < reached) for group in range(groups)]


def motion_seconds(motion: Bools, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Start and end of each stretch of motion, whole seconds from the start of the span."""
    first, last = runs(motion)
    begin = first * 60 + rng.integers(0, 25, len(first))
    end = last * 60 - rng.integers(0, 25, len(first))
    return begin.astype(np.float64), end.astype(np.float64)
