"""Further facts of a month: its clock, after-hours use, overrides, off or dim, the answer to daylight."""

from functools import partial

import numpy as np

from mv.controls.after_hours import after_hours
from mv.controls.always_on import AlwaysOn, always_on
from mv.controls.daily import BoolArray, FloatArray, by_day
from mv.controls.day_spread import Fact, left_out_by_turns, middle_of_days, ratio_of_days, share_of_days
from mv.controls.evidence import ZoneEvidence
from mv.controls.month_record import MonthView
from mv.controls.month_rows import FLOOR_ROOM
from mv.controls.month_view import BRIGHT_SUN_DEG, ODD_OFF, wholly_on
from mv.controls.monthly import Row, month_name
from mv.controls.motion_age import SURE_ON_AGE
from mv.controls.schedule_hours import schedule_hours
from mv.controls.vacant_days import DARK_SUN_DEG, LIT_ABOVE_BASE
from mv.controls.zone_table import ZoneTable

OVERRIDE_LEVEL = 0.5  # of the full level: a vacant zone so bright is overridden; common practice, no source
CLEARLY_LOWER = 0.06  # level by which a low level lies below the full one; common practice, no source
VACANT_MINUTES = 600.0  # of vacancy in a month for a share of it; common practice, no source
SUN_BIN_DEG = 3.0  # width of a class of sun elevation; common practice, no source
BIN_ROWS = 10  # readings that make a class; common practice, no source
FEWEST_CLASSES = 3  # classes of sun elevation for an answer by them; common practice, no source
ANSWERED, SATURATED = 0.97, 0.03  # relative level where the answer begins and ends; no source
LEVEL_DOUBT = 0.01  # relative level, half-width that more days do not narrow; common practice, no source

NO_LOG = "it needs a motion log that covers the month"
DAYLIGHT = ("depth", "hold_off_share", "deepest", "threshold_deg", "saturation_deg")


def extra_rows(evidence: ZoneEvidence, view: MonthView, *, dims: bool) -> list[Row]:
    """The month's rows; a fact the data do not show has the reason instead."""
    record, confidence = evidence.record, evidence.confidence
    inside = np.flatnonzero(record.table.month == view.month)
    table = record.table.part(slice(int(inside[0]), int(inside[-1]) + 1))
    base = view.base or 0.0
    full = view.dark_level or _usual_full(view)
    lowest = _lowest_open(view, dims=dims)
    floor = always_on(evidence.zone, record, view.base, lowest, restless=evidence.restless)
    facts = {
        **after_hours(
            table, floor, full_kw=record.full_kw, step_level=record.step_level, confidence=confidence
        ),
        **_hours_of_light(table, base, confidence),
        **schedule_hours(table, view.hold_minutes),
        "override_share": _override_share(table, view, full, base, confidence),
        "off_when_vacant": _off_when_vacant(evidence, view, floor, lowest),
        **_daylight_answer(table, full, base, confidence, dims=dims),
    }
    name = month_name(view.month)
    return [(name, key, fact.value, fact.low, fact.high, fact.why) for key, fact in facts.items()]


def _usual_full(view: MonthView) -> float | None:
    days = view.daily["on_any"]
    return float(np.median(days.value)) if len(days) else None


def _hours_of_light(table: ZoneTable, base: float, confidence: float) -> dict[str, Fact]:
    """Median hour at which light first comes on and last goes off, on days with opening hours.

    Light comes on somewhere in the first lit interval, and goes off somewhere in the last.
    """
    open_days = np.unique(table.day[table.is_open])
    lit = (table.level > base + LIT_ABOVE_BASE) & np.isin(table.day, open_days)
    hours = [values for _, values in by_day(table.day[lit], table.hour[lit])]
    if len(hours) < 3:
        return dict.fromkeys(("first_on_hour", "last_off_hour"), Fact(why="too few days with light"))
    step = table.minutes / 60.0
    first, first_low, first_high = middle_of_days(np.array([v.min() for v in hours]), confidence)
    last, last_low, last_high = middle_of_days(np.array([v.max() for v in hours]) + step, confidence)
    return {
        "first_on_hour": Fact(first, first_low, first_high + step),
        "last_off_hour": Fact(last, last_low - step, last_high),
    }


def _override_share(
    table: ZoneTable, view: MonthView, full: float | None, base: float, confidence: float
) -> Fact:
    """Share of vacant time in which lamps burn near their full level all the same."""
    if not np.isfinite(table.age).any():
        return Fact(why=NO_LOG)
    if full is None:
        return Fact(why="the lamps' full level does not show")
    wait = (view.hold_minutes or 45.0) + 5.0
    still = table.age_max >= table.age + table.minutes - 1e-6  # who comes within a reading lights it
    vacant = (table.age >= wait) & still & np.isfinite(table.level) & (table.sun < BRIGHT_SUN_DEG)
    if vacant.sum() * table.minutes < VACANT_MINUTES:
        return Fact(why="the zone is too seldom vacant without much sun")
    limit = base + OVERRIDE_LEVEL * (full - base)
    low = float(np.median(view.daily["low"].value)) if len(view.daily["low"]) else 0.0
    if limit < low < full - CLEARLY_LOWER:
        limit = 0.5 * (low + full)
    lit = (table.level[vacant] > limit).astype(np.float64)
    return share_of_days(table.day[vacant], lit, np.ones(len(lit)), confidence=confidence)


def _lowest_open(view: MonthView, *, dims: bool) -> float | None:
    """The level when vacant in opening hours, without sun where lamps dim; None where none shows."""
    low = view.daily["low_dark" if dims else "low"].value
    return float(np.median(low)) if len(low) else None


def _off_when_vacant(evidence: ZoneEvidence, view: MonthView, floor: AlwaysOn, lowest: float | None) -> Fact:
    """Whether lamps go off, not to a low level, when the zone is vacant in opening hours."""
    if view.events is None:
        return Fact(why=NO_LOG)
    if lowest is None:
        return Fact(why="the zone is not vacant long enough in opening hours")
    if floor.kind in ("open", "unknown"):
        return Fact(why="a low level of the lamps and lighting that burns always cannot be told apart")
    return Fact(floor.kind != "lamps" and lowest <= floor.base + FLOOR_ROOM + evidence.restless)


def _daylight_answer(
    table: ZoneTable, full: float | None, base: float, confidence: float, *, dims: bool
) -> dict[str, Fact]:
    """Depth, time kept off, deepest level, and the sun elevations between which the answer grows."""
    names = [f"daylight_{part}" for part in DAYLIGHT]
    if not np.isfinite(table.age).any() or full is None or not dims:
        why = "lamps were not seen to answer to daylight by then" if full is not None else NO_LOG
        return dict.fromkeys(names, Fact(why=why if np.isfinite(table.age).any() else NO_LOG))
    on = wholly_on(table, SURE_ON_AGE) & (table.sun > DARK_SUN_DEG)
    day, sun, level = table.day[on], table.sun[on], table.level[on]
    bright = sun > BRIGHT_SUN_DEG
    if bright.sum() < BIN_ROWS:
        return dict.fromkeys(names, Fact(why="lamps are too seldom wholly on under the sun"))
    ones = np.ones(int(bright.sum()))
    fallen = 1.0 - level[bright] / full
    off = (level[bright] <= base + ODD_OFF).astype(np.float64)
    shares = [
        ratio_of_days(day[bright], fallen, ones, confidence=confidence, least_half_width=LEVEL_DOUBT),
        share_of_days(day[bright], off, ones, confidence=confidence),
    ]
    steps = left_out_by_turns(
        day,
        partial(_by_sun_answer, sun, level / full),
        confidence=confidence,
        least_half_widths=(LEVEL_DOUBT, SUN_BIN_DEG, SUN_BIN_DEG),
    )
    return dict(zip(names, [*shares, *steps], strict=True))


def _by_sun_answer(sun: FloatArray, relative: FloatArray, rows: BoolArray) -> tuple[float | None, ...]:
    """Lowest median level of a class of sun elevation; where lamps begin to fall, and fall no further."""
    edges, middle = _by_sun(sun, relative, rows)
    if len(middle) < FEWEST_CLASSES:
        return None, None, None
    deepest = float(middle.min())
    if deepest >= ANSWERED:
        return deepest, None, None
    begins, ends = middle < ANSWERED, middle <= deepest + SATURATED
    return deepest, float(edges[np.flatnonzero(begins)[0]]), float(edges[np.flatnonzero(ends)[0]])


def _by_sun(sun: FloatArray, relative: FloatArray, rows: BoolArray) -> tuple[FloatArray, FloatArray]:
    """Lower edges of the classes of sun elevation with enough readings, and their median level."""
    code = np.floor(sun[rows] / SUN_BIN_DEG).astype(np.int64)
    value = relative[rows]
    kept = [c for c in np.unique(code) if (code == c).sum() >= BIN_ROWS]
    middle = [float(np.median(value[code == c])) for c in kept]
    return np.array(kept, dtype=np.float64) * SUN_BIN_DEG, np.array(middle)
