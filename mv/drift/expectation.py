"""What a day would be expected to use, fitted to the reporting period itself and robust to a step."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.medians import median
from mv.drift.records import DriftSeries

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

INDOOR_DRIVERS = (
    "hours_open",
    "sun_open_hours",
    "dark_open_hours",
    "occupied_hours",
    "motion_hours",
    "sun_motion_hours",
)
CURVED = ("sun_open_hours", "sun_motion_hours")  # lamps dim no further once daylight suffices
# Photocells switch somewhat below the horizon; in a northern summer the sun may not come so low.
OUTDOOR_DRIVERS = ("dark_hours", "night_hours_below_-3", "night_hours_below_-6")
KNOWN_SHARE = 0.95  # of days on which a driver must be known to be used; common practice, no source
DAYS_A_TERM = 8  # days that each term of the expectation needs; common practice, no source
HUBER = 2.0  # robust standard deviations beyond which a day counts less; common practice, no source
ROUNDS = 6  # of reweighting; the weights hardly move after; common practice, no source
NEARLY_DEPENDENT = 1e-7  # of the largest length left to a term beside the earlier ones; no source


@dataclass(frozen=True)
class Design:
    """Usable days in order, their energy, the terms of the expectation and what kind each day is.

    `outdoor`: burns by the sun; `daylit`: lamps may answer to daylight.
    """

    days: pd.DatetimeIndex
    energy: FloatArray
    terms: FloatArray
    names: tuple[str, ...]
    is_open: BoolArray
    outdoor: bool = False
    daylit: bool = True


def design(series: DriftSeries) -> Design:
    """The usable days of a series with intercept, kinds of day and the drivers that are known."""
    energy = series.energy_kwh.dropna()
    drivers = series.drivers.reindex(energy.index)
    usable = drivers.notna().any(axis=1).to_numpy()
    energy, drivers = energy[usable], drivers[usable]
    days = pd.DatetimeIndex(energy.index)
    columns: dict[str, FloatArray] = {"constant": np.ones(len(days))}
    is_open = _open_days(days, drivers)
    if not series.outdoor:
        columns |= _kinds_of_day(days, drivers, is_open)
        if "dark_hours" in drivers and drivers["dark_hours"].notna().all():
            columns["closed_dark"] = np.where(is_open, 0.0, drivers["dark_hours"].to_numpy(dtype=np.float64))
    for name in OUTDOOR_DRIVERS if series.outdoor else INDOOR_DRIVERS:
        if name in drivers and drivers[name].notna().mean() >= KNOWN_SHARE:
            value = drivers[name].to_numpy(dtype=np.float64, copy=True)
            value[~np.isfinite(value)] = np.nanmean(value)
            columns[name] = value
            if name in CURVED:
                columns[f"{name} squared"] = (value - value.mean()) ** 2
    names, terms = _independent(columns, limit=max(1, len(days) // DAYS_A_TERM))
    return Design(days, energy.to_numpy(dtype=np.float64), terms, names, is_open, series.outdoor)


def _open_days(days: pd.DatetimeIndex, drivers: pd.DataFrame) -> BoolArray:
    if "is_open_day" in drivers and drivers["is_open_day"].notna().all():
        return drivers["is_open_day"].to_numpy(dtype=bool)
    return np.asarray(days.day_of_week < 5)


def _kinds_of_day(days: pd.DatetimeIndex, drivers: pd.DataFrame, is_open: BoolArray) -> dict[str, FloatArray]:
    columns = {"open": is_open.astype(np.float64)}
    weekday = np.asarray(days.day_of_week)
    for number, name in ((4, "friday"), (5, "saturday"), (6, "sunday")):
        columns[name] = ((weekday == number) & is_open).astype(np.float64)
    if "is_holiday" in drivers:
        columns["holiday"] = drivers["is_holiday"].fillna(False).to_numpy(dtype=np.float64)
    return columns


def _independent(columns: dict[str, FloatArray], *, limit: int) -> tuple[tuple[str, ...], FloatArray]:
    """Terms in order, leaving out those that earlier ones already explain."""
    names: list[str] = []
    kept: list[FloatArray] = []
    for name, column in columns.items():
        if len(names) >= limit:
            break
        left = column.astype(np.float64)
        if kept:
            basis = np.column_stack(kept)
            left = column - basis @ np.linalg.lstsq(basis, column, rcond=None)[0]
        if np.sqrt(np.mean(left**2)) > 1e-3 * max(float(np.sqrt(np.mean(column**2))), 1e-9):
            names.append(name)
            kept.append(column)
    return tuple(names), np.column_stack(kept)


@dataclass(frozen=True)
class Fit:
    """Coefficients, residuals (actual less fitted), weights and robust noise, kWh a day."""

    coefficients: FloatArray
    residuals: FloatArray
    weights: FloatArray
    noise: float
    lag1: float

    @property
    def long_run_noise(self) -> float:
        """Noise of a mean of many days times root n: autocorrelation widens it (AR(1))."""
        rho = min(max(self.lag1, 0.0), 0.95)
        return self.noise * float(np.sqrt((1 + rho) / (1 - rho)))


def robust_fit(terms: FloatArray, energy: FloatArray, days: pd.DatetimeIndex) -> Fit:
    """Huber's weighted least squares, iterated.

    Solved by normal equations on an orthonormal basis of the terms, which are then well conditioned;
    terms that nearly depend on each other are solved by singular values instead.
    """
    basis, triangle = np.linalg.qr(terms)
    size = np.abs(np.diag(triangle))
    sound = len(triangle) == terms.shape[1] and size.min() > NEARLY_DEPENDENT * size.max()
    least_squares, columns = (_by_normal_equations, basis) if sound else (_by_singular_values, terms)
    usual = float(np.mean(np.abs(energy)))
    weights = np.ones(len(energy))
    solution: FloatArray = np.zeros(columns.shape[1])
    residuals: FloatArray = energy
    noise = 0.0
    for _ in range(ROUNDS):
        solution = least_squares(columns, energy, weights)
        residuals = energy - columns @ solution
        noise = robust_noise(residuals, usual)
        weights = np.minimum(1.0, HUBER * noise / np.maximum(np.abs(residuals), 1e-12))
    coefficients = np.linalg.solve(triangle, solution) if sound else solution
    return Fit(coefficients, residuals, weights, noise, lag_one(residuals, noise, days))


def _by_normal_equations(basis: FloatArray, energy: FloatArray, weights: FloatArray) -> FloatArray:
    weighted = (basis * weights[:, None]).T
    return np.asarray(np.linalg.solve(weighted @ basis, weighted @ energy), dtype=np.float64)


def _by_singular_values(terms: FloatArray, energy: FloatArray, weights: FloatArray) -> FloatArray:
    root = np.sqrt(weights)
    return np.asarray(np.linalg.lstsq(terms * root[:, None], energy * root, rcond=None)[0], dtype=np.float64)


def robust_noise(residuals: FloatArray, size: float) -> float:
    """Standard deviation from the median absolute residual, at least 0.1 % of the usual energy."""
    spread = 1.4826 * median(np.abs(residuals - median(residuals)))
    clipped = np.minimum(np.maximum(residuals, -4 * spread), 4 * spread)
    apart = clipped - clipped.mean()
    return max(spread, float(np.sqrt(apart @ apart / len(apart))), 1e-3 * size, 1e-9)


def lag_one(residuals: FloatArray, noise: float, days: pd.DatetimeIndex) -> float:
    """Autocorrelation of neighbouring days, outliers clipped at three deviations."""
    if len(residuals) < 10:
        return 0.0
    clipped = np.clip(residuals, -3 * noise, 3 * noise)
    next_day = np.diff(days.to_numpy()) == np.timedelta64(1, "D")
    variance = float(np.mean(clipped**2))
    if variance <= 0 or next_day.sum() < 8:
        return 0.0
    return float(np.mean((clipped[1:] * clipped[:-1])[next_day]) / variance)


def means_a_day(
    plan: Design, found: Sequence[tuple[int, int]], terms: FloatArray, fit: Fit
) -> list[tuple[float, float]]:
    """kWh a day of each change and its error, on the mean of all days since, from the joint fit.

    `found`: each one's first day and its number of columns, which follow those of the plan in `terms`.
    """
    cross = np.linalg.pinv((terms * fit.weights[:, None]).T @ terms)
    place = plan.terms.shape[1]
    means = []
    for at, width in found:
        mean = np.zeros(terms.shape[1])
        mean[place : place + width] = terms[at:, place : place + width].mean(axis=0)
        place += width
        error = fit.long_run_noise * float(np.sqrt(max(float(mean @ cross @ mean), 0.0)))
        means.append((float(mean @ fit.coefficients), error))
    return means
