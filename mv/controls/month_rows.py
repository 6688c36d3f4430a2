"""What one month shows of every setting, whether or not it was agreed."""

import numpy as np

from mv.base.study_records import Zone
from mv.controls.always_on import always_on
from mv.controls.daily import Daily
from mv.controls.daylight import month_answer
from mv.controls.evidence import hold_days
from mv.controls.hindrances import BEFORE_THE_END
from mv.controls.hold_offset import grid_doubt, hold_offset
from mv.controls.month_record import MonthView
from mv.controls.monthly import Row, month_name
from mv.controls.tolerances import METER_CLASS
from mv.controls.verdicts import quantile_factor
from mv.controls.zone_table import ZoneRecord

FEWEST_DAYS = 2  # days with a reading that make a month's value; common practice, no source
FLOOR_ROOM = 0.015  # level within which vacant lamps count as off; common practice, no source


def month_rows(
    zone: Zone, record: ZoneRecord, view: MonthView, *, dimmed_before: bool, confidence: float
) -> list[Row]:
    """One row a setting. `dimmed_before`: an earlier month showed an answer to daylight."""
    name = month_name(view.month)
    answer = month_answer(view)
    dark = view.daily["dark"]
    dims = answer is True or dimmed_before
    low = view.daily["low_dark"] if dims else view.daily["low"]
    lowest = float(np.median(low.value)) if len(low) else None
    floor = always_on(zone, record, view.base, lowest)
    rows: list[Row] = [(name, "daylight_dimming", answer, None, None, _unless(answer))]
    rows.append(_hold_row(name, view, confidence, record.table.minutes))
    rows.append(_night_row(name, view))
    if not record.load_known:
        return rows
    trim = dark if dims else view.daily["on_any"]
    full = float(np.median(trim.value)) if len(trim) else zone.commissioned.high_trim or 1.0
    doubt, shift = METER_CLASS + floor.doubt_at(full, full), -floor.taken_off(full, full)
    rows.append(_level_row(name, "high_trim", trim, shift, 1.0, doubt, confidence))
    off = floor.kind != "lamps" and lowest is not None and lowest <= floor.base + FLOOR_ROOM
    resting = lowest or 0.0
    shift = -resting if off else -floor.taken_off(resting, full)
    doubt = METER_CLASS + floor.doubt_at(resting, full)
    rows.append(_level_row(name, "low_level", low, shift, 1.0, doubt, confidence))
    if floor.kind == "standby" and zone.fixtures:
        watts = 1000.0 * record.full_kw / zone.fixtures
        rows.append(_level_row(name, "standby_watts", view.daily["floor"], 0.0, watts, 0.001, confidence))
    return rows


def _unless(answer: object) -> str | None:
    return None if answer is not None else "the month does not show it"


def _level_row(
    month: str,
    setting: str,
    days: Daily,
    shift: float,
    scale: float,
    doubt: float,
    confidence: float,
) -> Row:
    if len(days) < FEWEST_DAYS:
        return (month, setting, None, None, None, "too few days show it")
    value = (float(np.median(days.value)) + shift) * scale
    return (month, setting, value, *_ends(days, value, scale, doubt, confidence), None)


def _ends(days: Daily, value: float, scale: float, doubt: float, confidence: float) -> tuple[float, float]:
    middle = float(np.median(days.value))
    spread = 1.4826 * float(np.median(np.abs(days.value - middle))) * scale
    chance = 1.2533 * spread / np.sqrt(len(days)) * quantile_factor(confidence, len(days))
    half = float(np.hypot(chance, doubt * scale))
    return value - half, value + half


def _hold_row(month: str, view: MonthView, confidence: float, minutes: float) -> Row:
    if view.hold_minutes is None or view.events is None:
        why = "no motion log" if view.events is None else "too few clear falls after motion"
        return (month, "hold_minutes", None, None, None, why)
    offset = hold_offset(
        view.events,
        interval_minutes=minutes,
        shortest_motion_minutes=view.shortest_motion,
        lag_known=view.lag_minutes is not None,
        in_parts=view.together is False or view.events.several,
        confidence=confidence,
    )
    value = view.hold_minutes - (view.lag_minutes or 0.0) + offset.minutes
    if value < 0.0:
        return (month, "hold_minutes", None, None, None, BEFORE_THE_END)
    days = hold_days([view])
    own = grid_doubt(minutes)
    low = _ends(days, value, 1.0, float(np.hypot(own, offset.too_long)), confidence)[0]
    high = _ends(days, value, 1.0, float(np.hypot(own, offset.too_short)), confidence)[1]
    if (high - low) / 2 > max(5.0, 0.5 * value):
        return (month, "hold_minutes", None, None, None, "the falls after motion differ too much")
    return (month, "hold_minutes", value, low, high, None)


def _night_row(month: str, view: MonthView) -> Row:
    nights = view.daily.get("night_on")
    if nights is None or not len(nights):
        return (month, "scheduled_off", None, None, None, "no vacant time outside opening hours")
    return (month, "scheduled_off", bool(np.median(nights.value) < 0.5), None, None, None)
