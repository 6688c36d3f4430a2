"""Month by month over all meters: expected, metered and avoided energy."""

from collections.abc import Sequence
from typing import Any

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.meter_savings import MeterSavings
from mv.savings import PeriodAvoided, combine


def monthly_savings(meters: Sequence[MeterSavings]) -> list[dict[str, Any]]:
    """The `savings.monthly` list: one entry a month of the reporting period.

    A month that some meter cannot give is the sum of those that can, and names those that cannot.
    """
    by_meter = {
        item.meter.id: {month.name: month for month in item.avoided.monthly}
        for item in meters
        if not isinstance(item.avoided, CannotSay)
    }
    residuals = {
        item.meter.id: item.baseline_model.residuals
        for item in meters
        if not isinstance(item.baseline_model, CannotSay)
    }
    names = sorted({name for months in by_meter.values() for name in months})
    entries = []
    for name in names:
        parts = {meter: months[name] for meter, months in by_meter.items() if name in months}
        answers: dict[str, Answer] = {meter: month.avoided for meter, month in parts.items()}
        entries.append(_entry(name, parts, combine(answers, residuals), len(meters)))
    return entries


def _entry(name: str, parts: dict[str, PeriodAvoided], avoided: Answer, meters: int) -> dict[str, Any]:
    return {
        "month": name,
        "expected_kwh": sum(part.expected_kwh for part in parts.values()),
        "actual_kwh": sum(part.actual_kwh for part in parts.values()),
        "avoided_kwh": avoided.as_json() if isinstance(avoided, Estimate) else None,
        "modelled_days": sum(part.modelled_days for part in parts.values()),
        "meters": len(parts),
        "meters_missing": meters - len(parts),
    }
