"""A small zone with a known truth, independent of the product's own simulator."""

import itertools
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
import pytest

from mv.base.ledger import Ledger
from mv.base.series import MeterSeries, MotionLog

EMPTY_LEDGER = Ledger("m", 0, 0, {}, 0, None, None, None, None, {})


@dataclass
class Truth:
    """Settings by minute; `later` maps a day number to what changes on it."""

    high_trim: float = 0.8
    low_level: float = 0.2
    hold_minutes: float = 10.0
    daylight_dimming: bool = False
    scheduled_off: bool = True
    standby_watts: float = 0.3
    fixtures: int = 40
    watts: float = 50.0
    egress: float = 0.0
    clock_hours: float = 0.0
    later: dict = field(default_factory=dict)


def made_zone(
    truth: Truth,
    *,
    days: int = 60,
    minutes: int = 1,
    seed: int = 1,
    noise: float = 0.005,
    resolution_kwh: float = 1e-5,
    busy: float = 1.0,
    first: str = "2024-03-01",
    latitude: float = 45.0,
    log_delay_minutes: float = 0.0,
    clock_lag_minutes: int = 0,
    timezone: str = "UTC",
):
    """Meter, motion log, conditions and the first and last day of a zone open 07-19 Mon-Fri."""
    rng = np.random.default_rng(seed)
    index = pd.date_range(first, periods=days * 1440, freq="min", tz="UTC")
    minute = np.arange(len(index))
    hour = (minute % 1440) / 60.0
    weekday = index.day_of_week.to_numpy() < 5
    is_open = weekday & (hour >= 7) & (hour < 19)
    declination = 23.44 * np.sin(2 * np.pi * (index.day_of_year.to_numpy() - 81) / 365.0)
    lat, dec, ha = np.radians(latitude), np.radians(declination), np.radians(15 * (hour - 12))
    sun = np.degrees(np.arcsin(np.sin(lat) * np.sin(dec) + np.cos(lat) * np.cos(dec) * np.cos(ha)))
    motion = _motion(rng, is_open, busy)
    cloud = np.clip(np.repeat(_walk(rng, days * 48), 30), 0.1, 1.0)
    daylight = np.clip(np.sin(np.radians(sun)), 0, None) * cloud * 1.6
    level = np.zeros(len(minute))
    standby = np.zeros(len(minute))
    settings = {name: getattr(truth, name) for name in Truth.__dataclass_fields__}
    changes = sorted(truth.later)
    age = minute - np.maximum.accumulate(np.where(motion, minute, -(10**6)))
    bounds = [0, *changes, days]
    for number, (a, b) in enumerate(itertools.pairwise(bounds)):
        if number:
            settings.update(truth.later[a])
        rows = slice(a * 1440, b * 1440)
        occupied = age[rows] <= settings["hold_minutes"]
        lamp = settings["high_trim"] * np.ones(rows.stop - rows.start)
        if settings["daylight_dimming"]:
            lamp = lamp * np.clip(1.0 - daylight[rows], 0.1, 1.0)
        scheduled = np.roll(is_open, round(60 * settings["clock_hours"]))[rows]
        rest = np.where(scheduled | (not settings["scheduled_off"]), settings["low_level"], 0.0)
        level[rows] = np.where(occupied, lamp, np.minimum(rest, np.maximum(lamp, rest)))
        standby[rows] = settings["standby_watts"]
    watts = truth.fixtures * (np.where(level > 0, level * truth.watts, standby))
    watts = watts + truth.egress * truth.fixtures * truth.watts
    kwh = watts / 60000.0 * (1 + noise * rng.standard_normal(len(watts)))
    if clock_lag_minutes:
        kwh = np.roll(kwh, clock_lag_minutes)
    energy = kwh.reshape(-1, minutes).sum(axis=1)
    energy = np.diff(np.round(np.concatenate(([0.0], np.cumsum(energy))) / resolution_kwh)) * resolution_kwh
    grid = index[::minutes]
    series = pd.Series(energy, grid)
    meter = MeterSeries("m", float(minutes), series, pd.Series(False, grid), EMPTY_LEDGER)
    conditions = pd.DataFrame(
        {
            "sun_elevation_deg": sun[::minutes],
            "is_open": is_open[::minutes],
            "is_holiday": False,
            "local_day": grid.tz_localize(None).normalize(),
            "local_hour": hour[::minutes],
        },
        index=grid,
    )
    edges = np.flatnonzero(np.diff(np.concatenate(([0], motion.astype(int), [0]))))
    stamps = index[0] + pd.to_timedelta(edges, unit="min")
    state = pd.Series((np.arange(len(edges)) % 2 == 0).astype("int8"), stamps)
    state.index = state.index + pd.to_timedelta(
        np.where(state.to_numpy() == 0, log_delay_minutes, 0.0), unit="min"
    )
    log = MotionLog("z", state, index[0], index[-1], EMPTY_LEDGER)
    return meter, log, conditions, (index[0].date(), index[-1].date())


def _motion(rng, is_open, busy):
    """People come and go in visits; within a visit motion is seen in most minutes."""
    n = len(is_open)
    motion = np.zeros(n, dtype=bool)
    at = 0
    while at < n:
        gap = rng.exponential(35.0 / busy) if is_open[at] else rng.exponential(600.0)
        at += int(gap) + 1
        if at >= n:
            break
        stay = int(rng.exponential(25.0 * busy if is_open[at] else 6.0)) + 1
        rows = slice(at, min(at + stay, n))
        motion[rows] = rng.random(rows.stop - rows.start) < 0.6
        at += stay
    return motion


def _walk(rng, n):
    value, out = 0.5, np.empty(n)
    for i in range(n):
        value = 0.9 * value + 0.1 * 0.55 + 0.15 * rng.standard_normal()
        out[i] = value
    return out


@pytest.fixture(scope="session")
def make_zone():
    """The generator `made_zone(truth, ...)`."""
    return made_zone


@pytest.fixture(scope="session")
def truth_of():
    """The record of true settings."""
    return Truth
