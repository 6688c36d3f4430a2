"""What is known before the fit: how large a term can physically be, and which days are noisier."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.regression.forms import Form

FloatArray = npt.NDArray[np.float64]

# Standard deviation of a daylight term before the data speak, as a share of the mean power while
# open: people who switch by hand leave most lights on by day (common practice, no source).
DAYLIGHT_SHARE_OF_POWER = 0.20
# Standard deviations of a season that the drivers do not explain, as shares of a usual day's energy,
# with their weights before the data speak (chosen on simulated sites, see tests/benchmarks). Months
# that span less than most of a year cannot tell a season from a drift: then the first one holds.
SEASON_SHARES = {0.005: 0.55, 0.015: 0.25, 0.05: 0.15, 0.15: 0.05}
LEAST_YEAR_SHARE_FOR_SEASON = 0.8
# Standard deviation of a heating or cooling slope where too little warm or cold weather was seen to
# fit one, as a share of a usual day's energy for each degree C (common practice, no source).
TEMPERATURE_SHARE = 0.015
# Standard deviation of outdoor switching at dusk and dawn against the fitted elevation, as a share of
# the load: 0.25 over a band of 6 degrees is 1.5 degrees (common practice, no source).
TWILIGHT_SHARE_OF_POWER = 0.25
# Standard deviation of the outdoor lights' share of a building's mean power (common practice, no source).
OUTDOOR_SHARE_OF_POWER = 0.4
# Standard deviation of what holiday weeks leave out, as a share of an open day (common practice, no source).
HOLIDAY_WEEKS_SHARE = 0.15
SMALLEST_AMOUNT = 1.0  # an hour, or an hour of one person
USUAL_OPEN_HOURS = 12.0  # where opening hours are not known (common practice, no source)
LEAST_DAYS_FOR_SCALE = 10
LEAST_SCALE = 0.2  # of the larger scale: no kind of day is taken as free of noise


@dataclass(frozen=True)
class NoiseScale:
    """Relative size of a day's departures: by open or closed, and by a power of the expected use."""

    by_open: Mapping[bool, float]
    power: float
    usual: float

    def on(self, drivers: pd.DataFrame, expected: FloatArray) -> FloatArray:
        """The scale on each day, given what the model expects of it."""
        opened = drivers["is_open_day"].to_numpy(dtype=bool)
        group = np.where(opened, self.by_open[True], self.by_open[False])
        return np.asarray(group * _relative(expected, self.usual) ** self.power)


def _relative(expected: FloatArray, usual: float) -> FloatArray:
    return np.maximum(expected / usual, LEAST_SCALE) if usual > 0 else np.ones(len(expected))


def noise_scale(y: FloatArray, matrix: FloatArray, drivers: pd.DataFrame) -> NoiseScale:
    """How departures grow with use: the power 0, 1/2 or 1, with or without a split by open and closed
    days, under which independent normal departures are likeliest (the split must gain 3 in log
    likelihood, to pay for its parameter).
    """
    expected = matrix @ np.linalg.lstsq(matrix, y, rcond=None)[0]
    residual = y - expected
    opened = drivers["is_open_day"].to_numpy(dtype=bool)
    usual = float(np.mean(expected))
    best, found = -np.inf, NoiseScale({True: 1.0, False: 1.0}, 0.0, usual)
    for power in (0.0, 0.5, 1.0):
        relative = _relative(expected, usual) ** power
        for by_open, cost in ((_whole(), 0.0), (_split(residual / relative, opened), 3.0)):
            scale = np.where(opened, by_open[True], by_open[False]) * relative
            spread = float(np.mean((residual / scale) ** 2))
            if spread <= 0:
                continue
            gain = -0.5 * len(y) * np.log(spread) - float(np.log(scale).sum()) - cost
            if gain > best + 1e-9:
                best, found = gain, NoiseScale(by_open, power, usual)
    return found


def _whole() -> Mapping[bool, float]:
    return {True: 1.0, False: 1.0}


def _split(residual: FloatArray, opened: npt.NDArray[np.bool_]) -> Mapping[bool, float]:
    if min(opened.sum(), (~opened).sum()) < LEAST_DAYS_FOR_SCALE:
        return _whole()
    spread = {True: float(np.std(residual[opened])), False: float(np.std(residual[~opened]))}
    largest = max(spread.values())
    if largest <= 0:
        return _whole()
    return {key: max(value / largest, LEAST_SCALE) for key, value in spread.items()}


def residual_variance(y: FloatArray, matrix: FloatArray, scales: FloatArray) -> float:
    """Variance of least-squares residuals over their scales, n - p; never quite nothing."""
    residual = (y - matrix @ np.linalg.lstsq(matrix, y, rcond=None)[0]) / scales
    free = max(len(y) - matrix.shape[1], 1)
    return float(max(float(residual @ residual) / free, np.finfo(float).tiny))


def prior_precisions(
    variance: float, y: FloatArray, drivers: pd.DataFrame, form: Form
) -> list[tuple[FloatArray, float]]:
    """`variance` of the noise over the prior variance of each term, 0 for free ones; one set a size
    of season. `y` is the energy of each day of `drivers`, by which a term's size is judged.
    """
    span = (drivers.index[-1] - drivers.index[0]).days / 365.25
    seasons = SEASON_SHARES if span >= LEAST_YEAR_SHARE_FOR_SEASON else {min(SEASON_SHARES): 1.0}
    if not any(_is_season(term) for term in form.shrunk):
        seasons = {min(SEASON_SHARES): 1.0}
    sets = []
    for share, weight in seasons.items():
        sizes = [_prior_size(term, y, drivers, share) for term in form.shrunk]
        shrunk = [variance / size**2 if size > 0 else 1e12 for size in sizes]
        sets.append((np.array([0.0] * len(form.terms) + shrunk), weight))
    return sets


def _is_season(term: str) -> bool:
    return term.startswith(("season:", "year:"))


def _prior_size(term: str, y: FloatArray, drivers: pd.DataFrame, season_share: float) -> float:
    """Standard deviation of a shrunk term's coefficient before the data speak."""
    opened = drivers["is_open_day"].to_numpy(dtype=bool)
    usual_day = abs(float(np.mean(y)))
    open_day = abs(float(np.mean(y[opened]))) if opened.any() else usual_day
    if _is_season(term):
        return season_share * (open_day if term.startswith("season:") else usual_day)
    if term.startswith(("heat:", "cool:")):
        return TEMPERATURE_SHARE * usual_day
    if term == "twilight":
        return TWILIGHT_SHARE_OF_POWER * usual_day / max(float(drivers["dark_hours"].mean()), 1.0)
    if term == "dark_hours":
        return OUTDOOR_SHARE_OF_POWER * usual_day / 24.0
    if term.startswith("weeks:"):
        return HOLIDAY_WEEKS_SHARE * open_day
    usual = _usual_amount(term, drivers, opened)
    return DAYLIGHT_SHARE_OF_POWER * open_day / max(usual, SMALLEST_AMOUNT)


def _usual_amount(term: str, drivers: pd.DataFrame, opened: npt.NDArray[np.bool_]) -> float:
    """Mean on open days of what a daylight term weighs: hours open or occupied, people x hours."""
    stem = term.partition("_")[2] if term.startswith(("dark_", "sun_")) else "open_hours"
    name = "hours_open" if stem == "open_hours" else stem
    known = drivers[name].to_numpy(dtype=np.float64)[opened] if name in drivers else np.array([])
    known = known[np.isfinite(known)]
    return float(known.mean()) if len(known) else USUAL_OPEN_HOURS
