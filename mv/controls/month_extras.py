"""Further facts of a month: after-hours use, overrides, hours of light, the answer to daylight."""

import numpy as np

from mv.controls.daily import BoolArray, FloatArray, by_day
from mv.controls.month_record import MonthView
from mv.controls.month_view import BRIGHT_SUN_DEG, ODD_OFF, wholly_on
from mv.controls.monthly import Row, month_name
from mv.controls.vacant_days import DARK_SUN_DEG, LIT_ABOVE_BASE
from mv.controls.zone_table import ZoneRecord, ZoneTable

SURE_ON_AGE = 3.0  # minutes without motion within which any control keeps lamps on; no source
OVERRIDE_LEVEL = 0.5  # of the full level: a vacant zone so bright is overridden; common practice, no source
SUN_BIN_DEG = 3.0  # width of a class of sun elevation; common practice, no source
BIN_ROWS = 10  # readings that make a class; common practice, no source
ANSWERED, SATURATED = 0.97, 0.03  # relative level where the answer begins and ends; no source


def extra_rows(record: ZoneRecord, view: MonthView, *, dims: bool) -> list[Row]:
    """The month's rows; a fact the data do not show has no row."""
    inside = np.flatnonzero(record.table.month == view.month)
    table = record.table.part(slice(int(inside[0]), int(inside[-1]) + 1))
    base = view.base or 0.0
    full = view.dark_level or _usual_full(view)
    facts: dict[str, float | None] = {
        "after_hours_kwh": _after_hours(record, table, base),
        **_hours_of_light(table, base),
    }
    if full is not None and np.isfinite(table.age).any():
        facts["override_share"] = _override_share(table, view, full, base)
        if dims:
            facts |= _daylight_answer(table, full, base)
    name = month_name(view.month)
    return [(name, key, value, None, None, None) for key, value in facts.items() if value is not None]


def _usual_full(view: MonthView) -> float | None:
    days = view.daily["on_any"]
    return float(np.median(days.value)) if len(days) else None


def _after_hours(record: ZoneRecord, table: ZoneTable, base: float) -> float | None:
    """Energy above the floor outside opening hours, kWh in the month's readings."""
    closed = ~table.is_open & np.isfinite(table.level)
    if table.is_open.all() or not table.is_open.any() or not closed.any():
        return None
    above = np.maximum(table.level[closed] - base, 0.0)
    return float(above.sum()) * table.minutes / 60.0 * record.full_kw


def _hours_of_light(table: ZoneTable, base: float) -> dict[str, float | None]:
    """Median hour at which light first comes on and last goes off, on days with opening hours."""
    open_days = np.unique(table.day[table.is_open])
    lit = (table.level > base + LIT_ABOVE_BASE) & np.isin(table.day, open_days)
    hours = [values for _, values in by_day(table.day[lit], table.hour[lit])]
    if len(hours) < 3:
        return {}
    first = float(np.median([values.min() for values in hours]))
    last = float(np.median([values.max() for values in hours])) + table.minutes / 60.0
    return {"first_on_hour": first, "last_off_hour": last}


def _override_share(table: ZoneTable, view: MonthView, full: float, base: float) -> float | None:
    """Share of vacant time in which lamps burn near their full level all the same."""
    wait = (view.hold_minutes or 45.0) + 5.0
    vacant = (table.age >= wait) & np.isfinite(table.level) & (table.sun < BRIGHT_SUN_DEG)
    if vacant.sum() * table.minutes < 600.0:
        return None
    limit = base + OVERRIDE_LEVEL * (full - base)
    low = view.daily["low"]
    if len(low) and float(np.median(low.value)) > limit:
        limit = 0.5 * (float(np.median(low.value)) + full)
    return float(np.mean(table.level[vacant] > limit))


def _daylight_answer(table: ZoneTable, full: float, base: float) -> dict[str, float | None]:
    """Depth, deepest level, and the sun elevations at which the answer begins and no more grows."""
    on = wholly_on(table, SURE_ON_AGE) & (table.sun > DARK_SUN_DEG)
    bright = on & (table.sun > BRIGHT_SUN_DEG)
    if bright.sum() < BIN_ROWS:
        return {}
    relative = table.level / full
    facts: dict[str, float | None] = {
        "daylight_depth": float(1.0 - np.mean(relative[bright])),
        "daylight_hold_off_share": float(np.mean(table.level[bright] <= base + ODD_OFF)),
    }
    edges, middle = _by_sun(table.sun, relative, on)
    if len(middle) >= 3:
        fallen = np.flatnonzero(middle < ANSWERED)
        deepest = float(middle.min())
        facts["daylight_deepest"] = deepest
        if len(fallen):
            facts["daylight_threshold_deg"] = float(edges[fallen[0]])
        if deepest < ANSWERED:
            facts["daylight_saturation_deg"] = float(edges[np.flatnonzero(middle <= deepest + SATURATED)[0]])
    return facts


def _by_sun(sun: FloatArray, relative: FloatArray, rows: BoolArray) -> tuple[FloatArray, FloatArray]:
    """Lower edges of the classes of sun elevation with enough readings, and their median level."""
    code = np.floor(sun[rows] / SUN_BIN_DEG).astype(np.int64)
    value = relative[rows]
    kept = [c for c in np.unique(code) if (code == c).sum() >= BIN_ROWS]
    middle = [float(np.median(value[code == c])) for c in kept]
    return np.array(kept, dtype=np.float64) * SUN_BIN_DEG, np.array(middle)
