"""From a whole result to the record that a portfolio keeps."""

from collections.abc import Iterable, Mapping
from typing import Any

import pandas as pd

from mv.base.estimate import Estimate
from mv.base.meter_accuracy import meter_accuracy
from mv.portfolio.records import FindingRecord, MeteringClass, MeterRecord, StudyRecord

Json = Mapping[str, Any]

# Long enough to show what lasts, short enough for several in a year: of 28, 42 and 56 days the last
# held the truth nearest to 90 % in simulated portfolios (tests/benchmarks/README.md, pooled interval).
BLOCK_DAYS = 56
BLOCK_ORIGIN = pd.Timestamp("2000-01-03")
FEWEST_DAYS = 20  # of a block's 56 with a usable reading (common practice, no source)

STRATEGY_OF_SETTING = {
    "hold_minutes": "occupancy sensing",
    "daylight_dimming": "daylight dimming",
    "high_trim": "high-end trim",
    "scheduled_off": "scheduling",
}
NO_CONTROLS = "no controls agreed"


def condensed(
    result: Json,
    daily: pd.DataFrame,
    *,
    name: str,
    path: str,
    key: str,
    digests: tuple[str, str],
    series_file: str,
) -> StudyRecord:
    """The record of a verified study; `daily` as in Verification.

    `digests` are of the stored result.json and of its series.
    """
    study, savings, predicted = result["study"], result["savings"], result["predicted"]
    periods, claim = study["periods"], study["claim"]
    verdicts = [row["verdict"] for row in result["settings"]]
    return StudyRecord(
        name=name,
        path=path,
        key=key,
        result_sha256=digests[0],
        series_sha256=digests[1],
        series_file=series_file,
        title=study["study"]["title"],
        site=study["site"]["name"],
        programme=claim["programme"],
        contractor=(claim["contractor"] or {}).get("name"),
        strategies=strategies_of(study),
        confidence=study["study"]["confidence"],
        baseline_first=str(periods["baseline"]["first"]),
        baseline_last=str(periods["baseline"]["last"]),
        reporting_first=str(periods["reporting"]["first"]),
        reporting_last=str(periods["reporting"]["last"]),
        avoided_kwh=_estimate(savings["avoided_kwh"]),
        annual_kwh=_estimate(savings["normalised_annual_kwh"]),
        peak_kw=_estimate(savings["peak_kw"]),
        predicted_annual_kwh=predicted["annual_kwh"],
        predicted_peak_kw=predicted["peak_kw"],
        realisation_rate=_estimate(result["realisation_rate"]),
        bill_savings=_estimate(result["money"].get("bill_savings")),
        currency=result["money"].get("currency"),
        accepted=bool(result["acceptance"]["met"]),
        why_not=tuple(result["acceptance"]["why"]),
        settings_kept=verdicts.count("kept"),
        settings_moved=verdicts.count("moved"),
        settings_unknown=verdicts.count("cannot tell"),
        meters=tuple(_meter(result, row) for row in study["meter"]),
        findings=tuple(_finding(row) for row in result["drift"] if row["kind"] != "gap"),
        metering=tuple(_metering(result)),
        residuals_kwh=block_residuals(daily),
    )


def strategies_of(study: Json) -> tuple[str, ...]:
    """The control strategies that the claim states; else those that any zone's hand-over agreed."""
    stated = study["claim"]["strategies"]
    if stated:
        return tuple(dict.fromkeys(stated))
    agreed = set()
    for zone in study["zone"]:
        for setting, strategy in STRATEGY_OF_SETTING.items():
            value = zone["commissioned"][setting]
            if value not in (None, False) and not (setting == "high_trim" and value >= 1):
                agreed.add(strategy)
    return tuple(sorted(agreed)) or (NO_CONTROLS,)


def block_residuals(daily: pd.DataFrame) -> dict[str, float]:
    """Mean daily residual of the baseline, kWh, by eight-week block of the calendar, over all meters.

    Blocks begin at the same days in every study, so that studies can be compared in the same weeks.
    A block in which some meter of the study has fewer than 20 usable days is left out.
    """
    base = daily[(daily["period"] == "baseline") & daily["in_fit"].astype(bool)]
    residual = (base["actual_kwh"] - base["expected_kwh"]).to_numpy()
    table = pd.DataFrame({"day": base["day"], "meter": base["meter"], "kwh": residual}).dropna()
    if table.empty:
        return {}
    table["block"] = (table["day"] - BLOCK_ORIGIN).dt.days // BLOCK_DAYS
    means = table.groupby(["block", "meter"])["kwh"].agg(["mean", "size"])
    usable = means[means["size"] >= FEWEST_DAYS]["mean"].groupby(level="block").agg(["sum", "size"])
    whole = usable[usable["size"] == daily["meter"].nunique()]["sum"]
    first = {block: BLOCK_ORIGIN + pd.Timedelta(days=BLOCK_DAYS * int(block)) for block in whole.index}
    return {first[block].date().isoformat(): float(value) for block, value in whole.items()}


def _estimate(found: Json | None) -> Estimate | None:
    if found is None or found["low"] is None:
        return None
    return Estimate(found["estimate"], found["low"], found["high"], found["confidence"])


def _meter(result: Json, meter: Json) -> MeterRecord:
    savings = result["savings"]["by_meter"][meter["id"]]
    ledger = next(row for row in result["cleaning"] if row["meter"] == meter["id"])
    models = (row for row in result["models"] if row["meter"] == meter["id"])
    model: Json = next((row for row in models if row["period"] == "baseline"), {})
    return MeterRecord(
        meter=meter["id"],
        measures=meter["measures"],
        kind=savings["kind"],
        avoided_kwh=_estimate(savings["avoided_kwh"]),
        annual_kwh=_estimate(savings["normalised_annual_kwh"]),
        rows_read=ledger["rows_read"],
        rows_used=ledger["rows_used"],
        energy_used_kwh=ledger["energy_used_kwh"],
        coverage_baseline=ledger["coverage_baseline"],
        coverage_reporting=ledger["coverage_reporting"],
        form=model.get("form"),
        n=model.get("n"),
        r2=model.get("r2"),
        cv_rmse=model.get("cv_rmse"),
        lag1_autocorrelation=model.get("lag1_autocorrelation"),
    )


def _finding(row: Json) -> FindingRecord:
    return FindingRecord(
        where=row["where"],
        what=row["what"],
        since=row["since"],
        kwh_per_month=_estimate(row["kwh_per_month"]),
        cost_per_month=row["cost_per_month"],
        check_first=row["check_first"][0] if row["check_first"] else "",
    )


def _metering(result: Json) -> Iterable[MeteringClass]:
    """One entry an accuracy, stated or taken, over the study's meters of that accuracy."""
    classes: dict[str, list[float]] = {}
    for meter in result["study"]["meter"]:
        accuracy = meter_accuracy(meter["accuracy"], meter["accuracy_source"])
        if not accuracy.fraction:
            continue
        savings = result["savings"]["by_meter"][meter["id"]]
        annual = savings["normalised_annual_kwh"]
        name = f"{100 * accuracy.fraction:g} %, {accuracy.source}"
        sums = classes.setdefault(name, [0.0, 0.0])
        sums[0] += savings.get("half_widths_kwh", {}).get("metering", 0.0)
        sums[1] += accuracy.fraction * abs(annual["estimate"]) if annual else 0.0
    return [MeteringClass(name, *sums) for name, sums in sorted(classes.items())]
