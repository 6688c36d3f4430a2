"""Weeks of metering carried to a year."""

import math
from dataclasses import dataclass

import pandas as pd

from mv.base.estimate import Estimate
from mv.savings.model import EnergyModel

# Standard deviation of a month's use about the model when no such month was metered, as a share of that
# use (common practice, no source); it acts on all unseen months alike.
UNSEEN_MONTH_SHARE = 0.05
# The same for avoided energy of outdoor lights of which few months were metered: a photocell's switching
# and a load that changes cannot be told apart in one season. Chosen on simulated outdoor sites of seeds
# 3000-3499 (tests/benchmarks). Indoor lights' models hold their seasons without it.
OUTDOOR_UNSEEN_MONTH_SHARE = 0.02
# The same for whole buildings, for both kinds of savings: their heating and cooling were not seen at all in
# such months. Chosen on simulated buildings of seeds 0-159 (tests/benchmarks/README.md).
BUILDING_UNSEEN_MONTH_SHARE = 0.03
MOST_MONTHS_OF_A_SEASON = 4
# Standard deviation of what a whole building's use changes by itself between the periods (equipment comes
# and goes, habits move), as a share of it: a year or less of baseline cannot show it. Chosen on simulated
# buildings of seeds 0-159 (tests/benchmarks/README.md); measured buildings change by more.
BUILDING_OWN_CHANGE_SHARE = 0.0075
# Standard deviation of what colder or warmer days than any seen add, as a share of it: equipment reaches
# its limit or a second stage begins, and a straight line knows of neither (common practice, no source).
BEYOND_WEATHER_SHARE = 0.5


def in_unseen_months(by_day: pd.Series, metered_days: pd.DatetimeIndex) -> float:
    """The part of `by_day` (kWh by local day) in months of the year of which no day was metered."""
    unseen = ~pd.DatetimeIndex(by_day.index).month.isin(set(metered_days.month))
    return float(by_day[unseen].sum())


def unseen_season(kind: str, metered_days: pd.DatetimeIndex) -> dict[int, float]:
    """The standard deviation of the use in months of the year (1-12) never metered, as a share of it, that
    the model does not hold by itself; empty where it does.
    """
    seen = set(metered_days.month)
    unseen = sorted(set(range(1, 13)) - seen)
    if kind == "whole building":
        return dict.fromkeys(unseen, BUILDING_UNSEEN_MONTH_SHARE)
    if kind != "outdoor" or len(seen) > MOST_MONTHS_OF_A_SEASON:
        return {}
    return dict.fromkeys(unseen, OUTDOOR_UNSEEN_MONTH_SHARE)


def own_change_kwh(kind: str, use_kwh: float) -> float:
    """Standard error for the change of a whole building by itself, kWh; nothing for lights alone."""
    return BUILDING_OWN_CHANGE_SHARE * abs(use_kwh) if kind == "whole building" else 0.0


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
    the interval, as does weather beyond any seen.
    """
    from scipy.special import ndtri

    by_day = model.expected(typical_drivers)
    extrapolated = in_unseen_months(by_day, metered_days)
    total = float(by_day.sum())
    beyond = float(model.beyond_weather(typical_drivers).sum())
    share = BUILDING_UNSEEN_MONTH_SHARE if model.kind == "whole building" else UNSEEN_MONTH_SHARE
    error = math.hypot(share * extrapolated, BEYOND_WEATHER_SHARE * beyond)
    belief = model.mean_total(typical_drivers).widened(error**2)
    return AnnualisedUse(
        annual=belief.estimate(confidence),
        metered_days=len(metered_days),
        extrapolated_share=extrapolated / total if total else 0.0,
        extrapolation_half_width=float(ndtri(0.5 + confidence / 2)) * error,
    )
