"""What a departure from the agreed settings costs, in kWh a month."""

import numpy as np

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.controls.motion_age import BoolArray, FloatArray, motion_share
from mv.controls.verdicts import quantile_factor
from mv.controls.zone_table import ZoneRecord

DAYS_A_MONTH = 30.4375  # 365.25 / 12


def _rows(record: ZoneRecord, first_day: int) -> BoolArray:
    return (record.table.day >= first_day) & np.isfinite(record.table.level)


def _per_month(record: ZoneRecord, level_hours: float, rows: BoolArray) -> float:
    """Level-hours summed over the rows, as kWh a month of such rows."""
    days = rows.sum() * record.table.minutes / 1440.0
    return level_hours * record.full_kw * DAYS_A_MONTH / days if days else 0.0


def trim_effect(
    record: ZoneRecord, *, first_day: int, now: Estimate, then: float, vacant_level: float
) -> Answer:
    """Lamps above the midway of vacant and full level burn now/then as much as agreed."""
    rows = _rows(record, first_day)
    lit = rows & (record.table.level > 0.5 * (vacant_level + float(now.estimate)))
    hours = record.table.level[lit].sum() * record.table.minutes / 60.0
    unit = _per_month(record, hours, rows) / float(now.estimate)
    return _times(now, then, unit)


def low_effect(
    record: ZoneRecord, *, first_day: int, now: Estimate, then: float, wait_minutes: float
) -> Answer:
    """Hours open and vacant at the new level instead of the agreed one."""
    rows = _rows(record, first_day)
    table = record.table
    if record.runs is None:
        vacant = rows & table.is_open & (np.abs(table.level - float(now.estimate)) <= 0.03)
    else:
        vacant = rows & table.is_open & (table.age >= wait_minutes)
    return _times(now, then, _per_month(record, vacant.sum() * table.minutes / 60.0, rows))


def hold_effect(
    record: ZoneRecord,
    *,
    first_day: int,
    now: Estimate,
    then: float,
    full_level: float,
    open_low: float,
    closed_low: float,
) -> Answer:
    """Minutes lit by the new hold and not by the agreed one, over the motion that was."""
    if record.runs is None:
        return CannotSay("effect of the hold time", "there is no motion log")
    table = record.table
    rows = _rows(record, first_day) & np.isfinite(table.age)
    gain = full_level - np.where(table.is_open, open_low, closed_low)
    agreed = motion_share(record.runs, table.start, table.minutes, max(then, 0.0))

    def extra(minutes: float) -> float:
        share = motion_share(record.runs, table.start, table.minutes, max(minutes, 0.0))  # type: ignore[arg-type]
        hours = float(((share - agreed) * gain)[rows].sum()) * table.minutes / 60.0
        return _per_month(record, hours, rows)

    assert now.low is not None and now.high is not None
    ends = sorted((extra(now.low), extra(now.high)))
    return Estimate(extra(float(now.estimate)), ends[0], ends[1], now.confidence)


def night_effect(record: ZoneRecord, *, first_day: int, base: float, confidence: float) -> Answer:
    """Energy above the floor in closed hours without motion."""
    rows = _rows(record, first_day)
    table = record.table
    idle = rows & ~table.is_open & ~(table.age < 60.0)
    above = np.maximum(table.level[idle] - base, 0.0)
    hours = float(above.sum()) * table.minutes / 60.0
    amount = _per_month(record, hours, rows)
    spread = quantile_factor(confidence, 60) * amount / np.sqrt(max(len(np.unique(table.day[idle])), 1)) * 0.5
    return Estimate(amount, amount - spread, amount + spread, confidence)


def standby_effect(
    record: ZoneRecord, *, first_day: int, now: Estimate, then: float, fixtures: float
) -> Answer:
    """Watts a fixture times the hours at the floor."""
    rows = _rows(record, first_day)
    floor = float(now.estimate) * fixtures / 1000.0 / record.full_kw
    off = rows & (record.table.level <= floor + 0.03)
    days = rows.sum() * record.table.minutes / 1440.0
    hours = off.sum() * record.table.minutes / 60.0 * (DAYS_A_MONTH / days if days else 0.0)
    return _times(now, then, fixtures / 1000.0 * hours)


def daylight_effect(
    record: ZoneRecord, *, first_day: int, depth: FloatArray, full_level: float, confidence: float
) -> Answer:
    """Lit hours under the sun times the fall the lamps showed while the control was alive."""
    if len(depth) < 5:
        return CannotSay(
            "effect of daylight dimming",
            "the control was never seen alive",
        )
    rows = _rows(record, first_day)
    table = record.table
    lit = rows & (table.sun > 0.0) & (table.level > 0.5 * full_level)
    hours = float(table.level[lit].sum()) * table.minutes / 60.0
    unit = _per_month(record, hours, rows)
    mean, error = float(np.mean(depth)), float(np.std(depth) / np.sqrt(len(depth)))
    return Estimate(unit * mean, unit * (mean - 2.5 * error), unit * (mean + 2.5 * error), confidence)


def _times(now: Estimate, then: float, unit: float) -> Estimate:
    assert now.low is not None and now.high is not None
    middle = float(now.estimate)
    return Estimate((middle - then) * unit, (now.low - then) * unit, (now.high - then) * unit, now.confidence)
