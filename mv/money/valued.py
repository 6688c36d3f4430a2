"""Avoided kWh times a rate that may change from hour to hour, with the interval carried along."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.money.price_table import Period, rate_of_each


@dataclass(frozen=True)
class AvoidedProfile:
    """When the energy was avoided: kWh per interval over a span, UTC starts, NaN left out.

    It says how the annual saving is spread over prices; its own sum need not be the annual one.
    """

    avoided_kwh: pd.Series
    timezone: str
    holidays: Collection[date] = ()


def valued(
    avoided: Answer,
    rate: float | Sequence[Period] | None,
    profile: AvoidedProfile | None,
    *,
    what: str,
    missing: str,
    rate_name: str = "per_kwh",
) -> Answer:
    """`avoided` kWh at a rate: one number, or a table priced along the profile.

    With a table: sum(kWh_t x rate_t), carried from the profile's span to `avoided` at the mean
    rate, and the interval of `avoided` at the mean rate (weighted by |kWh_t|). The doubt about
    when exactly the energy was avoided is not in the interval.
    """
    if rate is None:
        return CannotSay(what, missing)
    if isinstance(avoided, CannotSay):
        return CannotSay(what, avoided.why)
    if isinstance(rate, int | float):
        return avoided.scaled(float(rate))
    return _along(avoided, rate, profile, what, rate_name)


def _along(
    avoided: Estimate,
    periods: Sequence[Period],
    profile: AvoidedProfile | None,
    what: str,
    rate_name: str,
) -> Answer:
    if profile is None:
        return CannotSay(what, "the rates change with the hour and no hourly saving is known")
    kwh = profile.avoided_kwh.dropna()
    if kwh.empty:
        return CannotSay(what, "no interval has a saving")
    rates = rate_of_each(
        pd.DatetimeIndex(kwh.index),
        periods,
        [float(getattr(period, rate_name)) for period in periods],
        timezone=profile.timezone,
        holidays=profile.holidays,
    )
    if isinstance(rates, CannotSay):
        return CannotSay(what, rates.why)
    return _at_rates(avoided, kwh.to_numpy(dtype=float), rates.to_numpy(dtype=float))


def _at_rates(avoided: Estimate, kwh: np.ndarray, rates: np.ndarray) -> Estimate:
    weights = np.abs(kwh)
    mean_rate = float(weights @ rates / weights.sum()) if weights.sum() > 0 else float(rates.mean())
    total, spread = float(kwh.sum()), float(kwh @ rates)
    # the profile's span is carried to `avoided` in proportion where that is safe, else at the mean
    if total > 0.5 * weights.sum():
        estimate = spread * avoided.estimate / total
    else:
        estimate = spread + (avoided.estimate - total) * mean_rate
    unit = avoided.scaled(mean_rate)
    shift = estimate - unit.estimate
    low = None if unit.low is None else unit.low + shift
    high = None if unit.high is None else unit.high + shift
    return Estimate(estimate, low, high, avoided.confidence, unit.standard_error)
