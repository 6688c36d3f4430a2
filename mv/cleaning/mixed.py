"""Does a lighting meter feed something else? Asked of its nights, when no daylight disturbs."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.base.series import WeatherSeries
from mv.cleaning.edges import DayTable, day_table, spread_sample
from mv.cleaning.grid import Cells, Grid

NIGHT_HOURS = (1, 5)  # local: dark everywhere but near the poles, and few people about; no source
FEWEST_NIGHTS = 45
SLOPE_R2 = 0.5  # share of the night load's variance that temperature explains; no source
SLOPE_SWING = 0.05  # of full level: the night load's change over the range of temperature; no source
CYCLE_CORRELATION = 0.4  # of the night load with itself one cycle later; no source
CYCLE_SWING = 0.02  # of full level
COARSEST_SECONDS = 600  # a longer interval hides the cycle of a compressor
CYCLE_MINUTES = (10.0, 100.0)  # how long refrigeration cycles last; common practice, no source


def mixed_remarks(cells: Cells, grid: Grid, utc_offset: int, weather: WeatherSeries | None) -> list[Remark]:
    """A night load that follows outdoor temperature, or that cycles like a compressor."""
    if weather is None and grid.step > COARSEST_SECONDS:
        return []
    table = day_table(cells, grid, utc_offset)
    values = spread_sample(cells.kwh)
    if table is None or len(values) < 96:
        return []
    full = float(np.quantile(values, 0.95))
    night = _night(table)
    if full <= 0 or len(night) < FEWEST_NIGHTS:
        return []
    found = [_cycling(night, table.step, full)]
    if weather is not None:
        found.append(_temperature_slope(table, full, weather))
    return [remark for remark in found if remark is not None]


def _night(table: DayTable) -> NDArray[np.float64]:
    """Rows of the nights without a gap."""
    low, high = (hour * 3600 // table.step for hour in NIGHT_HOURS)
    night = table.kwh[:, low:high]
    return night[np.isfinite(night).all(axis=1)]


def _temperature_slope(table: DayTable, full: float, weather: WeatherSeries) -> Remark | None:
    low, high = (hour * 3600 // table.step for hour in NIGHT_HOURS)
    loads = table.kwh[:, low:high]
    known = np.isfinite(loads).all(axis=1)
    mean = np.where(known, np.nan_to_num(loads).mean(axis=1), np.nan)
    shifted = pd.DatetimeIndex(weather.temperature_c.index) + pd.Timedelta(seconds=table.offset)
    at_night = (shifted.hour >= NIGHT_HOURS[0]) & (shifted.hour < NIGHT_HOURS[1])
    by_day = weather.temperature_c[at_night].groupby(shifted[at_night].floor("D")).mean()
    first = pd.DatetimeIndex(by_day.index).tz_localize(None)
    days = (first - pd.Timestamp("1970-01-01")).days.to_numpy()
    both, here, there = np.intersect1d(table.day, days, return_indices=True)
    x, y = by_day.to_numpy()[there], mean[here]
    good = np.isfinite(x) & np.isfinite(y)
    if len(both) < FEWEST_NIGHTS or good.sum() < FEWEST_NIGHTS or np.ptp(x[good]) < 8.0:
        return None
    slope, _ = np.polyfit(x[good], y[good], 1)
    r2 = float(np.corrcoef(x[good], y[good])[0, 1] ** 2) if np.ptp(y[good]) > 0 else 0.0
    swing = abs(float(slope)) * float(np.ptp(x[good]))
    if r2 < SLOPE_R2 or swing < SLOPE_SWING * full:
        return None
    kw = slope * 3600.0 / table.step
    return Remark(
        "mixed-circuit",
        f"between {NIGHT_HOURS[0]} and {NIGHT_HOURS[1]} at night the load changes by {kw:+.3g} kW per "
        "degree outdoors "
        f"(r2 {r2:.2f}): heating or cooling may be on the circuit",
        remedy="Check the panel schedule; a load that is no lighting must be measured apart, or the whole "
        "building taken.",
    )


def _cycling(night: NDArray[np.float64], step: int, full: float) -> Remark | None:
    """The mean autocorrelation of the nights has a peak at the length of a compressor's cycle."""
    shortest, longest = (round(minutes * 60 / step) for minutes in CYCLE_MINUTES)
    shortest, longest = max(shortest, 3), min(longest, night.shape[1] // 2)
    if longest <= shortest + 2:
        return None  # the interval is too long to see a cycle
    centred = night - night.mean(axis=1, keepdims=True)
    power = (centred**2).mean(axis=1)
    if float(np.median(np.sqrt(power))) < CYCLE_SWING * full:
        return None
    lively = centred[power > 0] / np.sqrt(power[power > 0])[:, None]
    width = lively.shape[1]
    scores = np.array(
        [float((lively[:, :-lag] * lively[:, lag:]).mean(axis=1).mean()) for lag in range(1, longest + 1)]
    )
    peaks = [
        lag for lag in range(shortest, min(longest, width - 2))
        if scores[lag - 1] >= CYCLE_CORRELATION
        and scores[lag - 1] > scores[lag - 2]
        and scores[lag - 1] >= scores[lag]
        and scores[: lag - 1].min() < 0.0
    ]  # fmt: skip
    if not peaks:
        return None
    return Remark(
        "mixed-circuit",
        f"at night the load rises and falls every {peaks[0] * step / 60:.0f} min or so, as a compressor does",
        remedy="Check the panel schedule; refrigeration on a lighting circuit must be measured apart.",
    )
