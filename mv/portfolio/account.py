"""summary.json: what the studies prove together, the worst findings, and what could not be verified."""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from mv.base.estimate import Estimate
from mv.portfolio.groups import Totals, by_contractor, by_programme, by_strategy, totals
from mv.portfolio.pooling import Pool
from mv.portfolio.records import BrokenStudy, Outcome, StudyRecord
from mv.portfolio.worst import PlacedFinding, ranked_by_cost, worst_first

Json = dict[str, Any]
MOST_FINDINGS = 500  # the rest stand in the studies' own results


def summary_of(outcomes: Sequence[Outcome], *, gone: Sequence[str], version: str, made_at: str) -> Json:
    """The whole of summary.json; `gone` are former studies that were not found again."""
    records = [outcome for outcome in outcomes if isinstance(outcome, StudyRecord)]
    broken = [outcome for outcome in outcomes if isinstance(outcome, BrokenStudy)]
    findings, titles = worst_first(records), _titles(records)
    return {
        "format": 1,
        "tallylux": version,
        "made_at": made_at,
        "studies": {
            "found": len(outcomes),
            "accepted": sum(record.accepted for record in records),
            "not_accepted": sum(not record.accepted for record in records),
            "broken": len(broken),
            "meters": sum(len(record.meters) for record in records),
        },
        "total": _totals(totals("all studies", records)),
        "by_programme": [_totals(entry) for entry in by_programme(records)],
        "by_contractor": [_totals(entry) for entry in by_contractor(records)],
        "by_strategy": [_totals(entry) for entry in by_strategy(records)],
        "findings_ranked_by": "cost a month" if ranked_by_cost(records) else "kWh a month",
        "findings_in_all": len(findings),
        "findings": [_finding(entry, titles) for entry in findings[:MOST_FINDINGS]],
        "not_accepted": [
            {"study": r.name, "path": r.path, "title": titles[r.name], "why": list(r.why_not)}
            for r in records
            if not r.accepted
        ],
        "broken": [{"study": b.name, "path": b.path, "message": b.message} for b in broken],
        "remarks": _remarks(records, gone),
    }


def _titles(records: Sequence[StudyRecord]) -> dict[str, str]:
    """What each study is called, by name; the site goes before a title that several studies bear."""
    borne = Counter(record.title for record in records)
    return {r.name: r.title if borne[r.title] == 1 else f"{r.site}: {r.title}" for r in records}


def _totals(entry: Totals) -> Json:
    return {
        "name": entry.name,
        "studies": entry.studies,
        "avoided_kwh": _pool(entry.avoided),
        "normalised_annual_kwh": _pool(entry.annual),
        "peak_kw": _pool(entry.peak),
        "realisation_rate": _estimate(entry.realisation_rate),
        "realisation_studies": entry.with_rate,
        "predicted_annual_kwh": entry.of_predicted_kwh,
    }


def _pool(pool: Pool | None) -> Json | None:
    if pool is None:
        return None
    return {
        **pool.total.as_json(),
        "studies": pool.studies,
        "half_widths": {"own": pool.own, "common_causes": pool.common, "metering": pool.metering},
        "correlation_between_studies": pool.correlation,
        "blocks_compared": pool.blocks,
        "half_width_if_independent": pool.if_independent,
    }


def _estimate(estimate: Estimate | None) -> Json | None:
    return None if estimate is None else dict(estimate.as_json())


def _finding(entry: PlacedFinding, titles: Mapping[str, str]) -> Json:
    study, finding = entry.study, entry.finding
    return {
        "study": study.name,
        "title": titles[study.name],
        "where": finding.where,
        "what": finding.what,
        "since": finding.since,
        "kwh_per_month": _estimate(finding.kwh_per_month),
        "cost_per_month": finding.cost_per_month,
        "currency": study.currency,
        "check_first": finding.check_first,
    }


def _remarks(records: Sequence[StudyRecord], gone: Sequence[str]) -> list[str]:
    remarks = [f"{name} was there before and is no longer found; it counts no more." for name in gone]
    silent = sum(record.avoided_kwh is None for record in records)
    if silent:
        remarks.append(
            f"{silent} verified studies cannot say their avoided energy and are in no total of it."
        )
    if len({record.confidence for record in records}) > 1:
        remarks.append("Studies state different confidences; pooled intervals are at the one most use.")
    currencies = sorted({record.currency for record in records if record.currency and record.findings})
    if len(currencies) > 1:
        remarks.append(f"Findings cost in {', '.join(currencies)}: they are ranked by kWh a month.")
    return remarks
