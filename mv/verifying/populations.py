"""Meters to the site: loggers that stand for usage groups, and how precise the sample turned out."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import fsum, hypot
from typing import Any

import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.study_records import Study
from mv.bridge import Bridge, BridgeStep
from mv.savings import Carried, Sample, carried, combine
from mv.verifying.meter_savings import MeterSavings

Json = dict[str, Any]

# What programmes usually ask of a sample, relative to the mean (IPMVP and FEMP practice, from memory).
USUAL_PRECISION = 0.10
STEP = "lights not logged"
GRID = 1024.0  # a bridge's steps are whole 1/1024 kWh, which add up without rounding


def samples_of(study: Study) -> tuple[Sample, ...]:
    """The study's usage groups; empty where every meter counts for itself."""
    return tuple(
        Sample(group.id, group.places, group.connected_kw, study.logged_kw(group))
        for group in study.population
    )


def site_total(
    study: Study,
    answers: Mapping[str, Answer],
    residuals: Mapping[str, pd.Series],
    *,
    what: str,
    metering_half_widths: Mapping[str, float] | None = None,
) -> Carried:
    """The site's total over its meters, loggers carried to their groups."""
    return carried(
        answers,
        residuals,
        samples_of(study),
        confidence=study.study.confidence,
        metering_half_widths=metering_half_widths,
        what=what,
    )


def period_total(study: Study, meters: Sequence[MeterSavings], what: str) -> Carried:
    """The site's total of "avoided_kwh" or of a typical year, "normalised_annual_kwh"."""
    answers = {m.meter.id: m.total if what == "avoided_kwh" else m.annual for m in meters}
    residuals = residuals_of(meters)
    metering = {
        m.meter.id: m.metering_half_width(what) for m in meters if isinstance(answers[m.meter.id], Estimate)
    }
    sampled = {meter for group in study.population for meter in group.meters}
    silent = [
        f"{name}: {answer.why}"
        for name, answer in answers.items()
        if isinstance(answer, CannotSay) and name not in sampled
    ]
    found = site_total(study, answers, residuals, what=what, metering_half_widths=metering)
    if silent:
        return replace(found, total=CannotSay(what, "; ".join(silent)))
    return found


def residuals_of(meters: Sequence[MeterSavings]) -> dict[str, pd.Series]:
    """Each meter's departures from its baseline model, by which meters go together."""
    return {
        m.meter.id: m.baseline_model.residuals for m in meters if not isinstance(m.baseline_model, CannotSay)
    }


def expansions(study: Study, meters: Sequence[MeterSavings]) -> dict[str, float]:
    """How much each meter stands for: 1, or its group's connected load over that of its loggers.

    Of loggers with avoided energy; one without has 0.
    """
    factors = {item.meter.id: 1.0 for item in meters}
    answers = {item.meter.id: item.total for item in meters}
    for sample in samples_of(study):
        group = sample.among(answers)
        for meter in sample.logged_kw:
            factors[meter] = group.expansion if meter in group.logged_kw else 0.0
    return factors


def loggers_total(study: Study, meters: Sequence[MeterSavings], site: Answer) -> Answer:
    """What the meters themselves avoided, none carried; the site's answer where there are no groups."""
    if not study.population or isinstance(site, CannotSay):
        return site
    answers = {item.meter.id: item.total for item in meters if isinstance(item.total, Estimate)}
    metering = {item.meter.id: item.metering_half_width("avoided_kwh") for item in meters}
    return combine(answers, residuals_of(meters), metering_half_widths=metering)


def with_lights_not_logged(bridge: Bridge, logged: Answer, site: Answer) -> Bridge:
    """A bridge over what was logged, with one step more to the whole site; the steps still add up."""
    if not bridge.steps or isinstance(site, CannotSay) or isinstance(logged, CannotSay) or site == logged:
        return bridge
    *told, rest = bridge.steps
    assert isinstance(rest.kwh, Estimate)
    value = round((float(site.estimate) - float(logged.estimate)) * GRID) / GRID
    half = hypot(_half_width(site), _half_width(logged))
    why = "places without a logger, at their group's logged saving for each connected kW"
    step = BridgeStep(STEP, Estimate(value, value - half, value + half, site.confidence), why)
    known = [entry.kwh for entry in (*told, step) if isinstance(entry.kwh, Estimate)]
    left = float(site.estimate) - fsum(float(answer.estimate) for answer in known)
    width = _half_width(rest.kwh)
    remainder = Estimate(left, left - width, left + width, site.confidence)
    return replace(bridge, total=site, steps=(*told, step, replace(rest, kwh=remainder)))


def _half_width(answer: Estimate) -> float:
    return 0.0 if answer.low is None or answer.high is None else (answer.high - answer.low) / 2


def populations_json(study: Study, avoided: Carried, annual: Carried) -> list[Json]:
    """`savings.population`: each usage group, what it stands for, and how precise its sample is."""
    return [_group_json(study, sample, avoided, annual) for sample in samples_of(study)]


def _group_json(study: Study, sample: Sample, avoided: Carried, annual: Carried) -> Json:
    name = sample.name
    use = avoided.sampling.get(name)
    row: Json = {
        "id": name,
        "meters": list(sample.logged_kw),
        "places": sample.places,
        "connected_kw": sample.connected_kw,
        "logged_kw": sum(sample.logged_kw.values()),
        "loggers_used": 0 if use is None else use.sampled,
        "avoided_kwh": _json(avoided.groups[name]),
        "normalised_annual_kwh": _json(annual.groups[name]),
        "avoided_kwh_per_connected_kw": None if use is None else use.per_connected_kw,
        "sampling_precision": None if use is None else use.precision,
        "sampling_half_width_kwh": None
        if use is None
        else float(use.total.high or 0.0) - float(use.total.estimate),
        "model_half_width_kwh": avoided.model_half_width[name],
    }
    return row | {"how": _sentence(study, sample, row)}


def _sentence(study: Study, sample: Sample, row: Json) -> str:
    """The group in words for the summary and the report."""
    head = (
        f"{sample.name}: {row['loggers_used']} loggers on {row['logged_kw']:.4g} kW stand for "
        f"{sample.places} places of {sample.connected_kw:.4g} kW, by connected load"
    )
    if row["sampling_precision"] is None:
        return f"{head}; too few to carry."
    precision = (
        f"; the sample's own precision is {row['sampling_precision']:.0%} at {study.study.confidence:.0%}"
    )
    lost = len(sample.logged_kw) - row["loggers_used"]
    gone = f" ({lost} without an answer left out, as if lost by chance)" if lost else ""
    return f"{head}{gone}{precision}.{_wanting(study, row)} Places are taken as drawn at random."


def _wanting(study: Study, row: Json) -> str:
    if row["sampling_precision"] <= USUAL_PRECISION:
        return ""
    return f" Programmes commonly ask {USUAL_PRECISION:.0%} or better (from memory): log more places."


def _json(answer: Answer) -> Json | None:
    return answer.as_json() if isinstance(answer, Estimate) else None
