"""Month by month over all meters: expected, metered and avoided energy."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.study_records import Study
from mv.savings import PeriodAvoided
from mv.verifying.meter_savings import MeterSavings
from mv.verifying.populations import expansions, residuals_of, site_total


def monthly_savings(study: Study, meters: Sequence[MeterSavings]) -> list[dict[str, Any]]:
    """The `savings.monthly` list: one entry a month of the reporting period, loggers carried.

    A month that some meter cannot give is the sum of those that can, and names those that cannot.
    """
    by_meter = {
        item.meter.id: {month.name: month for month in item.avoided.monthly}
        for item in meters
        if not isinstance(item.avoided, CannotSay)
    }
    residuals, times = residuals_of(meters), expansions(study, meters)
    names = sorted({name for months in by_meter.values() for name in months})
    entries = []
    for name in names:
        parts = {meter: months[name] for meter, months in by_meter.items() if name in months}
        answers: dict[str, Answer] = {meter: month.avoided for meter, month in parts.items()}
        total = site_total(study, answers, residuals, what="avoided_kwh").total
        to_date = _to_date(study, meters, name, residuals)
        entries.append(_entry(name, parts, total, times) | {"avoided_to_date_kwh": to_date})
    return entries


def _to_date(
    study: Study, meters: Sequence[MeterSavings], month: str, residuals: dict[str, pd.Series]
) -> dict[str, Any] | None:
    """The running total at the month's end, with the interval of a total over all days until then."""
    answers: dict[str, Answer] = {}
    metering: dict[str, float] = {}
    for item in meters:
        so_far = [] if isinstance(item.avoided, CannotSay) else item.avoided.to_date
        until = [period for period in so_far if period.name <= month]
        if until:
            answers[item.meter.id] = until[-1].avoided
            metering[item.meter.id] = item.meter.own_error.fraction * abs(float(until[-1].avoided.estimate))
    total = site_total(study, answers, residuals, what="avoided_kwh", metering_half_widths=metering).total
    return total.as_json() if isinstance(total, Estimate) else None


def _entry(
    name: str, parts: dict[str, PeriodAvoided], avoided: Answer, times: dict[str, float]
) -> dict[str, Any]:
    return {
        "month": name,
        "expected_kwh": sum(times[meter] * part.expected_kwh for meter, part in parts.items()),
        "actual_kwh": sum(times[meter] * part.actual_kwh for meter, part in parts.items()),
        "avoided_kwh": avoided.as_json() if isinstance(avoided, Estimate) else None,
        "modelled_days": sum(part.modelled_days for part in parts.values()),
        "meters": len(parts),
        "meters_missing": len(times) - len(parts),
    }
