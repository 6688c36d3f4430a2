"""Parts E to I of what programmes commonly ask for: what the verification itself must hold.

The list merges the trade's checklists with common practice; a programme's own goes before it.
"""

from mv.base.result_parts import estimate, part, rows
from mv.claim.asked_item import Item, one, some
from mv.claim.material import Material


def quality(material: Material) -> list[Item]:
    """E: what was read."""
    cleaning, inputs = rows(material.result, "cleaning"), rows(material.result, "inputs")
    covered = sum(row.get("coverage_reporting") is not None for row in cleaning)
    return [
        some(
            "E",
            "coverage, gaps and exclusions with reasons",
            covered,
            len(cleaning),
            "analyst",
            "Read every meter",
        ),
        one("E", "raw files with fingerprints", inputs, "analyst", "Verify the study again."),
    ]


def models(material: Material) -> list[Item]:
    """F: the models."""
    meters = len(material.study.meter)
    return [
        some(
            "F",
            f"{period} model with statistics and residuals",
            len(material.models(period)),
            meters,
            "analyst",
            "Some meters have no model; see what cannot be said",
        )
        for period in ("baseline", "reporting")
    ]


def adjustments(material: Material) -> list[Item]:
    """G: what was adjusted."""
    events = material.study.event
    return [
        one(
            "G",
            "routine adjustments month by month",
            rows(material.result, "savings", "monthly"),
            "analyst",
            "No month has an expected energy; see what cannot be said.",
        ),
        one(
            "G",
            "non-routine events with dates, evidence and author",
            not events or material.claim.analyst,
            "analyst",
            "Name the analyst under [claim], who answers for the events.",
        ),
    ]


def results(material: Material) -> list[Item]:
    """H: the verified numbers."""
    result = material.result
    predicted = part(result, "predicted", "annual_kwh")
    bridge = rows(result, "bridge", "predicted_to_verified")
    return [
        one(
            "H",
            "annual kWh with its interval",
            estimate(result, "savings", "normalised_annual_kwh"),
            "analyst",
            "It cannot be told; see what cannot be said.",
        ),
        one(
            "H",
            "peak kW by the programme's own window",
            estimate(result, "savings", "peak_kw"),
            "analyst",
            "State [peak], or see what cannot be said.",
        ),
        one(
            "H",
            "source of the peak definition",
            material.study.peak and material.study.peak.source,
            "programme",
            "Ask for it and state source under [peak].",
        ),
        one(
            "H",
            "realisation rate and its reasons",
            predicted is not None and bridge,
            "analyst",
            "State the predicted kWh under [predicted].",
        ),
        one(
            "H",
            "rounding rule",
            material.claim.rounding,
            "programme",
            "Ask for the rule; state [claim] rounding. Here numbers follow their interval.",
        ),
    ]


def money(material: Material) -> list[Item]:
    """I: what it is worth."""
    incentive = material.study.incentive
    rate = incentive.per_kwh is not None or incentive.per_kw is not None or incentive.tiers
    return [
        one("I", "incentive basis", rate, "programme", "State the rates under [incentive]."),
        one(
            "I",
            "source of rates and prices",
            incentive.source and material.study.tariff.source,
            "owner",
            "State source under [tariff] and [incentive].",
        ),
        one(
            "I", "project cost", incentive.project_cost, "contractor", "State project_cost under [incentive]."
        ),
        one(
            "I",
            "payback before and after the incentive",
            part(material.result, "money", "simple_payback"),
            "analyst",
            "Needs prices and the project's cost.",
        ),
    ]
