"""What the study's saving is worth: when it was avoided, and each month's highest kW."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from mv.base.clock import period_bounds
from mv.base.estimate import Answer, CannotSay
from mv.base.programme_records import Tariff
from mv.base.study_records import Span, Study
from mv.money import AvoidedProfile, MoneyAccount, MonthlyDemand, money_account, monthly_peak_kw
from mv.verifying.meter_savings import MeterSavings
from mv.verifying.populations import expansions
from mv.verifying.site_power import coarsened_kw, site_power_kw

HOUR_MINUTES = 60.0


def price_per_kwh(tariff: Tariff) -> float | None:
    """The price for costing a finding; of a table, the plain mean of its rows."""
    price = tariff.energy_per_kwh
    if price is None or isinstance(price, int | float):
        return price
    return float(np.mean([period.per_kwh for period in price]))


def money_of(study: Study, meters: Sequence[MeterSavings], annual: Answer, peak: Answer) -> MoneyAccount:
    """The money account of the typical year's saving."""
    return money_account(
        study,
        annual_kwh=annual,
        peak_kw=peak,
        profile=_profile(study, meters) if _by_the_hour(study) else None,
        demand=_demand(study, meters),
    )


def _by_the_hour(study: Study) -> bool:
    """Whether a price or the carbon of a kWh changes with the hour."""
    return any(isinstance(rate, tuple) for rate in (study.tariff.energy_per_kwh, study.carbon.kg_per_kwh))


def _profile(study: Study, meters: Sequence[MeterSavings]) -> AvoidedProfile | None:
    """Avoided kWh by hour of the reporting period, for prices that change with the hour."""
    assert study.periods is not None
    times = expansions(study, meters)
    counted = [item for item in meters if times[item.meter.id] > 0]
    known = [item for item in counted if not isinstance(item.avoided, CannotSay)]
    if not known or len(known) < len(counted):
        return None
    minutes = max(HOUR_MINUTES, *(item.series.interval_minutes for item in known))
    hourly = [times[item.meter.id] * _hourly(study, item, minutes) for item in known]
    total = hourly[0]
    for series in hourly[1:]:
        total = total.add(series)  # an hour that any meter misses stays unknown
    return AvoidedProfile(total, study.site.timezone, study.occupancy.holidays)


def _hourly(study: Study, item: MeterSavings, minutes: float) -> pd.Series:
    """The day's expected kWh spread as the baseline's hours of such days and that month, less the meter.

    In steps of `minutes`, an hour or the coarsest meter's interval.
    """
    assert study.periods is not None and not isinstance(item.avoided, CannotSay)
    before = _hours(study, item, study.periods.baseline, minutes)
    after = _hours(study, item, study.periods.reporting, minutes)
    keys_before, keys_after = (_keys(series, item, study) for series in (before, after))
    shape = before.groupby([keys_before[name] for name in keys_before]).mean()
    usual = shape.reindex(pd.MultiIndex.from_frame(keys_after)).to_numpy(dtype=np.float64)
    day = keys_after.index.tz_convert(study.site.timezone).tz_localize(None).normalize()  # type: ignore[attr-defined]
    usual = np.where(np.isfinite(usual), usual, np.nanmean(usual) if np.isfinite(usual).any() else 1.0)
    total = pd.Series(usual).groupby(day).transform("sum").to_numpy()
    expected = item.avoided.by_day["expected_kwh"].reindex(day).to_numpy(dtype=np.float64)
    spread = np.divide(usual, total, out=np.full(len(usual), minutes / 1440.0), where=total > 0)
    return pd.Series(expected * spread - after.to_numpy(dtype=np.float64), index=after.index)


def _hours(study: Study, item: MeterSavings, span: Span, minutes: float) -> pd.Series:
    start, end = period_bounds(span.first, span.last, study.site.timezone)
    energy = coarsened_kw(item.series, minutes) * (minutes / 60.0)
    return energy[(energy.index >= start) & (energy.index < end)]


def _keys(hours: pd.Series, item: MeterSavings, study: Study) -> pd.DataFrame:
    wall = pd.DatetimeIndex(hours.index).tz_convert(study.site.timezone)
    day = wall.tz_localize(None).normalize()
    kind = item.drivers["day_type"].reindex(day).astype("object").fillna("weekday").to_numpy()
    return pd.DataFrame({"kind": kind, "month": wall.month, "hour": wall.hour}, index=hours.index)


def _demand(study: Study, meters: Sequence[MeterSavings]) -> MonthlyDemand | None:
    """Highest kW of the meters' sum in each month of either period."""
    assert study.periods is not None
    minutes = study.tariff.demand_interval_minutes
    if any(item.series.interval_minutes > HOUR_MINUTES for item in meters):
        return None  # means over longer than an hour hide the highest kW
    power = site_power_kw(
        [item.series for item in meters], least_minutes=minutes, times=expansions(study, meters)
    )
    if power is None:
        return None
    highest = []
    for span in (study.periods.baseline, study.periods.reporting):
        start, end = period_bounds(span.first, span.last, study.site.timezone)
        inside = power[(power.index >= start) & (power.index < end)].dropna()
        if len(inside) < 3:
            return None
        highest.append(monthly_peak_kw(inside, timezone=study.site.timezone, demand_minutes=minutes))
    whole = any(item.meter.measures == "whole building" for item in meters)
    return MonthlyDemand(highest[0], highest[1], "whole building" if whole else "lighting")
