"""Invented meters by the day, with a known noise process, for the coverage bench.

The energy of a day is what the lamps would use on average (opening hours, darkness, presence, for a
whole building also temperature), times one plus a departure that hangs together in time. The
counterfactual runs on through the reporting period, so the truth of the avoided energy is known.
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.study_records import Study
from mv.drivers import daily_drivers

FloatArray = npt.NDArray[np.float64]

ZONES = [
    (64.1, -21.9, "Atlantic/Reykjavik"),
    (59.3, 18.1, "Europe/Stockholm"),
    (52.2, 0.1, "Europe/London"),
    (44.5, -89.6, "America/Chicago"),
    (35.7, 139.7, "Asia/Tokyo"),
    (19.1, 72.9, "Asia/Kolkata"),
    (1.3, 103.8, "Asia/Singapore"),
    (-33.9, 151.2, "Australia/Sydney"),
    (-43.5, 172.6, "Pacific/Auckland"),
]
NOISES = ("persistent", "persistent and new", "weekly", "slow and fast")


@dataclass(frozen=True)
class DailySite:
    """One invented meter. `columns` and `covariance` are what an oracle knows of it."""

    kind: str
    noise: str
    persistence: float
    drivers: pd.DataFrame
    energy_kwh: pd.Series
    columns: FloatArray
    covariance: FloatArray
    baseline: pd.DatetimeIndex
    reporting: pd.DatetimeIndex
    saving_fraction: float


def _correlation(noise: str, persistence: float, days: int) -> FloatArray:
    apart = np.abs(np.subtract.outer(np.arange(days), np.arange(days))).astype(np.float64)
    lasting = persistence**apart
    new = np.eye(days)
    if noise == "persistent":
        return lasting
    if noise == "persistent and new":
        return 0.6 * lasting + 0.4 * new
    if noise == "weekly":
        week = np.arange(days) // 7
        same = (week[:, None] == week[None, :]).astype(np.float64)
        share = persistence
        return share * same * (persistence ** (np.abs(np.subtract.outer(week, week)))) + (1 - share) * new
    return 0.25 * 0.98**apart + 0.45 * lasting + 0.3 * new


def _study(draw: np.random.Generator, first: date) -> Study:
    latitude, longitude, timezone = ZONES[draw.integers(len(ZONES))]
    start = int(draw.integers(6, 10))
    length = int(draw.integers(8, 15))
    hours = {"mon-fri": f"{start:02d}:00-{start + length:02d}:00"}
    if draw.random() < 0.5:
        hours["sat"] = f"{start + 1:02d}:00-{start + 6:02d}:00"
    if draw.random() < 0.2:
        hours["sun"] = "10:00-16:00"
    holidays = sorted({first + timedelta(days=int(d)) for d in draw.integers(0, 900, 22)})
    return Study.model_validate(
        {
            "format": 1,
            "site": {"latitude": latitude, "longitude": longitude, "timezone": timezone},
            "meter": [{"id": "m", "files": ["m.csv"]}],
            "occupancy": {"hours": hours, "holidays": holidays},
        }
    )


def daily_site(seed: int, *, months: int, kind: str = "indoor") -> DailySite:
    """An invented meter with a baseline of `months` and a year of reporting after a gap."""
    draw = np.random.default_rng([7, seed])
    first = date(2022, 1, 1) + timedelta(days=int(draw.integers(0, 365)))
    study = _study(draw, first)
    length = round(months * 30.44)
    gap = int(draw.integers(20, 90))
    last = first + timedelta(days=length + gap + 364)
    drivers = daily_drivers(study, first, last)
    days = len(drivers)
    opened = drivers["is_open_day"].to_numpy(dtype=np.float64)
    columns = [
        np.ones(days),
        drivers["hours_open"].to_numpy(),
        drivers["dark_open_hours"].to_numpy(),
    ]
    power = float(draw.lognormal(2.5, 0.8))
    weights = [
        24 * power * float(draw.uniform(0.01, 0.15)),
        power * float(draw.uniform(0.6, 0.9)),
        power * float(draw.choice([0.0, draw.uniform(0.05, 0.4)])),
    ]
    if draw.random() < 0.5:
        occupied = drivers["hours_open"].to_numpy() * np.clip(draw.normal(0.7, 0.1, days), 0.1, 1.0)
        drivers["occupied_hours"] = occupied
        columns.append(occupied)
        weights.append(power * float(draw.uniform(0.1, 0.5)))
    if kind == "whole building":
        season = np.cos(2 * np.pi * (pd.DatetimeIndex(drivers.index).day_of_year.to_numpy() - 20) / 365.25)
        if study.site.latitude < 0:
            season = -season
        amplitude = 0.25 * abs(study.site.latitude)
        wander = _draw(draw, 0.7 ** np.abs(np.subtract.outer(np.arange(days), np.arange(days))))
        drivers["temperature_c"] = 24 - 0.25 * abs(study.site.latitude) - amplitude * season + 3 * wander
        weights[0] += 24 * power * float(draw.uniform(0.5, 2.0))
        columns += [
            np.maximum(12.0 - drivers["temperature_c"].to_numpy(), 0),
            np.maximum(drivers["temperature_c"].to_numpy() - 18.0, 0) * (0.5 + 0.5 * opened),
        ]
        weights += [power * float(draw.uniform(0, 1.0)), power * float(draw.uniform(0, 1.5))]
    matrix = np.column_stack(columns)
    mean = matrix @ np.array(weights)
    noise = NOISES[draw.integers(len(NOISES))]
    persistence = float(draw.choice([0.0, 0.3, 0.6, 0.8, 0.85, 0.9]))
    correlation = _correlation(noise, persistence, days)
    cv = float(draw.uniform(0.03, 0.12))
    scale = mean * cv
    energy = mean + scale * _draw(draw, correlation)
    index = pd.DatetimeIndex(drivers.index)
    return DailySite(
        kind, noise, persistence, drivers, pd.Series(energy, index=index), matrix,
        correlation * np.outer(scale, scale), index[:length], index[length + gap :],
        float(draw.uniform(0.2, 0.7)),
    )  # fmt: skip


def _draw(draw: np.random.Generator, correlation: FloatArray) -> FloatArray:
    lower = np.linalg.cholesky(correlation + 1e-9 * np.eye(len(correlation)))
    return np.asarray(lower @ draw.normal(size=len(correlation)))


def oracle_half_width(site: DailySite, *, z: float) -> tuple[float, float]:
    """Estimate and half-width of the expected total for one who knows drivers and noise exactly."""
    n, later = len(site.baseline), len(site.drivers) - len(site.reporting)
    before, after = site.columns[:n], site.columns[later:]
    keep = np.ptp(before, axis=0) > 0
    keep[0] = True
    before, after = before[:, keep], after[:, keep]
    weight = np.linalg.inv(site.covariance[:n, :n])
    cross = site.covariance[later:, :n].sum(axis=0)
    normal = np.linalg.pinv(before.T @ weight @ before)
    y = site.energy_kwh.to_numpy()[:n]
    coefficients = normal @ before.T @ weight @ y
    total = after.sum(axis=0)
    lead = total - before.T @ weight @ cross
    own = site.covariance[later:, later:].sum() - cross @ weight @ cross
    variance = own + lead @ normal @ lead
    centre = total @ coefficients + cross @ weight @ (y - before @ coefficients)
    return float(centre), float(z * np.sqrt(variance))
