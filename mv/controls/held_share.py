"""A hold time that changed, told from how much of each reading the lamps burn.

Where readings are too coarse to show lamps fall after single motions, the log still tells for any hold
time H the share of every reading in which lamps would burn, and the load is linear in it: from the vacant
level to the full one. The H that leaves least unexplained is the hold time; a day that parts two of them
is where it changed. Own derivation. Zones of several sensors, whose lamps burn in part, do not fit.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.controls.daily import BoolArray, FloatArray, IntArray
from mv.controls.effects import hold_effect
from mv.controls.evidence import ZoneEvidence
from mv.controls.motion_age import motion_share
from mv.controls.verdicts import day_date
from mv.controls.zone_table import ZoneTable

HOLDS = np.array([0, 1, 2, 3, 5, 8, 10, 12, 15, 20, 25, 30, 35, 40, 50, 60, 75, 90.0])  # minutes tried
FINER = np.linspace(-1.0, 1.0, 21)  # of the way to the next of them, tried thereafter
NO_SUN_DEG = 3.0  # sun elevation below which daylight hardly moves lamps; common practice, no source
AWAY_MINUTES = 60.0  # from opening and closing, where schedules move lamps; common practice, no source
FEWEST_DAYS = 10  # on either side of a change; common practice, no source
FEWEST_ROWS = 40  # readings on either side; common practice, no source
FIT = 0.9  # of the load's variance that the share lit must explain on either side; no source
SURE = 60.0  # log likelihood that a change must gain; quiet zones stay below 12; no source
LEAST_STEP_MINUTES, LEAST_STEP_SHARE = 4.0, 0.3  # by which a hold time must move; common practice, no source
ALIKE_NOISE = 4.0  # variances of one reading by which two dates may differ and be alike; no source
DOUBT_MINUTES, DOUBT_SHARE = 2.0, 0.1  # half-width of a hold time told so; common practice, no source


@dataclass(frozen=True)
class _Sums:
    """Running sums over days of one state's readings, one row a hold time tried where it depends on it."""

    count: FloatArray
    y: FloatArray
    yy: FloatArray
    s: FloatArray
    ss: FloatArray
    sy: FloatArray

    def unexplained(self, first: IntArray, last: IntArray) -> tuple[FloatArray, FloatArray]:
        """Sum of squares left by each hold time from day `first` to before `last`, and that without any."""
        n = np.maximum(self.count[last] - self.count[first], 1.0)
        y = self.y[last] - self.y[first]
        s = self.s[:, last] - self.s[:, first]
        total = self.yy[last] - self.yy[first] - y**2 / n
        ss = self.ss[:, last] - self.ss[:, first] - s**2 / n
        sy = self.sy[:, last] - self.sy[:, first] - s * y / n
        slope = np.maximum(sy, 0.0) / np.maximum(ss, 1e-9)  # more time lit never takes less
        return np.maximum(total - slope * np.maximum(sy, 0.0), 1e-12), np.maximum(total, 1e-12)

    def left_by_line(self, place: int, first: int, last: int) -> FloatArray:
        """Running sum of what the line of a hold time, fitted from day `first` to `last`, leaves."""
        n = max(float(self.count[last] - self.count[first]), 1.0)
        y, s = self.y[last] - self.y[first], self.s[place, last] - self.s[place, first]
        ss = self.ss[place, last] - self.ss[place, first] - s**2 / n
        sy = self.sy[place, last] - self.sy[place, first] - s * y / n
        slope = sy / max(float(ss), 1e-9)
        level = (y - slope * s) / n
        squares = self.yy + slope**2 * self.ss[place] + level**2 * self.count
        mixed = slope * self.sy[place] + level * self.y - slope * level * self.s[place]
        return np.asarray(squares - 2.0 * mixed)


def hold_change(evidence: ZoneEvidence) -> list[SettingFinding]:
    """The hold time's change where the share of time lit tells it; none where it does not fit the load."""
    rows = _rows(evidence)
    days = np.unique(evidence.record.table.day[rows])
    if evidence.record.runs is None or len(days) < 2 * FEWEST_DAYS:
        return []
    parted = _parted(_sums(evidence, rows, days, HOLDS))
    if parted is None:
        return []
    cut, before, after = parted
    earlier = rows & (evidence.record.table.day < days[cut])
    was, now = _finer(evidence, earlier, days, before), _finer(evidence, rows & ~earlier, days, after)
    if abs(now - was) < max(LEAST_STEP_MINUTES, LEAST_STEP_SHARE * was):
        return []
    at = _dated(_sums(evidence, rows, days, np.array([was, now])), cut)
    if not FEWEST_DAYS <= at <= len(days) - FEWEST_DAYS:
        return []  # few days lie where the line was drawn so that both sides had enough of them
    return [_finding(evidence, was, now, int(days[at]))]


def dated_by_share(evidence: ZoneEvidence, found: SettingFinding) -> SettingFinding:
    """A hold time never seen as agreed, with its day where the share of time lit knows one before it."""
    return with_day_of(found, hold_change(evidence)) if found.since is None else found


def with_day_of(found: SettingFinding, signs: Sequence[SettingFinding]) -> SettingFinding:
    """The finding with the day of a sign that ends at the same hold time and began nearer to the agreed."""
    now, agreed = found.observed, found.commissioned
    for sign in signs if found.since is None else ():
        was, then = sign.earlier, sign.observed
        if isinstance(now, Estimate) and isinstance(was, Estimate) and isinstance(then, Estimate):
            room = max(LEAST_STEP_MINUTES, LEAST_STEP_SHARE * now.estimate)
            nearer = agreed is not None and abs(was.estimate - agreed) < abs(now.estimate - agreed)
            if nearer and abs(then.estimate - now.estimate) <= room:
                return replace(found, since=sign.since, earlier=was, why=f"{found.why}; {sign.why}")
    return found


def _rows(evidence: ZoneEvidence) -> BoolArray:
    """Readings well within or without the hours, where daylight does not move lamps and the log tells."""
    table = evidence.record.table
    good = well_within(table) & np.isfinite(table.level) & np.isfinite(table.age_max)
    return np.asarray(good & (table.sun < NO_SUN_DEG) if evidence.may_dim else good)


def well_within(table: ZoneTable) -> BoolArray:
    """Rows with no opening or closing beside them."""
    beside = max(1, round(AWAY_MINUTES / table.minutes))
    turned = np.concatenate(([0], np.cumsum(table.is_open[1:] != table.is_open[:-1])))
    at = np.arange(len(table))
    last, first = np.minimum(at + beside, len(table) - 1), np.maximum(at - beside, 0)
    return np.asarray(turned[last] == turned[first])


def _sums(evidence: ZoneEvidence, rows: BoolArray, days: IntArray, holds: FloatArray) -> list[_Sums]:
    """Of open and of closed readings, whose vacant levels differ."""
    table = evidence.record.table
    states = [rows & table.is_open, rows & ~table.is_open]
    return [_state_sums(evidence, state, days, holds) for state in states if state.any()]


def _state_sums(evidence: ZoneEvidence, rows: BoolArray, days: IntArray, holds: FloatArray) -> _Sums:
    table, runs = evidence.record.table, evidence.record.runs
    assert runs is not None
    code, y = np.searchsorted(days, table.day[rows]), table.level[rows]

    def running(value: FloatArray) -> FloatArray:
        return np.concatenate(([0.0], np.cumsum(np.bincount(code, weights=value, minlength=len(days)))))

    shares = [motion_share(runs, table.start[rows], table.minutes, hold) for hold in holds.tolist()]
    return _Sums(
        running(np.ones(len(y))),
        running(y),
        running(y * y),
        np.stack([running(share) for share in shares]),
        np.stack([running(share * share) for share in shares]),
        np.stack([running(share * y) for share in shares]),
    )


def _unexplained(sums: list[_Sums], first: IntArray, last: IntArray) -> tuple[FloatArray, FloatArray]:
    parts = [part.unexplained(first, last) for part in sums]
    return np.sum([left for left, _ in parts], axis=0), np.sum([every for _, every in parts], axis=0)


def _parted(sums: list[_Sums]) -> tuple[int, int, int] | None:
    """The day that parts two hold times best, and their places; None where none surely does."""
    count = np.sum([part.count for part in sums], axis=0)
    n = len(count) - 1
    cuts = np.arange(FEWEST_DAYS, n - FEWEST_DAYS + 1)
    left, left_all = _unexplained(sums, np.zeros_like(cuts), cuts)
    right, right_all = _unexplained(sums, cuts, np.full_like(cuts, n))
    at = int(np.argmin(left.min(axis=0) + right.min(axis=0)))
    before, after = int(left[:, at].argmin()), int(right[:, at].argmin())
    fits = left[before, at] <= (1 - FIT) * left_all[at] and right[after, at] <= (1 - FIT) * right_all[at]
    enough = FEWEST_ROWS <= count[cuts[at]] <= count[-1] - FEWEST_ROWS
    one, two = float((left + right)[:, at].min()), float(left[before, at] + right[after, at])
    sure = 0.5 * float(count[-1]) * float(np.log(one / two)) >= SURE
    return (int(cuts[at]), before, after) if fits and enough and sure else None


def _finer(evidence: ZoneEvidence, rows: BoolArray, days: IntArray, place: int) -> float:
    """The hold time between those tried that leaves least unexplained."""
    nearest = HOLDS[max(place - 1, 0)], HOLDS[min(place + 1, len(HOLDS) - 1)]
    way = np.where(FINER < 0, HOLDS[place] - nearest[0], nearest[1] - HOLDS[place])
    tried = HOLDS[place] + FINER * way
    ends = np.array([0]), np.array([len(days)])
    left, _ = _unexplained(_sums(evidence, rows, days, tried), *ends)
    return float(tried[int(left[:, 0].argmin())])


def _dated(sums: list[_Sums], cut: int) -> int:
    """Place of the first day that shows the second of two hold times.

    Days on which both light the lamps alike tell nothing, and are left to the first.
    """
    n = len(sums[0].count) - 1
    left = np.sum([part.left_by_line(0, 0, cut) for part in sums], axis=0)
    right = np.sum([part.left_by_line(1, cut, n) for part in sums], axis=0)
    total = left + right[-1] - right
    noise = float(total[cut]) / max(float(sum(part.count[-1] for part in sums)), 1.0)
    close = np.flatnonzero(total <= total.min() + ALIKE_NOISE * noise)
    return min(int(close[-1]), n - 1)


def _finding(evidence: ZoneEvidence, was: float, now: float, day: int) -> SettingFinding:
    minutes, since = evidence.record.table.minutes, day_date(day)
    earlier, observed = (_estimate(value, evidence.confidence) for value in (was, now))
    effect = hold_effect(
        evidence.record,
        first_day=day,
        now=observed,
        then=was,
        full_level=evidence.trim[-1].value if evidence.trim else 1.0,
        open_low=evidence.low[-1].value if evidence.low else evidence.floor.base,
        closed_low=evidence.floor.base,
    )
    why = (
        f"the loads of {minutes:.0f} minutes fit a hold time of about {was:.0f} minutes until {since} and of "
        f"about {now:.0f} minutes since"
    )
    return SettingFinding(
        evidence.zone.id, "hold_minutes", None, observed, "moved", since, why, effect, earlier
    )


def _estimate(minutes: float, confidence: float) -> Estimate:
    room = max(DOUBT_MINUTES, DOUBT_SHARE * minutes)
    return Estimate(minutes, max(minutes - room, 0.0), minutes + room, confidence)
