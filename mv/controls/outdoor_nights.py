"""Outdoor lights day by day: levels of the night, burning by day, the sun at switching."""

import itertools
from dataclasses import dataclass

import numpy as np

from mv.base.study_records import Zone
from mv.controls.common_changes import CommonChange, common_changes
from mv.controls.daily import (
    NO_DAYS,
    BoolArray,
    Daily,
    FloatArray,
    daily_floor,
    daily_mean,
    daily_quantile,
    daily_top,
)
from mv.controls.evidence import FLOOR_STEP
from mv.controls.plateau import lower_plateau, upper_plateau
from mv.controls.steps import levels
from mv.controls.tolerances import TRIM
from mv.controls.zone_table import ZoneTable

NIGHT_SUN_DEG = -8.0  # below which any dusk-to-dawn light is on; common practice, no source
DAY_SUN_DEG = 8.0  # above which any dusk-to-dawn light is off; common practice, no source
ALWAYS = 0.9  # share of night lit and of day dark that makes a load unmistakably dusk-to-dawn; no source
HALF_LIT = 0.25  # of the way from the day's floor to the night's level; common practice, no source
PART_SHARE = 0.10  # of the night at a second level for a part-night dim; common practice, no source
NEAR_PART = 0.03  # of the connected load; readings this near are at the dimmed level; no source


@dataclass(frozen=True)
class OutdoorNights:
    """Daily statistics of an outdoor zone."""

    full: Daily
    part: Daily
    by_day: Daily
    dark_off: Daily
    floor: Daily
    on_deg: Daily
    off_deg: Daily


def is_outdoor(zone: Zone, table: ZoneTable) -> bool:
    """Said in the study, or unmistakable: lit all night, dark all day, in most months."""
    if zone.place is not None:
        return zone.place == "outdoor"
    good = np.isfinite(table.level)
    top = upper_plateau(table.level[good & (table.sun < NIGHT_SUN_DEG)], least_share=0.2)
    if top is None or top.level <= 0:
        return False
    votes = []
    for month in np.unique(table.month):
        rows = good & (table.month == month)
        night, day = rows & (table.sun < NIGHT_SUN_DEG), rows & (table.sun > DAY_SUN_DEG)
        if night.sum() < 24 or day.sum() < 24:
            continue
        lit, dark = table.level > 0.25 * top.level, table.level <= 0.05 * top.level
        votes.append(lit[night].mean() >= ALWAYS and dark[day].mean() >= ALWAYS)
    return len(votes) > 0 and float(np.mean(votes)) >= 0.5


def outdoor_nights(table: ZoneTable, step_level: float) -> OutdoorNights:
    good = np.isfinite(table.level)
    dark, day = good & (table.sun < NIGHT_SUN_DEG), good & (table.sun > DAY_SUN_DEG)
    if not dark.any():
        dark = good & (table.sun < np.quantile(table.sun, 0.1))
    part = _part_night(table, dark)
    full = _above_part(daily_top(table.day[dark], table.level[dark], least=3), part)
    top = float(np.median(full.value)) if len(full) else 0.0
    lit = (table.level > 0.4 * top).astype(np.float64)
    resting = day & (lit < 0.5)
    floor = daily_floor(table.day[resting], table.level[resting], least=3, room=max(0.01, 2.5 * step_level))
    on_deg, off_deg = _switching(table, _lit_share(table, full, floor))
    return OutdoorNights(
        full=full,
        part=part,
        by_day=daily_mean(table.day[day], lit[day], least=3),
        dark_off=daily_mean(
            table.day[dark], 1.0 - (table.level[dark] > 0.1 * top).astype(np.float64), least=3
        ),
        floor=floor,
        on_deg=on_deg,
        off_deg=off_deg,
    )


def _part_night(table: ZoneTable, dark: BoolArray) -> Daily:
    """Level of the second plateau of the night, on days that show one."""
    high = upper_plateau(table.level[dark], least_share=PART_SHARE)
    low = lower_plateau(table.level[dark], least_share=PART_SHARE)
    if high is None or low is None or high.level - low.level < 0.06:
        return NO_DAYS
    near = dark & (np.abs(table.level - low.level) <= NEAR_PART)
    return daily_quantile(table.day[near], table.level[near], 0.5, least=3)


def _above_part(full: Daily, part: Daily) -> Daily:
    """Without the short nights whose dark hours all lie in the dimmed part: they show no full-on level.

    Only where most nights show both levels: else the lower one was the full-on level of its time.
    """
    _, ours, theirs = np.intersect1d(full.day, part.day, return_indices=True)
    both = full.value[ours] > part.value[theirs] + NEAR_PART
    if not len(both) or both.mean() < 0.5:
        return full
    above = np.ones(len(full), dtype=bool)
    above[ours] = both
    return Daily(full.day[above], full.value[above], full.count[above])


def _lit_share(table: ZoneTable, full: Daily, floor: Daily) -> FloatArray | None:
    """How far each reading has come from the day's floor to the night's full level."""
    if not len(full):
        return None
    top = full.value[np.clip(np.searchsorted(full.day, table.day), 0, len(full) - 1)]
    low = np.zeros(len(table))
    if len(floor):
        low = floor.value[np.clip(np.searchsorted(floor.day, table.day), 0, len(floor) - 1)]
    return np.asarray(np.clip((table.level - low) / np.maximum(top - low, 0.05), 0.0, 1.0))


def _switching(table: ZoneTable, share: FloatArray | None) -> tuple[Daily, Daily]:
    """Sun elevation at which the load rises at dusk and falls at dawn, a day.

    The moment follows from the area: lit minutes between midday and full dark.
    """
    if share is None:
        return NO_DAYS, NO_DAYS
    rising = np.gradient(table.sun) > 0 if len(table) > 2 else np.zeros(len(table), dtype=bool)
    window = (table.sun > -10.0) & (table.sun < DAY_SUN_DEG)
    found: list[list[tuple[int, float]]] = [[], []]
    change = np.flatnonzero(np.diff(window.astype(np.int8)) != 0) + 1
    bounds = [0, *change.tolist(), len(table)]
    for a, b in itertools.pairwise(bounds):
        if not window[a] or b - a < 3 or not np.isfinite(share[a:b]).all():
            continue
        dusk = not rising[(a + b) // 2]
        sun, lit = table.sun[a:b], share[a:b]
        if abs(sun[-1] - sun[0]) < 6.0:
            continue
        at = _edge(lit if dusk else lit[::-1])
        if at is None:
            continue
        at = at if dusk else b - a - at
        found[0 if dusk else 1].append(
            (int(table.day[(a + b) // 2]), float(np.interp(at - 0.5, np.arange(b - a), sun)))
        )
    return _as_daily(found[0]), _as_daily(found[1])


def _edge(lit: FloatArray) -> float | None:
    """Intervals from the start until the load rises; its interval is lit for the share it shows.

    None where the load is up at the start, or never rises.
    """
    up = np.flatnonzero(lit > HALF_LIT)
    if not len(up) or up[0] < 1 or up[0] + 1 >= len(lit):
        return None
    first = int(up[0])
    full = float(lit[first + 1])
    before = float(lit[first - 1])
    partial = min(float(lit[first] + before) / full, 2.0) if full > 0 else 1.0
    return first + 1 - partial


def _as_daily(pairs: list[tuple[int, float]]) -> Daily:
    if not pairs:
        return NO_DAYS
    return daily_mean(
        np.array([day for day, _ in pairs], dtype=np.int64), np.array([value for _, value in pairs])
    )


def added_loads(nights: OutdoorNights) -> list[CommonChange]:
    """Loads added to the circuit: the night's level and the day's floor move alike."""
    full, floor = levels(nights.full, least_step=TRIM.step), levels(nights.floor, least_step=FLOOR_STEP)
    return common_changes(full, [], floor, 0.0)
