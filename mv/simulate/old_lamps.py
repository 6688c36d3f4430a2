"""The lighting before: switched by hand, at a panel, never, by a photocell or a clock."""

import numpy as np

from mv.simulate.arrays import Bools, Floats, Ints, overlap_count, runs, stream
from mv.simulate.design import ZoneDesign
from mv.simulate.minute_clock import MinuteClock, Opening
from mv.simulate.people import Habits
from mv.simulate.sky import Sky

SHORT_GAP, LONG_GAP = 20, 90  # minutes; nobody switches off for less, the day ends with more
TIMER_DAYS = 61  # between visits to a time clock; common practice, no source
BRIGHT_LUX = 350.0  # interior daylight at which people half forget to switch on; common practice, no source


def old_share_on(
    zone: ZoneDesign,
    clock: MinuteClock,
    hours: Opening,
    count: Ints,
    habits: Habits,
    sky: Sky,
    daylight_lux: Floats,
    seed: int,
) -> Floats:
    """Share of the switched lamps that burn in each minute, failed lamps counted as burning."""
    if zone.old.control == "always":
        return np.ones(clock.n)
    if zone.old.control == "photocell":
        threshold = zone.old.switching_elevation + 1.2 * (sky.cloud - 0.5)
        return (sky.elevation < threshold).astype(np.float64)
    if zone.old.control == "timer":
        return _by_timer(clock, sky, stream(seed, zone.id, "timer"))
    present = count > 0
    if zone.old.control == "panel":
        present = present | _panel_hours(clock, hours, habits, stream(seed, zone.id, "panel"))
    return _switched_by_hand(zone, clock, present, habits, daylight_lux, stream(seed, zone.id, "old"))


def _by_timer(clock: MinuteClock, sky: Sky, rng: np.random.Generator) -> Floats:
    """A mechanical clock reset by hand every two months to the dusk and dawn of that day, none too well."""
    burning = np.zeros(clock.n, dtype=np.bool_)
    dark = sky.elevation < 0.0
    for first in range(0, clock.days, TIMER_DAYS):
        noon = clock.index_of(np.array([first, first + 1]), np.array([720, 720]))
        night = np.flatnonzero(dark[noon[0] : noon[1]]) + noon[0]
        if not len(night):
            continue
        error = rng.normal(0, 12, 2)
        on = clock.minute_of_day[night[0]] + error[0]
        length = len(night) + error[1]
        span = slice(clock.day_start[first], clock.day_start[min(first + TIMER_DAYS, clock.days)])
        burning[span] = (clock.minute_of_day[span] - on) % 1440 < length
    return burning.astype(np.float64)


def _panel_hours(clock: MinuteClock, hours: Opening, habits: Habits, rng: np.random.Generator) -> Bools:
    """The key holder's working day: from before opening to after closing, later in late weeks."""
    day = np.flatnonzero(hours.open_day)
    first = hours.opens[day] - np.rint(np.abs(rng.normal(14, 6, len(day)))).astype(np.int64)
    tail = np.abs(rng.normal(12, 8, len(day))) + np.maximum(habits.later[day], -10.0)
    last = hours.closes[day] + np.rint(tail).astype(np.int64)
    spans = clock.index_of(day, first), clock.index_of(day, last)
    flags: Bools = overlap_count(*spans, clock.n) > 0
    return flags


def _switched_by_hand(
    zone: ZoneDesign,
    clock: MinuteClock,
    present: Bools,
    habits: Habits,
    daylight_lux: Floats,
    rng: np.random.Generator,
) -> Floats:
    """First in switches on (less surely by daylight), last out mostly switches off, group by group."""
    first, last = runs(present)
    gap = np.append(first[1:], clock.n) - last
    off_chance = _off_chance(zone, gap, habits.careless[clock.day[first]])
    bright = daylight_lux[first]
    shy = 0.0 if zone.old.control == "panel" else zone.old.daylight_switching
    last_bay_used = _last_bay_used(zone, habits, rng)[clock.day[first]]
    total = np.zeros(clock.n)
    for group in range(zone.old.switch_groups):
        near_window = 2.0 * (group + 1) / (zone.old.switch_groups + 1)
        hold_back = shy * (bright * near_window) ** 2 / ((bright * near_window) ** 2 + BRIGHT_LUX**2)
        on = rng.random(len(first)) >= hold_back
        if group and group == zone.old.switch_groups - 1:
            on &= last_bay_used
        off = rng.random(len(first)) < off_chance
        total += _burning(first, last, on, off, clock.n)
    return total / zone.old.switch_groups


def _last_bay_used(zone: ZoneDesign, habits: Habits, rng: np.random.Generator) -> Bools:
    """Per day: is there work enough that the last bay is lit too? Slack weeks leave it dark."""
    noise = rng.logistic(0.0, 0.25, len(habits.workload))
    used: Bools = zone.old.spare_bay * np.log(habits.workload) + 1.5 + noise > 0
    return used


def _off_chance(zone: ZoneDesign, gap: Ints, careless: Floats) -> Floats:
    forget = zone.old.forget
    odds = forget / (1.0 - forget) * np.exp(careless)
    leave_on = odds / (1.0 + odds)
    chance: Floats = np.where(
        gap < SHORT_GAP, 0.01, np.where(gap < LONG_GAP, zone.old.off_in_gaps, 1 - leave_on)
    )
    return chance


def _burning(first: Ints, last: Ints, on: Bools, off: Bools, n: int) -> Floats:
    """Minutes with light, given at each visit whether it is switched on coming and off leaving.

    After a visit the light burns if that visit ended lit: the latest visit that decided (switched
    off, or switched on and left so) rules.
    """
    decided = off | on
    latest = np.maximum.accumulate(np.where(decided, np.arange(len(first)), -1))
    left_on = np.where(latest >= 0, (on & ~off)[np.maximum(latest, 0)], False)
    before = np.append(False, left_on[:-1])
    lit = before | on
    starts = first[lit & ~before]
    ends = last[lit & off]
    return overlap_count(starts, ends, n).astype(np.float64)


def failed_share(zone: ZoneDesign, clock: MinuteClock, seed: int) -> Floats:
    """Share of old lamps that are dark, per local day: they fail one by one and are replaced in rounds."""
    rng = stream(seed, zone.id, "failures")
    mean = zone.old.failed_fraction
    if mean <= 0:
        return np.zeros(clock.days)
    round_days = int(rng.integers(60, 150))
    phase = (np.arange(clock.days) + int(rng.integers(0, round_days))) % round_days
    share = 2.0 * mean * phase / round_days
    whole: Floats = np.floor(share * zone.fixtures + rng.random()) / max(zone.fixtures, 1)
    return whole
