"""Weeks of metering carried to a year, and a sample of loggers carried to all the lights."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.estimate import CannotSay, Estimate
from mv.savings.model import EnergyModel

FloatArray = npt.NDArray[np.float64]

# Standard deviation of a month's use about the model when no such month was metered, as a share of that
# use (common practice, no source); it acts on all unseen months alike.
UNSEEN_MONTH_SHARE = 0.05
# The same for avoided energy of outdoor lights of which few months were metered: a photocell's switching
# and a load that changes cannot be told apart in one season. Chosen on simulated outdoor sites of seeds
# 3000-3499 (tests/benchmarks); other lights' models hold their seasons without it.
OUTDOOR_UNSEEN_MONTH_SHARE = 0.02
MOST_MONTHS_OF_A_SEASON = 4
LEAST_LOGGERS = 2


def in_unseen_months(by_day: pd.Series, metered_days: pd.DatetimeIndex) -> float:
    """The part of `by_day` (kWh by local day) in months of the year of which no day was metered."""
    unseen = ~pd.DatetimeIndex(by_day.index).month.isin(set(metered_days.month))
    return float(by_day[unseen].sum())


def unseen_season(kind: str, metered_days: pd.DatetimeIndex) -> frozenset[int]:
    """Months of the year (1-12) for which outdoor lights metered in one season alone need a margin."""
    seen = set(metered_days.month)
    if kind != "outdoor" or len(seen) > MOST_MONTHS_OF_A_SEASON:
        return frozenset()
    return frozenset(range(1, 13)) - seen


@dataclass(frozen=True, slots=True)
class AnnualisedUse:
    """A typical year's use from short metering, kWh.

    `extrapolated_share`: share of the year's energy in months of which no day was metered;
    `extrapolation_half_width`: what they add to the interval.
    """

    annual: Estimate
    metered_days: int
    extrapolated_share: float
    extrapolation_half_width: float


def annualised_use(
    model: EnergyModel, metered_days: pd.DatetimeIndex, typical_drivers: pd.DataFrame, *, confidence: float
) -> AnnualisedUse:
    """The model at the days of a typical year: calendar, occupancy and sun carry the metered weeks.

    Months (of any year) without a metered day are extrapolation; their share is stated, and widens
    the interval.
    """
    from scipy.special import ndtri

    by_day = model.expected(typical_drivers)
    extrapolated = in_unseen_months(by_day, metered_days)
    total = float(by_day.sum())
    belief = model.mean_total(typical_drivers).widened((UNSEEN_MONTH_SHARE * extrapolated) ** 2)
    return AnnualisedUse(
        annual=belief.estimate(confidence),
        metered_days=len(metered_days),
        extrapolated_share=extrapolated / total if total else 0.0,
        extrapolation_half_width=float(ndtri(0.5 + confidence / 2)) * UNSEEN_MONTH_SHARE * abs(extrapolated),
    )


@dataclass(frozen=True, slots=True)
class PopulationUse:
    """Use of all lights from a sample of loggers, kWh; `precision` is half-width over estimate."""

    total: Estimate
    kwh_per_connected_kw: float
    precision: float
    sampled: int
    population: int


def population_use(
    use_kwh: Sequence[float],
    connected_kw: Sequence[float],
    *,
    population: int,
    population_connected_kw: float,
    confidence: float,
    use_standard_errors_kwh: Sequence[float] | None = None,
) -> PopulationUse | CannotSay:
    """Ratio estimate: the sample's kWh for each connected kW, times the population's connected kW.

    `use_kwh` and `connected_kw` are by logger, of `population` places drawn from at random. Variance of
    the ratio: (1 - n/N) sum((y - R x)^2) / ((n - 1) n xbar^2), Student t with n - 1 degrees of freedom
    (Cochran 1977, Sampling Techniques, 3rd ed., section 6.4; from memory). Each logger's own standard
    error is added as independent.
    """
    from scipy.special import stdtrit

    y, x = np.asarray(use_kwh, dtype=np.float64), np.asarray(connected_kw, dtype=np.float64)
    n = len(y)
    if n < LEAST_LOGGERS:
        return CannotSay("population", f"{n} loggers do not show how places differ; two are needed")
    if (x <= 0).any() or population < n:
        return CannotSay("population", "a logger without connected load, or more loggers than places")
    ratio = float(y.sum() / x.sum())
    spread = float(np.sum((y - ratio * x) ** 2)) / (n - 1)
    variance = (1 - n / population) * spread / (n * float(x.mean()) ** 2)
    if use_standard_errors_kwh is not None:
        variance += float(np.sum(np.square(use_standard_errors_kwh))) / float(x.sum()) ** 2
    error = population_connected_kw * float(np.sqrt(variance))
    half = float(stdtrit(n - 1, 0.5 + confidence / 2)) * error
    total = ratio * population_connected_kw
    return PopulationUse(
        Estimate(total, total - half, total + half, confidence, error),
        ratio,
        half / abs(total) if total else float("inf"),
        n,
        population,
    )
