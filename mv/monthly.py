"""Month by month over all meters: expected, metered and avoided energy."""

from collections.abc import Sequence
from typing import Any

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.study_records import Study
from mv.meter_savings import MeterSavings
from mv.populations import expansions, residuals_of, site_total
from mv.savings import PeriodAvoided


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
        entries.append(_entry(name, parts, total, times))
    return entries


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
