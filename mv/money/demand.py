"""Demand charges: the highest kW of each month, ratchet included."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.programme_records import DemandPrice, Tariff

FEWEST_MONTHS = 3
"""Months of highest kW, before and after, below which no saving is given. No source."""
WHOLE_MONTH_SHARE = 0.9
"""Share of a month that must be metered for its highest kW to count. Common practice, no source."""
MONTHS_PER_YEAR = 12


@dataclass(frozen=True)
class MonthlyDemand:
    """Highest kW by calendar month (PeriodIndex "M"), before and after the retrofit.

    `measures` says whether the meter sees the whole building or the lighting alone.
    """

    before_kw: pd.Series
    after_kw: pd.Series
    measures: str = "lighting"


def monthly_peak_kw(power_kw: pd.Series, *, timezone: str, demand_minutes: float) -> pd.Series:
    """Highest mean power over the demand interval in each local month, kW, by monthly Period.

    `power_kw` is mean power per interval, UTC starts. Finer readings are averaged to the demand
    interval; coarser ones are taken as they are and understate the highest. Months metered for
    less than nine tenths of their length are left out.
    """
    index = pd.DatetimeIndex(power_kw.index)
    step = pd.Timedelta(minutes=demand_minutes)
    finest = index.to_series().diff().median()
    power = power_kw.resample(step).mean() if finest < step else power_kw
    width = max(step, finest)
    local = pd.DatetimeIndex(power.index).tz_convert(timezone).tz_localize(None)
    by_month = power.groupby(local.to_period("M"))
    highest = by_month.max()
    months = pd.PeriodIndex(highest.index)
    length = (months.end_time - months.start_time) / width
    return highest[by_month.count().to_numpy() >= WHOLE_MONTH_SHARE * length.to_numpy()]


def billed_demand_kw(peak_kw: pd.Series, *, ratchet_fraction: float | None, ratchet_months: int) -> pd.Series:
    """Billed demand: the month's highest kW, but not below the ratchet.

    The ratchet is `ratchet_fraction` of the highest kW of the `ratchet_months` months before.
    Months without a reading do not count. Tariff practice, no source.
    """
    if not ratchet_fraction:
        return peak_kw
    months = pd.PeriodIndex(peak_kw.index)
    billed = []
    for month, kw in zip(months, peak_kw, strict=True):
        back = peak_kw[(months < month) & (months >= month - ratchet_months)]
        floor = ratchet_fraction * float(back.max()) if len(back) else 0.0
        billed.append(max(float(kw), floor))
    return pd.Series(billed, index=peak_kw.index)


def demand_saving(demand: MonthlyDemand | None, tariff: Tariff, *, confidence: float) -> Answer | None:
    """What the bill's demand charges fall by in a year; None where the tariff has none.

    Each calendar month after the retrofit is set against the same calendar month before, both
    as billed, at that month's price; in months that lack a partner the mean fall in kW is taken.
    The interval is that of the mean over months.
    """
    what = "demand charge saving"
    if tariff.demand_per_kw_month is None:
        return None
    if demand is None:
        return CannotSay(what, "the monthly highest kW are not known before and after")
    share = 1.0 if demand.measures == "whole building" else tariff.demand_coincidence
    if share is None:
        why = (
            "a lighting meter does not show when the building's billing peak falls; state "
            "demand_coincidence under [tariff], the share of the lighting's own reduction"
        )
        return CannotSay(what, why)
    fall = _monthly_fall_kw(demand, tariff)
    if len(fall) < FEWEST_MONTHS:
        why = f"only {len(fall)} calendar months have a highest kW before and after"
        return CannotSay(what, why)
    return _annual(fall * share, tariff, confidence)


def _monthly_fall_kw(demand: MonthlyDemand, tariff: Tariff) -> pd.Series:
    """Fall of the billed demand, kW, by calendar month that is known on both sides."""
    before, after = (
        _by_calendar_month(
            billed_demand_kw(
                series,
                ratchet_fraction=tariff.demand_ratchet_fraction,
                ratchet_months=tariff.demand_ratchet_months,
            )
        )
        for series in (demand.before_kw, demand.after_kw)
    )
    both = sorted(set(before.index) & set(after.index))
    return before[both].astype(float) - after[both].astype(float)


def price_of_month(tariff: Tariff, month: int) -> float:
    """Demand price of a calendar month, money per kW; 0 in a month that the table leaves out."""
    table = tariff.demand_per_kw_month
    if isinstance(table, tuple):
        rows: Collection[DemandPrice] = table
        return next((row.per_kw_month for row in rows if month in row.months), 0.0)
    return float(table or 0.0)


def _by_calendar_month(series: pd.Series) -> pd.Series:
    """Mean over years of the same calendar month."""
    return series.groupby(pd.PeriodIndex(series.index).month).mean()


def _annual(fall_kw: pd.Series, tariff: Tariff, confidence: float) -> Estimate:
    from scipy.special import stdtrit

    months = range(1, MONTHS_PER_YEAR + 1)
    prices = {month: price_of_month(tariff, month) for month in months}
    count, mean_kw = len(fall_kw), float(fall_kw.mean())
    annual = sum(prices[month] * float(fall_kw.get(month, mean_kw)) for month in months)
    error = sum(prices.values()) * float(np.std(fall_kw, ddof=1)) / np.sqrt(count)
    half = float(stdtrit(count - 1, 0.5 + confidence / 2.0)) * float(error)
    return Estimate(annual, annual - half, annual + half, confidence, float(error))
