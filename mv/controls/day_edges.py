"""When a day's lamps first come on and last go off: edges that a schedule draws, whoever is there.

A clock that runs wrong moves these edges from one day to the next and from then on; people come and
go at other times each day. So an edge tells of a clock where it stands at one time of day before the
change or after it.
"""

import itertools
from dataclasses import dataclass, replace

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.base.spells import runs_of
from mv.controls.daily import MOST_WEIGHT, Daily, FloatArray
from mv.controls.evidence import ZoneEvidence
from mv.controls.schedule_hours import usual_days
from mv.controls.steps import levels
from mv.controls.vacant_days import LIT_ABOVE_BASE
from mv.controls.verdicts import day_date
from mv.controls.zone_table import ZoneTable

LEAST_HOURS, MOST_HOURS = 2.0, 22.0  # of light on end that a schedule may make; common practice, no source
STEP_HOURS = 0.4  # a move of an edge that counts; common practice, no source
SHARP_HOURS = 0.1  # half-spread of an edge that a clock draws, on top of an interval; no source
SHARP_DAYS = 0.8  # of days within that spread; common practice, no source
SAME_DAYS = 4  # days apart up to which both edges moved at once; common practice, no source
SAME_HOURS = 0.5  # by which two moves may differ and still be one clock's; common practice, no source
LEAST_DAYS = 8  # days on either side of a move; common practice, no source
SAME_SHARE = 0.35  # the same as a share of the move; no source
OTHER_HOURS = 0.2  # by which the other edge may go the other way by chance; common practice, no source
WENT_ALONG = 0.4  # of a move, for another edge or the sun to have gone with it; common practice, no source
ONE_READING_HOURS = 1.0  # which an edge jumps where it drifts over a coarse reading's end
DRIFT_HOURS = 0.1  # of the sun that takes an edge over such an end; common practice, no source
BESIDE_DAYS = 28  # on either side of a move; common practice, no source
DOUBT_HOURS = 0.2  # half-width of a shift, on top of half an interval; common practice, no source
FINE_MINUTES = 15.0  # readings up to which an edge may fall into either of two; no source
MOSTLY_LIT = 0.5  # of crossed hours that burned without the edge being there; no source
USUAL_DAYS, SURE_DAYS = 20, 10  # days before a move and after it for a clock's; no source
LARGEST_HOURS = 6.0  # by which a clock is taken to be wrong; common practice, no source


@dataclass(frozen=True)
class _Move:
    """One edge's move: its last day, the hours before and after, and whether a clock drew it."""

    day: int
    before: float
    after: float
    sharp: bool

    @property
    def hours(self) -> float:
        return self.after - self.before


def day_edges(table: ZoneTable, base: float) -> tuple[Daily, Daily]:
    """Hours at which each day's longest spell of light begins and ends, on days of the usual hours.

    A guard's round at night is a spell of its own and shorter. Hours count from the local midnight of
    the day on which the spell has its middle; those past midnight run beyond 0 and 24.
    """
    lit = np.isfinite(table.level) & (table.level > base + LIT_ABOVE_BASE)
    starts, stops = runs_of(lit)
    broken = np.isnan(table.level[np.maximum(starts - 1, 0)])
    broken |= np.isnan(table.level[np.minimum(stops, len(lit) - 1)])
    hours = (stops - starts) * table.minutes / 60.0
    middle = (starts + stops) // 2
    usual = np.unique(table.day[usual_days(table)] if table.is_open.any() else table.day)
    use = ~broken & (hours >= LEAST_HOURS) & (hours <= MOST_HOURS) & np.isin(table.day[middle], usual)
    starts, stops, hours, middle = starts[use], stops[use], hours[use], middle[use]
    order = np.lexsort((hours, table.day[middle]))
    day = table.day[middle][order]
    longest = order[np.append(day[1:] != day[:-1], True)] if len(order) else order
    at = middle[longest]
    begin = table.hour[at] - (at - starts[longest]) * table.minutes / 60.0
    weight = np.full(len(at), MOST_WEIGHT)
    return Daily(table.day[at], begin, weight), Daily(table.day[at], begin + hours[longest], weight)


def clock_moves(evidence: ZoneEvidence) -> list[SettingFinding]:
    """The schedule's shift where the edges of the day moved as a clock moves them; at most one."""
    zone, table, confidence = evidence.zone.id, evidence.record.table, evidence.confidence
    edges = day_edges(table, evidence.floor.base)
    lit = np.where(np.isfinite(table.level), table.level > evidence.floor.base + LIT_ABOVE_BASE, np.nan)
    first, last = (
        [move for move in _moves(daily, table.minutes) if not _spells_met(table, lit, daily, move, gains)]
        for daily, gains in zip(edges, (-1.0, 1.0), strict=True)
    )
    found = _both(first, last) or _one(first, last, edges, _room(table.minutes), _sun_edges(evidence))
    if found is None:
        return []
    room = DOUBT_HOURS + table.minutes / 60.0 / 2.0
    observed = Estimate(found.hours, found.hours - room, found.hours + room, confidence)
    since = day_date(found.day)
    way = "later" if found.hours > 0 else "earlier"
    why = f"lamps come on or go off {abs(found.hours):.1f} hours {way} every day since {since}"
    earlier = Estimate(0.0, -room, room, confidence)
    return [
        SettingFinding(zone, "schedule_shift_hours", None, observed, "moved", since, why, earlier=earlier)
    ]


def _moves(edge: Daily, minutes: float) -> list[_Move]:
    """The moves of an edge; one that the next undid leaves none."""
    step = max(STEP_HOURS, 0.75 * minutes / 60.0)
    found = levels(edge, least_step=step, least_days=LEAST_DAYS)
    parts = [edge.within(level.first_day, level.last_day) for level in found]
    sharp = [_sharp(part, level.value, _room(minutes)) for part, level in zip(parts, found, strict=True)]
    moves: list[_Move] = []
    for at, (one, two) in enumerate(itertools.pairwise(found)):
        known = one.days >= USUAL_DAYS and two.days >= SURE_DAYS
        one_reading = minutes > FINE_MINUTES and abs(two.value - one.value) < 1.5 * minutes / 60.0
        drawn = all if one_reading else any  # people too come within one coarse reading for a while
        move = _Move(two.first_day, one.value, two.value, known and drawn(sharp[at : at + 2]))
        if moves and abs(two.value - moves[-1].before) < step:
            moves.pop()
        else:
            moves.append(move)
    return moves


def _spells_met(table: ZoneTable, lit: FloatArray, edge: Daily, move: _Move, gains: float) -> bool:
    """True where the hours that an edge crossed burned mostly before it came or after it left.

    Light of the dark morning or evening that grows with the season until it meets the day's own moves
    the edge of the whole at once. `gains` is the sign of a move that adds light.
    """
    width = abs(move.hours)
    crossed = (table.hour - min(move.before, move.after)) % 24.0 < width - 1e-6
    came = move.hours * gains > 0
    first, last = (move.day - BESIDE_DAYS, move.day - 1) if came else (move.day, move.day + BESIDE_DAYS)
    beside = (table.day >= first) & (table.day <= last) & np.isin(table.day, edge.day)
    rows = crossed & beside & np.isfinite(lit)
    return bool(rows.any() and lit[rows].mean() >= MOSTLY_LIT)


def _room(minutes: float) -> float:
    """Hours within which an edge that a clock draws stands."""
    return SHARP_HOURS + (minutes / 60.0 / 2.0 if minutes <= FINE_MINUTES else 0.0)


def _sharp(part: Daily, hour: float, room: float) -> bool:
    return bool(np.mean(np.abs(part.value - hour) <= room) >= SHARP_DAYS)


def _stands(edge: Daily, day: int, room: float) -> bool:
    """True where an edge that a clock draws did not move on a day: then no clock did."""
    sides = edge.within(day - BESIDE_DAYS, day - 1), edge.within(day + 1, day + BESIDE_DAYS)
    if min(len(side) for side in sides) < LEAST_DAYS:
        return False
    hours = [float(np.median(side.value)) for side in sides]
    sharp = all(_sharp(side, hour, room) for side, hour in zip(sides, hours, strict=True))
    return sharp and abs(hours[1] - hours[0]) < OTHER_HOURS


def _both(first: list[_Move], last: list[_Move]) -> _Move | None:
    """The last move that both edges made alike, one of them sharply."""
    alike = [
        replace(one if one.sharp else other, day=min(one.day, other.day))
        for one in first
        for other in last
        if abs(one.day - other.day) <= SAME_DAYS
        and abs(one.hours - other.hours) <= max(SAME_HOURS, SAME_SHARE * abs(one.hours))
        and (one.sharp or other.sharp)
    ]
    good = [move for move in alike if abs(move.hours) <= LARGEST_HOURS]
    return good[-1] if good else None


def _one(
    first: list[_Move], last: list[_Move], edges: tuple[Daily, Daily], room: float, sun: tuple[Daily, ...]
) -> _Move | None:
    """The last sharp move of one edge, where the other did not go the other way or sharply stay.

    An edge that the dusk or the dawn (`sun`) went along with may be daylight's: the other must then
    have moved with it.
    """
    good = [
        move
        for moves, other in ((first, edges[1]), (last, edges[0]))
        for move in moves
        if move.sharp
        and abs(move.hours) <= LARGEST_HOURS
        and not _stands(other, move.day, room)
        and _shift_at(other, move.day) * np.sign(move.hours)
        > (WENT_ALONG * abs(move.hours) if _with_the_sun(move, sun) else -OTHER_HOURS)
    ]
    return max(good, key=lambda move: move.day) if good else None


def _sun_edges(evidence: ZoneEvidence) -> tuple[Daily, ...]:
    """Each day's sunrise and sunset, where readings are so coarse that an edge drifting with them looks
    sharp, and lamps may heed them."""
    table = evidence.record.table
    if table.minutes <= FINE_MINUTES or not evidence.may_dim:
        return ()
    up = table.sun > 0.0
    found = []
    for at in (np.flatnonzero(~up[:-1] & up[1:]), np.flatnonzero(up[:-1] & ~up[1:])):
        share = table.sun[at] / (table.sun[at] - table.sun[at + 1])
        hour = table.hour[at] + (0.5 + share) * table.minutes / 60.0
        found.append(Daily(table.day[at], hour, np.full(len(at), MOST_WEIGHT)))
    return tuple(found)


def _with_the_sun(move: _Move, sun: tuple[Daily, ...]) -> bool:
    """True where the nearer of dawn and dusk went a good part of the way in the same weeks."""
    seen = [edge.within(move.day - BESIDE_DAYS, move.day + BESIDE_DAYS) for edge in sun]
    near = [
        (abs(float(np.median(part.value)) - (move.before + move.after) / 2), edge)
        for part, edge in zip(seen, sun, strict=True)
        if len(part)
    ]
    if not near:
        return False
    edge = min(near, key=lambda pair: pair[0])[1]
    few = abs(move.hours) <= ONE_READING_HOURS
    least = DRIFT_HOURS if few else WENT_ALONG * abs(move.hours)
    return bool(_shift_at(edge, move.day) * np.sign(move.hours) >= least)


def _shift_at(edge: Daily, day: int) -> float:
    """Hours by which an edge's usual time differs between the weeks before a day and those after."""
    before, after = edge.within(day - BESIDE_DAYS, day - 1), edge.within(day + 1, day + BESIDE_DAYS)
    if not len(before) or not len(after):
        return 0.0
    return float(np.median(after.value) - np.median(before.value))
