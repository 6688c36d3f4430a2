"""Findings to the dictionary that result.json holds: every key of the interface, from the start."""

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from mv import __version__
from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.setting_records import SettingFinding, SettingObserved
from mv.cleaning import ledger_as_json
from mv.drift import DriftFinding
from mv.regression import FittedModel, label
from mv.verifying.acceptance import acceptance_of
from mv.verifying.candidates_found import event_candidates_of
from mv.verifying.cautions import cautions_of
from mv.verifying.extrapolated import extrapolation_sentences
from mv.verifying.findings import Findings
from mv.verifying.meter_savings import MeterSavings
from mv.verifying.monthly import monthly_savings
from mv.verifying.resolutions import resolution_of

Json = dict[str, Any]


def result_of(findings: Findings) -> Json:
    """The whole of result.json. Only `made_at` differs between two runs on the same input."""
    models = [_model(item, period) for item in findings.meters for period in ("baseline", "reporting")]
    return {
        "format": 1,
        "tallylux": __version__,
        "made_at": datetime.now(UTC).isoformat(timespec="seconds"),
        "study": findings.study.model_dump(mode="json"),
        "inputs": list(findings.intake.inputs),
        "savings": _savings(findings),
        "peak": findings.peak_account.as_json(),
        "demand_response": [drop.as_json() for drop in findings.load_drops],
        "predicted": _predicted(findings),
        "realisation_rate": answer_json(findings.realisation),
        "bridge": {
            "predicted_to_verified": findings.promise.as_json(),
            "baseline_to_reporting": findings.measures.as_json(),
        },
        "models": [model for model in models if model is not None],
        "event_candidates": [
            row for item in findings.meters for row in event_candidates_of(item, findings.drift)
        ],
        "cleaning": [ledger_as_json(series.ledger) for series in findings.intake.meters.values()],
        "settings": [_setting(row) for zone in findings.settings for row in zone.findings],
        "settings_observed": [_observed(row) for zone in findings.settings for row in zone.observed],
        "signs": [_setting(row) for zone in findings.settings for row in zone.signs],
        "drift": [_drift(entry) for entry in findings.drift],
        "money": findings.money.as_json(),
        "acceptance": acceptance_of(findings),
        "cannot_say": _cannot_say(findings),
        "cautions": cautions_of(findings),
    }


def answer_json(answer: Answer | None) -> Json | None:
    """An estimate as the interface's object; null for what cannot be said."""
    return answer.as_json() if isinstance(answer, Estimate) else None


def _savings(findings: Findings) -> Json:
    return {
        "avoided_kwh": answer_json(findings.avoided),
        "normalised_annual_kwh": answer_json(findings.annual),
        "peak_kw": answer_json(findings.peak),
        "distinguishable_from_zero": _distinguishable(findings.avoided),
        "by_meter": {item.meter.id: _of_meter(item) for item in findings.meters},
        "population": [dict(row) for row in findings.populations],
        "monthly": monthly_savings(findings.study, findings.meters),
    }


def _distinguishable(answer: Answer) -> bool | None:
    return answer.excludes_zero if isinstance(answer, Estimate) else None


def _of_meter(item: MeterSavings) -> Json:
    entry: Json = {
        "avoided_kwh": answer_json(item.total),
        "normalised_annual_kwh": answer_json(item.annual),
        "kind": item.kind,
        "kind_told_from_meter": item.kind_told_from_meter,
        "extrapolated_share": item.extrapolated_share,
        "extrapolation": list(extrapolation_sentences(item)),
    }
    if not isinstance(item.normalised, CannotSay):
        entry["extrapolation_half_width_kwh"] = item.normalised.extrapolation_half_width
    if not isinstance(item.avoided, CannotSay):
        avoided = item.avoided
        entry |= {
            "expected_kwh": avoided.expected_kwh,
            "actual_kwh": avoided.actual_kwh,
            "days": avoided.days,
            "modelled_days": avoided.modelled_days,
            "half_widths_kwh": dict(avoided.parts),
            "without_event_treatment_kwh": answer_json(avoided.untreated),
            "notes": list(avoided.notes),
            "published_intervals": [
                {"method": row.method, "half_width_kwh": row.half_width, "source": row.source}
                for row in avoided.published
            ],
        }
    return entry


def _predicted(findings: Findings) -> Json:
    prediction = findings.prediction
    return {
        **prediction.as_json(),
        "source": prediction.source,
        "parts": [{"part": row.part, "kwh": row.kwh, "why": row.why} for row in prediction.parts],
        "remarks": [remark.what for remark in prediction.remarks],
        "findings": [finding.as_json() for finding in findings.inventory_findings],
    }


def _model(item: MeterSavings, period: str) -> Json | None:
    model = item.baseline_model if period == "baseline" else item.reporting_model
    if isinstance(model, CannotSay):
        return None
    later = item.drivers_of("reporting") if period == "baseline" else item.typical
    return {
        "meter": item.meter.id,
        "period": period,
        "form": model.form,
        **_resolution(item, period),
        "terms": [
            {
                "name": label(term.name),
                "coefficient": term.coefficient,
                "standard_error": term.standard_error,
                "t": term.t,
                "shrunk": term.shrunk,
            }
            for term in model.terms
        ],
        "n": model.n,
        "p": model.p,
        "r2": model.r2,
        "cv_rmse": model.cv_rmse,
        "nmbe": model.nmbe,
        "lag1_autocorrelation": model.lag1_autocorrelation,
        "durbin_watson": model.durbin_watson,
        "persistence": dict(model.persistence),
        "tests": _tests(model),
        "findings": [
            *(entry.what for entry in (*model.findings, *model.range_findings(later))),
            *extrapolation_sentences(item, period),
        ],
        "alternatives": [
            {
                "form": tried.form,
                "terms": tried.terms,
                "cross_validated_cv_rmse": tried.cross_validated_cv_rmse,
                "chosen": tried.chosen,
                "why": tried.why,
            }
            for tried in model.alternatives
        ],
    }


def _resolution(item: MeterSavings, period: str) -> Json:
    found = resolution_of(item, period)
    return {} if found is None else dict(zip(("resolution", "resolution_why"), found, strict=True))


def _tests(model: FittedModel) -> list[Json]:
    return [
        {
            "name": test.name,
            "limit": test.limit,
            "value": test.value,
            "passed": test.passed,
            "source": test.source,
        }
        for test in model.tests
    ]


def _setting(row: SettingFinding) -> Json:
    return {
        "zone": row.zone,
        "setting": row.setting,
        "commissioned": row.commissioned,
        "observed": answer_json(row.observed),
        "verdict": row.verdict,
        "since": _date(row.since),
        "why": row.why,
        "earlier": answer_json(row.earlier),
        "effect_kwh_per_month": answer_json(row.effect_kwh_per_month),
    }


def _observed(row: SettingObserved) -> Json:
    """A setting as its latest month shows it; `observed` null where none does, `why` then the reason."""
    return {
        "zone": row.zone,
        "setting": row.setting,
        "unit": row.unit,
        "month": row.month,
        "observed": answer_json(row.observed),
        "why": row.why,
    }


def _drift(entry: DriftFinding) -> Json:
    return {
        "id": entry.key,
        "where": entry.where,
        "what": entry.what,
        "since": _date(entry.since),
        "until": _date(entry.until),
        "first_told": _date(entry.told),
        "kind": entry.kind,
        "zones": list(entry.zones),
        "settings": list(entry.settings),
        "spells": [[_date(first), _date(last)] for first, last in entry.spells],
        "kwh_per_month": answer_json(entry.kwh_per_month),
        "cost_per_month": entry.cost_per_month,
        "likely_causes": list(entry.likely_causes),
        "check_first": list(entry.check_first),
    }


def _date(day: Any) -> str | None:
    return None if day is None else day.isoformat()[:10]


def _cannot_say(findings: Findings) -> list[Json]:
    answers: list[Answer] = [findings.avoided, findings.annual, findings.peak, findings.realisation]
    for item in findings.meters:
        answers += [item.total, item.annual, *_uncounted(item)]
    answers += findings.prediction.cannot_say
    answers += [*findings.promise.cannot_say, *findings.measures.cannot_say, *findings.money.cannot_say]
    answers += [drop.drop_kw for drop in findings.load_drops]
    answers += findings.peak_account.coincidence.values()
    answers += findings.unwatched
    for zone in findings.settings:
        answers += [_named(row) for row in zone.findings]
    return _told_once(answer for answer in answers if isinstance(answer, CannotSay))


def _uncounted(item: MeterSavings) -> list[CannotSay]:
    """The reporting days that are in no total."""
    if isinstance(item.avoided, CannotSay):
        return []
    days = len(item.of_period("reporting"))
    if item.avoided.days == days:
        return []
    why = f"{item.avoided.days} of {days} reporting days are counted. {' '.join(item.avoided.notes)}"
    return [CannotSay(f"avoided energy of {item.meter.id} on the other days", why.strip())]


def _named(row: SettingFinding) -> Answer:
    if isinstance(row.observed, CannotSay):
        return CannotSay(f"{row.setting} in {row.zone}", row.observed.why)
    return row.observed


def _told_once(entries: Iterable[CannotSay]) -> list[Json]:
    return [entry.as_json() for entry in dict.fromkeys(entries)]
