"""The two Parquet tables: `studies` (portfolio.parquet) and `meters` (meters.parquet).

One row a study, in the order of their paths; one row a meter, in the order of studies and of each
study's meters. An estimate is three columns, the second and third its interval at `confidence`; an empty
cell is what cannot be said. Each column's unit and meaning stand in the file too, as the field's metadata.
"""

from collections.abc import Sequence
from typing import Any

from mv.base.estimate import Estimate
from mv.portfolio.records import BrokenStudy, MeterRecord, Outcome, StudyRecord

Columns = dict[str, tuple[str, str, str]]  # name: (type, unit, meaning)


def _estimated(name: str, unit: str, meaning: str) -> Columns:
    return {
        name: ("float", unit, meaning),
        f"{name}_low": ("float", unit, "lower end of its interval"),
        f"{name}_high": ("float", unit, "upper end of its interval"),
    }


STUDY_COLUMNS: Columns = {
    "study": ("text", "", "folder under studies/ that holds its result"),
    "path": ("text", "", "its study.toml"),
    "status": ("text", "", "accepted, not accepted, or broken"),
    "message": ("text", "", "why it is not accepted, or why it could not be verified"),
    "title": ("text", "", "title of the study"),
    "site": ("text", "", "name of the site"),
    "programme": ("text", "", "[claim] programme"),
    "contractor": ("text", "", "[claim.contractor] name"),
    "strategies": ("texts", "", "[claim] strategies, else those agreed at hand-over"),
    "baseline_first": ("text", "local date", "first day of the baseline"),
    "baseline_last": ("text", "local date", "last day of the baseline"),
    "reporting_first": ("text", "local date", "first day of the reporting period"),
    "reporting_last": ("text", "local date", "last day of the reporting period"),
    "meters": ("whole", "", "number of meters"),
    "confidence": ("float", "fraction", "of every interval in the row, two-sided"),
    **_estimated("avoided_kwh", "kWh", "avoided energy of the reporting period"),
    **_estimated("normalised_annual_kwh", "kWh a year", "savings in a typical year"),
    **_estimated("peak_kw", "kW", "mean reduction over the study's own peak window"),
    "predicted_annual_kwh": ("float", "kWh a year", "what was predicted"),
    "predicted_peak_kw": ("float", "kW", "what was predicted"),
    **_estimated("realisation_rate", "fraction", "verified over predicted annual kWh"),
    **_estimated("bill_savings", "currency a year", "bill savings in a typical year"),
    "currency": ("text", "", "of bill savings and costs"),
    "settings_kept": ("whole", "", "control settings as agreed"),
    "settings_moved": ("whole", "", "control settings not as agreed"),
    "settings_unknown": ("whole", "", "control settings of which the data cannot tell"),
    "findings": ("whole", "", "changes found after hand-over"),
    "worst_cost_per_month": ("float", "currency a month", "of the dearest finding"),
}

METER_COLUMNS: Columns = {
    "study": ("text", "", "folder under studies/ that holds its result"),
    "meter": ("text", "", "[[meter]] id"),
    "measures": ("text", "", "lighting or whole building"),
    "kind": ("text", "", "what its energy was modelled as"),
    "confidence": ("float", "fraction", "of every interval in the row, two-sided"),
    **_estimated("avoided_kwh", "kWh", "avoided energy of the reporting period"),
    **_estimated("normalised_annual_kwh", "kWh a year", "savings in a typical year"),
    "rows_read": ("whole", "rows", "read from its files"),
    "rows_used": ("whole", "rows", "used after cleaning"),
    "energy_used_kwh": ("float", "kWh", "in the rows used"),
    "coverage_baseline": ("float", "fraction", "of the baseline that was metered"),
    "coverage_reporting": ("float", "fraction", "of the reporting period that was metered"),
    "form": ("text", "", "form of the baseline model"),
    "n": ("whole", "days or bills", "observations in the baseline model"),
    "r2": ("float", "fraction", "of the baseline model"),
    "cv_rmse": ("float", "fraction", "of the baseline model"),
    "lag1_autocorrelation": ("float", "", "of the baseline model's residuals"),
}


def study_row(outcome: Outcome) -> dict[str, Any]:
    """One row of the studies table; what is absent from the row is empty."""
    if isinstance(outcome, BrokenStudy):
        return {"study": outcome.name, "path": outcome.path, "status": "broken", "message": outcome.message}
    costs = [f.cost_per_month for f in outcome.findings if f.cost_per_month is not None]
    same = (
        "path title site programme contractor baseline_first baseline_last reporting_first reporting_last "
        "confidence predicted_annual_kwh predicted_peak_kw currency "
        "settings_kept settings_moved settings_unknown"
    )
    return {
        "study": outcome.name,
        **{name: getattr(outcome, name) for name in same.split()},
        "status": "accepted" if outcome.accepted else "not accepted",
        "message": "; ".join(outcome.why_not) or None,
        "strategies": list(outcome.strategies),
        "meters": len(outcome.meters),
        **_three("avoided_kwh", outcome.avoided_kwh),
        **_three("normalised_annual_kwh", outcome.annual_kwh),
        **_three("peak_kw", outcome.peak_kw),
        **_three("realisation_rate", outcome.realisation_rate),
        **_three("bill_savings", outcome.bill_savings),
        "findings": len(outcome.findings),
        "worst_cost_per_month": max(costs, default=None),
    }


def meter_rows(outcomes: Sequence[Outcome]) -> list[dict[str, Any]]:
    """The meters table, one row a meter of every verified study."""
    verified = (outcome for outcome in outcomes if isinstance(outcome, StudyRecord))
    return [_meter_row(record, meter) for record in verified for meter in record.meters]


def _meter_row(record: StudyRecord, meter: MeterRecord) -> dict[str, Any]:
    same = (
        "meter measures kind rows_read rows_used energy_used_kwh coverage_baseline coverage_reporting "
        "form n r2 cv_rmse lag1_autocorrelation"
    )
    return {
        "study": record.name,
        "confidence": record.confidence,
        **{name: getattr(meter, name) for name in same.split()},
        **_three("avoided_kwh", meter.avoided_kwh),
        **_three("normalised_annual_kwh", meter.annual_kwh),
    }


def _three(name: str, estimate: Estimate | None) -> dict[str, float]:
    if estimate is None or estimate.low is None or estimate.high is None:
        return {}
    return {name: float(estimate.estimate), f"{name}_low": estimate.low, f"{name}_high": estimate.high}
