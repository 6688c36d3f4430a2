"""A small invented verification that keeps the contract between the stages and the screen.

Nothing in it is measured and nothing is asserted of its truth: only that what is in the record is
what is drawn.
"""

from datetime import date

import numpy as np
import pandas as pd

from mv.base.clock import local_days, period_bounds
from mv.base.ledger import Ledger
from mv.base.series import MeterSeries
from mv.base.study_records import Study
from mv.base.verification import Verification

TIMEZONE = "America/Chicago"
BASELINE = ("2023-01-01", "2023-12-31")
REPORTING = ("2024-03-01", "2025-02-28")
METERS = ("LP-1", "LP-2")
HOSTILE = "<img src=x onerror=alert(1)>"
MINUTES = 15
FINDING, CHANGED = "0badf00d", "2024-09-16"


def invented_study() -> Study:
    """Two meters, two zones, one of them with a name that tries to be markup."""
    return Study.model_validate(
        {
            "format": 1,
            "study": {"title": "Invented hall", "confidence": 0.9},
            "site": {
                "name": "Invented site",
                "latitude": 44.5,
                "longitude": -89.6,
                "timezone": TIMEZONE,
            },
            "periods": {"baseline": BASELINE, "reporting": REPORTING},
            "meter": [
                {"id": "LP-1", "files": ["a.csv"], "zones": ["hall"]},
                {"id": "LP-2", "files": [f"{HOSTILE}.csv"], "zones": [HOSTILE]},
            ],
            "occupancy": {"holidays": [date(2023, 7, 4), date(2024, 7, 4)]},
            "predicted": {"annual_kwh": 60000.0, "peak_kw": 12.0},
            "zone": [
                {
                    "id": "hall",
                    "meter": "LP-1",
                    "fixtures": 64,
                    "watts_before": 175.0,
                    "watts_after": 72.0,
                    "commissioned": {"high_trim": 0.8, "hold_minutes": 10.0},
                },
                {"id": HOSTILE, "meter": "LP-2", "commissioned": {"scheduled_off": True}},
            ],
            "tariff": {"currency": "USD", "energy_per_kwh": 0.14},
        }
    )


def invented_meter(name: str, *, seed: int) -> MeterSeries:
    """Two years of 15-minute energy: open hours on weekdays, less after the retrofit, a few gaps."""
    start, _ = period_bounds(*BASELINE, TIMEZONE)
    _, end = period_bounds(*REPORTING, TIMEZONE)
    index = pd.date_range(start, end, freq=f"{MINUTES}min", inclusive="left")
    local = index.tz_convert(TIMEZONE)
    open_now = (local.day_of_week < 5) & (local.hour >= 7) & (local.hour < 19)
    after = index >= period_bounds(*REPORTING, TIMEZONE)[0]
    power = np.where(open_now, 11.0, 1.5) * np.where(after, 0.45, 1.0)
    power = power + np.random.default_rng(seed).normal(0.0, 0.15, len(index))
    energy = pd.Series(power * MINUTES / 60.0, index=index)
    energy[(index >= "2023-05-10 06:00") & (index < "2023-05-12 18:00")] = np.nan
    energy[(index >= "2024-09-01 00:00") & (index < "2024-09-01 02:00")] = np.nan
    estimated = pd.Series(False, index=index)
    estimated[(index >= "2024-10-05") & (index < "2024-10-06")] = True
    return MeterSeries(name, MINUTES, energy, estimated, _ledger(name, energy, estimated))


def _ledger(name: str, energy: pd.Series, estimated: pd.Series) -> Ledger:
    used = int(energy.notna().sum())
    return Ledger(
        meter=name,
        rows_read=used + 12,
        rows_used=used,
        set_aside={"repeated reading": 10, "not a number": 2},
        estimated_rows=int(estimated.sum()),
        energy_read_kwh=float(energy.sum()) + 3.0,
        energy_used_kwh=float(energy.sum()),
        coverage_baseline=0.993,
        coverage_reporting=0.9998,
        inferred={"unit": "kWh, from the column's name", "stamp": "start, first reading at 00:00"},
    )


def invented_daily(meters: dict[str, MeterSeries]) -> pd.DataFrame:
    """One row a meter and day, as the contract has it."""
    frames = []
    for meter in meters.values():
        days = local_days(pd.DatetimeIndex(meter.energy_kwh.index), TIMEZONE)
        actual = meter.energy_kwh.groupby(days).sum(min_count=92)
        period = np.where(actual.index < "2024-01-01", "baseline", "installation").astype(object)
        period[actual.index >= "2024-03-01"] = "reporting"
        expected = np.where(actual.index.day_of_week < 5, 150.0, 36.0)
        frames.append(
            pd.DataFrame(
                {
                    "day": actual.index,
                    "meter": meter.meter,
                    "period": period,
                    "actual_kwh": actual.to_numpy(),
                    "expected_kwh": expected,
                    "reporting_model_kwh": np.where(period == "reporting", 0.45 * expected, np.nan),
                    "in_fit": (period != "installation") & actual.notna().to_numpy(),
                    "daylight_hours": 12.0,
                }
            )
        )
    return pd.concat(frames, ignore_index=True)


def _estimate(value: float, half: float) -> dict[str, float]:
    return {"estimate": value, "low": value - half, "high": value + half, "confidence": 0.9}


def _months(daily: pd.DataFrame) -> list[dict[str, object]]:
    reporting = daily[daily["period"] == "reporting"].dropna(subset=["actual_kwh"])
    by_month = reporting.groupby(reporting["day"].dt.strftime("%Y-%m"))[["expected_kwh", "actual_kwh"]].sum()
    return [
        {
            "month": month,
            "expected_kwh": row.expected_kwh,
            "actual_kwh": row.actual_kwh,
            "avoided_kwh": _estimate(row.expected_kwh - row.actual_kwh, 120.0),
        }
        for month, row in zip(by_month.index, by_month.itertuples(), strict=True)
    ]


def invented_settings() -> list[dict[str, object]]:
    """One kept, one moved, one that cannot be told."""
    return [
        {
            "zone": "hall",
            "setting": "high_trim",
            "commissioned": 0.8,
            "observed": _estimate(0.99, 0.02),
            "verdict": "moved",
            "since": "2024-09-16",
            "why": "the plateau rose from 79 to 99 % of the connected load",
        },
        {
            "zone": "hall",
            "setting": "hold_minutes",
            "commissioned": 10.0,
            "observed": _estimate(10.4, 0.9),
            "verdict": "kept",
            "since": None,
            "why": "1,204 switch-offs after the last motion",
        },
        {
            "zone": HOSTILE,
            "setting": "scheduled_off",
            "commissioned": True,
            "observed": None,
            "verdict": "cannot tell",
            "since": None,
            "why": "the zone has no opening hours",
        },
    ]


def invented_result(study: Study, daily: pd.DataFrame, meters: dict[str, MeterSeries]) -> dict[str, object]:
    """The interface's keys and the optional ones, without any claim to truth."""
    months = _months(daily)
    avoided = sum(float(month["avoided_kwh"]["estimate"]) for month in months)  # type: ignore[index]
    verified = _estimate(avoided * 1.01, 2400.0)
    return {
        "format": 1,
        "tallylux": "0.1.0",
        "made_at": "2026-01-01T00:00:00Z",
        "study": study.model_dump(mode="json"),
        "inputs": [{"name": "a.csv", "bytes": 1234, "sha256": "0" * 64}],
        "savings": {
            "avoided_kwh": _estimate(avoided, 2300.0),
            "normalised_annual_kwh": verified,
            "peak_kw": _estimate(10.9, 0.8),
            "by_meter": {
                meter: {"avoided_kwh": _estimate(avoided / 2, 1500.0), "normalised_annual_kwh": None}
                for meter in meters
            },
            "monthly": months,
        },
        "predicted": {"annual_kwh": 60000.0, "peak_kw": 12.0},
        "realisation_rate": _estimate(verified["estimate"] / 60000.0, 0.04),
        "bridge": {
            "predicted_to_verified": [
                {"step": "fewer fixtures", "kwh": _estimate(-2000.0, 100.0), "why": "60 of 64 were fitted"},
                {
                    "step": "shorter hours than stated",
                    "kwh": _estimate(verified["estimate"] - 58000.0, 900.0),
                    "why": "metered opening",
                },
            ],
            "baseline_to_reporting": [
                {"step": "lamp and fixture change", "kwh": _estimate(avoided + 900.0, 500.0), "why": ""},
                {"step": "controls", "kwh": _estimate(-900.0, 900.0), "why": ""},
                {"step": "standby", "kwh": None, "why": "was not told apart"},
            ],
        },
        "models": [_model(meter, period) for meter in meters for period in ("baseline", "reporting")],
        "cleaning": [_cleaning_row(meter.ledger) for meter in meters.values()],
        "settings": invented_settings(),
        "drift": [
            {
                "id": FINDING,
                "kind": "step",
                "zones": ["hall"],
                "settings": ["high_trim"],
                "where": "hall",
                "what": "full-on level rose",
                "since": CHANGED,
                "until": None,
                "spells": [],
                "kwh_per_month": _estimate(410.0, 60.0),
                "cost_per_month": 57.4,
                "likely_causes": ["a controller returned to its defaults", "someone raised the level"],
                "check_first": "read the trim of the hall's group in the control system",
            }
        ],
        "money": {
            "currency": "USD",
            "bill_savings": _estimate(9000.0, 700.0),
            "incentive": _estimate(7000.0, 300.0),
            "simple_payback": _estimate(2.7, 0.2),
            "guarantee": None,
            "something_new": 3.5,
        },
        "acceptance": {"met": True, "why": [], "tests": []},
        "cannot_say": [{"what": f"scheduled_off of {HOSTILE}", "why": "the zone has no opening hours"}],
        "cautions": ["Only qualified persons open panels.", "Escape routes keep their light level."],
    }


def _model(meter: str, period: str) -> dict[str, object]:
    return {
        "meter": meter,
        "period": period,
        "form": "day type and dark occupied hours",
        "terms": [{"name": "dark occupied hours", "coefficient": 3.2, "standard_error": 0.2, "t": 16.0}],
        "n": 362,
        "r2": 0.93,
        "cv_rmse": 0.061,
        "nmbe": 0.0001,
        "lag1_autocorrelation": 0.31,
        "tests": [
            {
                "name": "CV(RMSE)",
                "limit": "at most 25 %",
                "value": 0.061,
                "passed": True,
                "source": "common practice",
            },
            {
                "name": "NMBE",
                "limit": "within 0.5 %",
                "value": 0.0001,
                "passed": True,
                "source": "common practice",
            },
        ],
    }


def _cleaning_row(ledger: Ledger) -> dict[str, object]:
    return {
        "meter": ledger.meter,
        "rows_read": ledger.rows_read,
        "rows_used": ledger.rows_used,
        "set_aside": dict(ledger.set_aside),
        "estimated_rows": ledger.estimated_rows,
        "energy_read_kwh": ledger.energy_read_kwh,
        "energy_used_kwh": ledger.energy_used_kwh,
        "coverage_baseline": ledger.coverage_baseline,
        "coverage_reporting": ledger.coverage_reporting,
        "inferred": dict(ledger.inferred),
        "remarks": [
            {
                "code": "clock-shifted",
                "what": "an hour is repeated in autumn",
                "file": f"{HOSTILE}.csv",
                "lines": "29,001-29,004",
                "remedy": "none needed: both passes are kept",
            }
        ],
        "files": [
            {"name": "a.csv", "rows_read": ledger.rows_read, "rows_used": ledger.rows_used, "set_aside": {}}
        ],
        "set_aside_lines": {"repeated reading": {"a.csv": "12-21"}, "not a number": {"a.csv": "90, 4711"}},
    }


def invented_settings_by_month() -> pd.DataFrame:
    """The long record of the settings: twelve months each."""
    months = pd.period_range("2024-03", "2025-02", freq="M").strftime("%Y-%m")
    rows = []
    for place, month in enumerate(months):
        trim = 0.79 if place < 6 else 0.99
        rows.append(("hall", month, "high_trim", trim, trim - 0.02, trim + 0.02))
        rows.append(("hall", month, "hold_minutes", 10.4, 9.5, 11.3))
        rows.append((HOSTILE, month, "scheduled_off", np.nan, np.nan, np.nan))
    return pd.DataFrame(rows, columns=["zone", "month", "setting", "estimate", "low", "high"])


def invented_drift_days(daily: pd.DataFrame) -> pd.DataFrame:
    """The reporting days of the first meter, from the change on 5 kWh above what is usual."""
    days = daily[(daily["meter"] == METERS[0]) & (daily["period"] == "reporting")]
    days = days[days["actual_kwh"].notna()]
    usual = days["actual_kwh"] - np.where(days["day"] >= CHANGED, 5.0, 0.0)
    return days[["day", "actual_kwh"]].assign(finding=FINDING, expected_kwh=usual).reset_index(drop=True)


def invented_verification() -> Verification:
    """The whole record."""
    study = invented_study()
    meters = {name: invented_meter(name, seed=seed) for seed, name in enumerate(METERS)}
    daily = invented_daily(meters)
    result = invented_result(study, daily, meters)
    months = invented_settings_by_month()
    return Verification(study, result, meters, daily, months, invented_drift_days(daily))
