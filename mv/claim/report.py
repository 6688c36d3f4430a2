"""The claim's report: every part A to J, what cannot be said, cautions, versions, lines to sign."""

from collections.abc import Mapping
from typing import Any

from mv.base import wording
from mv.base.document import (
    Block,
    Caution,
    Document,
    Facts,
    Figure,
    Figures,
    Grid,
    Prose,
    Section,
    SignatureLines,
    grid,
)
from mv.base.result_parts import estimate, part, rows
from mv.base.unsaid import spoken_name
from mv.claim.adjustments import adjustments
from mv.claim.cells import NONE, said
from mv.claim.checklist import checklist_blocks, every_item
from mv.claim.data_quality import data_quality
from mv.claim.identity import controls, identity, measurement
from mv.claim.material import Material
from mv.claim.models import models
from mv.claim.money_part import money
from mv.claim.results import confidence_words, results
from mv.claim.scope import scope

SIGNERS = (
    "Measurement and verification",
    "Contractor",
    "Owner",
    "Independent reviewer, where one is asked for",
)


def report(material: Material) -> Document:
    """The whole report; HTML and PDF are set from this one record."""
    result = material.result
    periods = material.study.periods
    assert periods is not None
    return Document(
        title=f"Verified savings: {material.study.site.name}",
        subtitle=f"{material.study.study.title}. Baseline {periods.baseline.first} to "
        f"{periods.baseline.last}, reporting {periods.reporting.first} to {periods.reporting.last}.",
        opening=_summary(material),
        sections=(
            Section("Contents and completeness", checklist_blocks(material)),
            identity(material),
            scope(material),
            controls(material),
            measurement(material),
            data_quality(material),
            models(material),
            adjustments(material),
            results(material),
            money(material),
            _attachments(material),
            _cannot_say(material),
            Section(
                "Cautions", (Caution("Before anyone acts on this", tuple(result.get("cautions") or ())),), "L"
            ),
            _versions(material),
            Section("Every item asked for", (every_item(material),), "N"),
            Section("Signatures", (_statement(), SignatureLines(SIGNERS)), "O"),
        ),
        foot=f"{material.study.site.name}: verified savings. Tallylux {result.get('tallylux')}, "
        f"made {str(result.get('made_at'))[:10]}.",
    )


def _summary(material: Material) -> tuple[Block, ...]:
    result = material.result
    annual, avoided = (estimate(result, "savings", key) for key in ("normalised_annual_kwh", "avoided_kwh"))
    rate, peak = estimate(result, "realisation_rate"), estimate(result, "savings", "peak_kw")
    bill = estimate(result, "money", "bill_savings")
    figures = [
        Figure("Saving in a typical year", *_figure(annual, "kWh")),
        Figure("Avoided, reporting period", *_figure(avoided, "kWh")),
        Figure("Peak window", *_figure(peak, "kW")),
        Figure("Realisation rate", *_rate(rate)),
    ]
    figures += [Figure("Off the bill a year", *_figure(bill, material.currency))] if bill else []
    blocks: list[Block] = [Prose(lead(material), "lead"), Figures(tuple(figures))]
    blocks += [Prose(text) for text in (_share_of_baseline(material, avoided), _lasting(material)) if text]
    return (*blocks, *_accepted(material))


def _share_of_baseline(material: Material, avoided: Mapping[str, Any] | None) -> str:
    """The avoided energy as a share of what the old lighting would have used."""
    expected = sum(
        float(row.get("expected_kwh") or 0.0) for row in rows(material.result, "savings", "monthly")
    )
    if avoided is None or expected <= 0:
        return ""
    fraction = {
        key: avoided[key] / expected for key in ("estimate", "low", "high") if avoided.get(key) is not None
    }
    return (
        f"The avoided energy is {wording.share_with_interval(fraction)} of the "
        f"{wording.in_unit(wording.number(expected), 'kWh')} that the old lighting would have used in the "
        "reporting period."
    )


def _lasting(material: Material) -> str:
    """How many agreed settings are still so."""
    verdicts = [str(row["verdict"]) for row in rows(material.result, "settings")]
    if not verdicts:
        return ""
    counts = {name: verdicts.count(name) for name in ("kept", "moved", "cannot tell")}
    return (
        f"Of {wording.counted(len(verdicts), 'agreed setting')} {counts['kept']} kept, {counts['moved']} "
        f"moved and {counts['cannot tell']} cannot be told; part H says which, and since when."
    )


def lead(material: Material) -> str:
    """The answer in two sentences."""
    annual = estimate(material.result, "savings", "normalised_annual_kwh")
    if annual is None:
        return "The saving in a typical year cannot be told from these data; the reasons stand in part K."
    best = f"Best estimate: {wording.amount(annual, 'kWh')} a year."
    if annual["estimate"] < 0:
        best = f"{best} The minus sign says that more is used than before: nothing is saved."
    if wording.half_width(annual) is None:
        return best
    ends = wording.between(annual, "kWh", joint="and")
    return f"{best} With {confidence_words(material)} confidence it lies between {ends}."


def _figure(found: object, unit: str) -> tuple[str, str]:
    if not isinstance(found, dict):
        return "cannot tell", "see part K"
    return wording.amount(found, unit), wording.between(found, unit)


def _rate(found: object) -> tuple[str, str]:
    if not isinstance(found, dict):
        return "cannot tell", "see part K"
    hundredfold = {key: 100.0 * found[key] for key in ("estimate", "low", "high")}
    return wording.amount(hundredfold, "%"), f"{wording.between(hundredfold, '%')} of the predicted"


def _accepted(material: Material) -> tuple[Block, ...]:
    why = tuple(str(text) for text in part(material.result, "acceptance", "why") or [])
    if part(material.result, "acceptance", "met"):
        return (
            Prose("Every limit that decides on acceptance is met; parts F and H show each with its source."),
        )
    return (Caution("Not accepted as it stands", why),)


def _attachments(material: Material) -> Section:
    attached = material.claim.attachment
    if not attached:
        return Section("Attachments", (Prose("The study names no attachment.", "cannot"),), letter="J")
    table = grid(
        "Attachments in evidence/attachments",
        [("kind", "left", 1.4), ("file", "left", 2.4), ("there", "left", 0.8), ("note", "left", 2.4)],
        [(a.kind, a.file, "no" if a.file in material.absent else "yes", said(a.note)) for a in attached],
    )
    return Section("Attachments", (table,), letter="J")


def _cannot_say(material: Material) -> Section:
    entries = rows(material.result, "cannot_say")
    if not entries:
        return Section("What cannot be said", (Prose("Nothing that was asked is left unsaid."),), letter="K")
    table: Grid = grid(
        "What the data do not support, and why",
        [("what", "left", 1.4), ("why", "left", 4)],
        [(spoken_name(str(entry["what"])), str(entry["why"])) for entry in entries],
    )
    return Section("What cannot be said", (table,), letter="K")


def _versions(material: Material) -> Section:
    result = material.result
    study = next((e for e in rows(result, "inputs") if e["name"] == "study.toml"), None)
    pairs = [
        ("Tallylux", str(result.get("tallylux"))),
        ("result format", str(result.get("format"))),
        ("result made at (UTC)", str(result.get("made_at"))),
        ("SHA-256 of study.toml", NONE if study is None else str(study["sha256"])),
        *material.software,
        ("to run it again", "tallylux verify evidence/study"),
    ]
    return Section("Versions and how to run it again", (Facts(tuple(pairs)),), letter="M")


def _statement() -> Prose:
    return Prose(
        "The numbers are estimates from metered data with the stated confidence. Those who sign answer for "
        "the stated inputs of their own parts; the lines are empty until a person fills them in."
    )
