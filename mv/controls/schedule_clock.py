"""The controller's own clock and hours, told from when resting lamps change their level.

Where lamps rest at another level inside the scheduled hours than outside, the day's hours shifted
by what fits the readings best show how far the schedule is off. Nights on which lamps were left on,
though the schedule works, are counted here too.
"""

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.base.spells import spells_of
from mv.controls.daily import NO_DAYS, BoolArray, Daily, FloatArray, daily_mean
from mv.controls.effects import DAYS_A_MONTH
from mv.controls.evidence import ZoneEvidence
from mv.controls.nights import LIT_SHARE, nights_lit
from mv.controls.steps import levels
from mv.controls.tolerances import TRIM
from mv.controls.verdicts import Scale, day_date, numeric_finding, quantile_factor

LARGEST_SHIFT_HOURS = 4.0  # looked for either way; common practice, no source
SHIFT_STEP_HOURS = 0.4  # a change of the schedule that counts; common practice, no source
LEAST_CONTRAST = 0.05  # level between resting inside and outside hours; common practice, no source
MOST_AGAINST_MINUTES = 240.0  # of a day that may go against the best shift; common practice, no source
FEWEST_NIGHTS = 3  # spells of nights left on that make a fault recurring; common practice, no source
LEAST_NIGHT_SHARE = 0.03  # of nights; common practice, no source
MOSTLY_DARK = 0.35  # share of a night with lamps on up to which it is a dark one; common practice, no source


def schedule_signs(evidence: ZoneEvidence) -> list[SettingFinding]:
    """A shifted schedule, and nights on which lamps were left on now and then."""
    shift = daily_shift(evidence)
    signs = []
    found = levels(shift, least_step=SHIFT_STEP_HOURS, least_days=4)
    if len(found) > 1 and abs(found[-1].value) < LARGEST_SHIFT_HOURS - 0.5:
        signs.append(
            numeric_finding(
                evidence.zone.id,
                "schedule_shift_hours",
                agreed=None,
                levels=found,
                tolerance=TRIM,
                scale=Scale("the schedule's shift against the hours", "h", 1, 0.2, evidence.confidence),
                last_day=evidence.last_day,
            )
        )
    return signs + _nights_left_on(evidence)


def daily_shift(evidence: ZoneEvidence) -> Daily:
    """Hours by which each day's schedule runs late (positive) or early; empty where it cannot show."""
    table = evidence.record.table
    resting = np.isfinite(table.level)
    if evidence.has_motion:
        hold = evidence.hold[-1].value if evidence.hold else 45.0
        still = table.age_max >= table.age + table.minutes - 1e-6
        resting &= (table.age >= hold + 3.0) & still
    elif evidence.zone.commissioned.hold_minutes is not None:
        return NO_DAYS  # lamps follow motion that is not known
    inside, outside = table.level[resting & table.is_open], table.level[resting & ~table.is_open]
    if len(inside) < 50 or len(outside) < 50:
        return NO_DAYS
    high, low = float(np.median(inside)), float(np.median(outside))
    if high - low < LEAST_CONTRAST:
        return NO_DAYS
    lit = table.level > 0.5 * (high + low)
    return _best_shifts(table.day, lit, resting, table.is_open, table.minutes)


def _best_shifts(
    day: np.ndarray, lit: BoolArray, resting: BoolArray, is_open: BoolArray, minutes: float
) -> Daily:
    """Each day's shift of the hours with fewest readings against it; days without a clear best are out."""
    step = max(1, round(15.0 / minutes))
    reach = int(LARGEST_SHIFT_HOURS * 60.0 / minutes / step)
    shifts = sorted((k * step for k in range(-reach, reach + 1)), key=abs)
    days, code = np.unique(day, return_inverse=True)
    wrong = np.empty((len(shifts), len(days)))
    for i, shift in enumerate(shifts):
        against = resting & (np.roll(is_open, shift) != lit)
        wrong[i] = np.bincount(code, weights=against, minlength=len(days))
    best = wrong.argmin(axis=0)
    edges = np.bincount(code[1:], weights=is_open[1:] != is_open[:-1], minlength=len(days))
    worst_near = wrong[: max(3, len(shifts) // 2)].max(axis=0)
    clear = (edges >= 2) & (worst_near - wrong.min(axis=0) >= 90.0 / minutes)
    clear &= wrong.min(axis=0) <= MOST_AGAINST_MINUTES / minutes
    hours = np.array(shifts)[best] * minutes / 60.0
    return Daily(days[clear].astype(np.int64), hours[clear], np.full(int(clear.sum()), 12.0))


def _nights_left_on(evidence: ZoneEvidence) -> list[SettingFinding]:
    """Separate nights with lamps on while most nights are dark."""
    nights = nights_lit(evidence)
    if evidence.floor.kind in ("open", "unknown") or len(nights) < 30:
        return []
    found = levels(nights, least_step=0.25)
    calm: FloatArray = np.zeros(len(nights))
    for level in found:
        inside = (nights.day >= level.first_day) & (nights.day <= level.last_day)
        calm[inside] = level.value
    left = (nights.value >= LIT_SHARE) & (calm < MOSTLY_DARK)
    spells = spells_of(left, [day_date(day) for day in nights.day.tolist()])
    if len(spells) < FEWEST_NIGHTS or left.mean() < LEAST_NIGHT_SHARE:
        return []
    share = float(left.mean())
    error = quantile_factor(evidence.confidence, len(nights)) * float(
        np.sqrt(share * (1 - share) / len(nights))
    )
    observed = Estimate(share, max(share - error, 0.0), share + error, evidence.confidence)
    since = spells[0][0]
    why = (
        f"lamps were left on through {int(left.sum())} of {len(nights)} nights, in {len(spells)} spells, "
        f"the first on {since}, the last on {spells[-1][0]}"
    )
    effect = _night_energy(evidence, nights.day[left])
    zone = evidence.zone.id
    return [
        SettingFinding(zone, "nights_left_on", None, observed, "moved", since, why, effect, spells=spells)
    ]


def _night_energy(evidence: ZoneEvidence, nights: np.ndarray) -> Estimate:
    table = evidence.record.table
    rows = ~table.is_open & np.isfinite(table.level) & np.isin(table.day, nights) & ~(table.age < 60.0)
    above = np.maximum(table.level[rows] - evidence.floor.base, 0.0)
    months = len(np.unique(table.day)) / DAYS_A_MONTH
    kwh = float(above.sum()) * table.minutes / 60.0 * evidence.record.full_kw / max(months, 0.1)
    by_night = daily_mean(table.day[rows], above)
    spread = (
        float(np.std(by_night.value) / max(float(np.mean(by_night.value)), 1e-9)) if len(by_night) else 0.0
    )
    half = kwh * spread * 1.645 / float(np.sqrt(max(len(by_night), 1)))
    return Estimate(kwh, kwh - half, kwh + half, evidence.confidence)
