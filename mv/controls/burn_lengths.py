"""How long lamps burn at least each time they come on: the time delay, seen without a motion log.

However short a visit, lamps burn for the time delay. So the shortest burns stand just above the delay,
and where it is lengthened no burn is as short as many were before. Each burn's length is its energy
above the vacant level over the step to full, which the meter's interval does not blur.
"""

from dataclasses import dataclass

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.base.spells import runs_of
from mv.controls.daily import FloatArray, IntArray
from mv.controls.evidence import ZoneEvidence
from mv.controls.verdicts import day_date
from mv.controls.zone_table import ZoneTable

COARSEST_MINUTES = 15.0  # readings longer than this join burns; common practice, no source
DARK_SUN_DEG = 2.0  # sun elevation below which daylight does not shorten a burn; no source
LEAST_RISE = 0.15  # level between vacant and full, for burns to show; common practice, no source
NEAR_FULL = 0.8  # of that rise, which a burn must reach for its length to be read; no source
NOISE = 0.06  # of the rise, which a resting zone's readings may reach; common practice, no source
LEAST_STEP_MINUTES = 4.0  # by which the shortest burn must move; common practice, no source
LEAST_STEP_SHARE = 0.3  # the same as a share of what it was; common practice, no source
WERE_SHORT = 0.08  # share of burns shorter than a length, before; common practice, no source
ARE_SHORT = 0.02  # share of burns that still are, after; common practice, no source
SURE = 12.0  # log likelihood that a change must gain: 6 per million by chance; no source
FEWEST_BURNS = 20  # on either side of the change; common practice, no source
LENGTHS = 3.0 * 1.2 ** np.arange(24)  # minutes that are tried as the parting length
SHORTEST = 0.05  # quantile of burns that stands for the shortest; common practice, no source


@dataclass(frozen=True)
class _Parted:
    """Burns parted in two by a day: the first burn of the later part, and what the parting gains."""

    at: int
    gain: float
    length: float


def burn_signs(evidence: ZoneEvidence) -> list[SettingFinding]:
    """A change of the shortest burns that no chance explains; none where sensors do not rule."""
    if evidence.zone.commissioned.hold_minutes is None:
        return []
    day, length = burns(evidence)
    found = [_best_parting(day, length, longer=longer) for longer in (True, False)]
    best = max((part for part in found if part is not None), key=lambda part: part.gain, default=None)
    if best is None:
        return []
    old, new = (float(np.quantile(part, SHORTEST)) for part in (length[: best.at], length[best.at :]))
    if abs(new - old) < max(LEAST_STEP_MINUTES, LEAST_STEP_SHARE * min(old, new)):
        return []
    since = day_date(day[best.at])
    why = (
        f"the shortest time that lamps burn once they come on went from about {old:.0f} to {new:.0f} "
        f"minutes on {since}, as when the time delay changes"
    )
    minutes, confidence = evidence.record.table.minutes, evidence.confidence
    now, was = (_estimate(value, minutes, confidence) for value in (new, old))
    return [SettingFinding(evidence.zone.id, "burn_minutes", None, now, "moved", since, why, earlier=was)]


def burns(evidence: ZoneEvidence) -> tuple[IntArray, FloatArray]:
    """Day and minutes of each burn between two rests, in order of time; empty where none can be read."""
    table = evidence.record.table
    nothing = np.zeros(0, dtype=np.int64), np.zeros(0)
    if (
        table.minutes > COARSEST_MINUTES
        or not evidence.trim
        or len(evidence.low) > 1
        or len(evidence.floors) > 1
    ):
        return nothing
    full, base = evidence.trim[-1].value, evidence.floor.base
    low = evidence.low[-1].value if evidence.low else base
    if full - low < LEAST_RISE:
        return nothing
    rest = np.where(table.is_open, low, min(low, base))
    share = (table.level - rest) / (full - rest)
    starts, stops = runs_of(np.nan_to_num(share, nan=0.0) > NOISE)
    inside = (starts > 0) & (stops < len(share))
    starts, stops = starts[inside], stops[inside]
    alike = table.is_open[starts - 1] == table.is_open[stops]  # else the rest level changed meanwhile
    return _lengths(table, share, starts[alike], stops[alike], dims=evidence.may_dim)


def _lengths(
    table: ZoneTable, share: FloatArray, starts: IntArray, stops: IntArray, *, dims: bool
) -> tuple[IntArray, FloatArray]:
    held = np.clip(np.nan_to_num(share, nan=0.0), 0.0, 1.2)
    total = np.concatenate(([0.0], np.cumsum(held)))
    minutes = (total[stops] - total[starts]) * table.minutes
    unread = np.concatenate(([0], np.cumsum(~np.isfinite(share))))
    good = unread[np.minimum(stops + 1, len(share))] == unread[np.maximum(starts - 1, 0)]
    peak = np.array([held[a:b].max() for a, b in zip(starts, stops, strict=True)])
    good &= (peak >= NEAR_FULL) | (stops - starts <= 2)
    if dims:
        light = np.concatenate(([0], np.cumsum(~(table.sun < DARK_SUN_DEG))))
        good &= light[stops] == light[starts]  # dark all through: a winter's whole days begin and end so too
    good &= minutes >= 1.0
    return table.day[starts][good], minutes[good]


def _best_parting(day: IntArray, length: FloatArray, *, longer: bool) -> _Parted | None:
    """Where many burns were shorter than some length and next to none is later, or the reverse."""
    begins = np.flatnonzero(np.diff(day)) + 1
    begins = begins[(begins >= FEWEST_BURNS) & (begins <= len(day) - FEWEST_BURNS)]
    if not len(begins):
        return None
    best = None
    for limit in LENGTHS:
        total = np.concatenate(([0.0], np.cumsum(length < limit)))
        before, after = total[begins] / begins, (total[-1] - total[begins]) / (len(day) - begins)
        many, few = (before, after) if longer else (after, before)
        gain = (
            _likelihood(before, begins)
            + _likelihood(after, len(day) - begins)
            - _likelihood(total[-1:] / len(day), np.array([len(day)]))
        )
        gain = np.where((many >= WERE_SHORT) & (few <= ARE_SHORT), gain, 0.0)
        at = int(np.argmax(gain))
        if gain[at] >= SURE and (best is None or gain[at] > best.gain):
            best = _Parted(int(begins[at]), float(gain[at]), float(limit))
    return best


def _likelihood(share: FloatArray, number: IntArray) -> FloatArray:
    """Log likelihood of so many burns of which this share are short, at its own best share."""
    inside = np.clip(share, 1e-12, 1.0 - 1e-12)
    return np.asarray(number * (share * np.log(inside) + (1.0 - share) * np.log(1.0 - inside)))


def _estimate(value: float, minutes: float, confidence: float) -> Estimate:
    room = max(1.0, 0.2 * minutes)
    return Estimate(value, max(value - room, 0.0), value + room, confidence)
