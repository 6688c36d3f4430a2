"""Daily statistics of vacant lamps: by day, by night, and the lowest load of all."""

import numpy as np

from mv.controls.daily import (
    BoolArray,
    Daily,
    FloatArray,
    daily_floor,
    daily_mean,
    daily_middle,
    daily_quantile,
)
from mv.controls.restless import restlessness
from mv.controls.zone_table import ZoneTable

DARK_SUN_DEG = -2.0  # sun elevation below which no daylight reaches a room; common practice, no source
LIT_ABOVE_BASE = 0.03  # level above the floor that counts as lit; common practice, no source
FLOOR_MINUTES = 180.0  # that a floor must last in a day to count; common practice, no source
POWER_CUT_LEVEL = 2e-4  # below which nothing at all is drawn, not even standby; no source
MOST_ALWAYS_ON = 0.15  # of the connected load that egress and the like may take; common practice, no source
LONG_MINUTES = 30.0  # reading that opening or closing may well cut in its middle; common practice, no source
NIGHT_LIT_SHARE = 0.5  # of a night without motion, for the lamps to count as on; no source


def vacant_days(
    table: ZoneTable, vacant: BoolArray, step_level: float, free: BoolArray | None = None
) -> dict[str, Daily]:
    """low: vacant in opening hours, without sun on days that have it so; low_top: the highest
    vacant level of a day, which daylight has pulled down least; night: vacant outside hours.

    `free`: rows in which daylight is not what holds the vacant level down; None: all.
    """
    dark = table.sun < DARK_SUN_DEG
    room = max(0.02, 2.5 * step_level)
    opened = vacant & _open_throughout(table)
    unheld = opened if free is None else opened & free
    return {
        "low": _preferring_dark(table, opened, dark, room),
        "low_dark": _middle(table, opened & dark, room),
        "low_top": daily_quantile(table.day[unheld], table.level[unheld], 0.9, least=2),
        "night": _preferring_dark(table, vacant & ~table.is_open, dark, room),
    }


def _open_throughout(table: ZoneTable) -> BoolArray:
    """Rows of the open hours; of long ones not the last, within which opening hours may end."""
    if table.minutes < LONG_MINUTES:
        return table.is_open
    last = np.append(table.is_open[:-1] & ~table.is_open[1:], False)
    return np.asarray(table.is_open & ~last)


def add_nights(
    table: ZoneTable,
    vacant: BoolArray,
    daily: dict[str, Daily],
    base_prior: float | None,
    step_level: float,
) -> float | None:
    """Adds the floor and the share of vacant closed time with lamps on; returns the base to date.

    The base is the lowest load ever seen for long: standby and what burns always. It is read
    without sun where the month allows, as daylight may pull lamps below their low level.
    """
    dark = table.sun < DARK_SUN_DEG
    rows = vacant & dark if (vacant & dark).sum() >= 20 else vacant
    room = max(0.01, 2.5 * step_level)
    daily["floor"] = daily_floor(table.day[rows], table.level[rows], least=2, room=room)
    floors = [] if base_prior is None else [base_prior]
    floors += _lowest(daily["floor"], table.minutes)
    base = min(floors) if floors else None
    closed = vacant & ~table.is_open
    if base is not None:
        limit = min(base + LIT_ABOVE_BASE + restlessness(table, step_level), MOST_ALWAYS_ON)
        lit = (table.level[closed] > limit).astype(np.float64)
        daily["night_on"] = daily_mean(table.day[closed], lit, least=2)
    return base


def dark_level(daily: dict[str, Daily], prior: float | None) -> float | None:
    """Level of lamps on without sun: this month's, else that handed on."""
    dark = daily["dark"]
    return float(np.median(dark.value)) if len(dark) >= 2 else prior


def _lowest(floor: Daily, minutes: float) -> list[float]:
    """The lowest floor held for hours; a reading of nothing at all is a power cut, unless usual."""
    long = floor.count * minutes >= FLOOR_MINUTES
    alive = floor.value > POWER_CUT_LEVEL
    if alive.mean() < 0.5 if len(floor) else False:
        alive = np.ones(len(floor), dtype=bool)
    good = floor.value[long & alive]
    return [float(good.min())] if len(good) else []


def _middle(table: ZoneTable, rows: BoolArray, room: float) -> Daily:
    return daily_middle(table.day[rows], table.level[rows], least=2, room=room)


def _preferring_dark(table: ZoneTable, rows: BoolArray, dark: BoolArray, room: float) -> Daily:
    """Level of the rows without sun; of all rows on days that have none."""
    sunless, every = _middle(table, rows & dark, room), _middle(table, rows, room)
    return merged(sunless, every, ~np.isin(every.day, sunless.day))


def merged(first: Daily, second: Daily, extra: BoolArray) -> Daily:
    """The first's days and those of the second that `extra` marks, in order of day."""
    day = np.concatenate((first.day, second.day[extra]))
    order = np.argsort(day, kind="stable")

    def both(one: FloatArray, other: FloatArray) -> FloatArray:
        return np.concatenate((one, other[extra]))[order]

    return Daily(day[order], both(first.value, second.value), both(first.count, second.count))
