"""Study and method: what was assumed, fitted, tested, and what the numbers rest on."""

from collections.abc import Mapping
from typing import Any

from dash import html

from dashboards.blocks.cards import card, chooser
from dashboards.blocks.model_parts import model_table, one_model, published_intervals, tests_table
from dashboards.blocks.notes import cautions, facts, unsaid
from dashboards.blocks.peak_part import promise_part
from dashboards.blocks.tables import table
from dashboards.choice import Choice
from dashboards.running import run_room
from dashboards.setup.event_room import room
from mv.base.study_records import Span, Study
from mv.base.verification import Verification
from mv.figures import Scheme, day_words, listed, number, part, per_cent, rows

ADDRESS = "/method"


def page(verification: Verification, choice: Choice, scheme: Scheme) -> list[Any]:
    """From the study to its models, their tests, the intervals, and the files everything came from."""
    result = verification.result
    meters = list(dict.fromkeys(str(model.get("meter")) for model in rows(result, "models")))
    if choice.meter not in meters:
        choice = choice.but(meter=meters[0] if meters else "")
    links = [(name, f"{ADDRESS}{Choice(meter=name).query()}", name == choice.meter) for name in meters]
    return [
        html.H1("Study and method"),
        _downloads(verification),
        _study(verification.study),
        promise_part(result),
        *_acceptance(result),
        html.H2("Models"),
        model_table(result),
        chooser("Meter", links) if meters else html.P("No model was fitted.", className="cannot"),
        *(_one(verification, choice, scheme) if meters else []),
        room(),
        html.H2("Verify again"),
        html.P("After a change to the study file or to its data. Other pages stay usable meanwhile."),
        run_room("Verify again"),
        unsaid(result),
        cautions(result),
        html.H2("What the numbers came from"),
        _inputs(result),
        facts(
            [
                ("Program", f"Tallylux {result.get('tallylux')}"),
                ("Result made at", str(result.get("made_at"))),
            ]
        ),
    ]


def _downloads(verification: Verification) -> html.Section:
    files = [
        ("The whole result", "/download/result.json"),
        ("Every day", "/download/daily.csv"),
        ("Settings by month", "/download/settings.csv"),
        *(
            (f"Readings of {name}", f"/download/readings.csv{Choice(meter=name).query()}")
            for name in verification.meters
        ),
    ]
    links = [html.Li(html.A(name, href=href)) for name, href in files]
    return html.Section([html.H2("Take the numbers away"), html.Ul(links, className="files")])


def _study(study: Study) -> html.Section:
    periods = study.periods
    pairs = [
        ("Title", study.study.title),
        (
            "Site",
            f"{study.site.name} ({study.site.latitude:g}°, {study.site.longitude:g}°), "
            f"clock of {study.site.timezone}",
        ),
        ("Baseline period", _span(periods.baseline) if periods else None),
        ("Reporting period", _span(periods.reporting) if periods else None),
        ("Confidence of every interval", f"{per_cent(study.study.confidence)}, two-sided"),
        (
            "Promised",
            f"{number(study.predicted.annual_kwh)} kWh a year"
            if study.predicted.annual_kwh is not None
            else None,
        ),
        ("Meters", listed([meter.id for meter in study.meter])),
        ("Zones", listed([zone.id for zone in study.zone])),
        ("Closed days named", str(len(study.occupancy.holidays)) if study.occupancy.holidays else None),
    ]
    events = [[f"{event.first} to {event.last}", event.treatment, event.reason] for event in study.event]
    return html.Section(
        [
            html.H2("The study"),
            facts(pairs),
            table(["when", "treatment", "reason"], events, caption="Non-routine events", stacked=True)
            if events
            else None,
        ]
    )


def _span(span: Span) -> str:
    return f"{day_words(span.first)} to {day_words(span.last)} ({span.days} days)"


def _acceptance(result: Mapping[str, Any]) -> list[Any]:
    """The limits that decide, apart from those that are only shown."""
    tests = rows(result, "acceptance", "tests")
    reasons = [str(text) for text in part(result, "acceptance", "why") or []]
    if not tests and not reasons:
        return []
    return [
        html.H2("The limits that decide"),
        html.Ul([html.Li(text) for text in reasons]) if reasons else None,
        tests_table(tests, "Acceptance of the result"),
    ]


def _one(verification: Verification, choice: Choice, scheme: Scheme) -> list[Any]:
    only = Choice(meter=choice.meter)
    models = [model for model in rows(verification.result, "models") if model.get("meter") == choice.meter]
    return [
        html.Div(
            [card("fit", verification, only, scheme), card("residuals", verification, only, scheme)],
            className="cards",
        ),
        *(block for model in models for block in one_model(model, verification.result)),
        *published_intervals(verification.result, choice.meter),
    ]


def _inputs(result: Mapping[str, Any]) -> html.Div:
    body = [
        [
            str(entry.get("name")),
            f"{entry.get('bytes', 0):,}",
            html.Code(str(entry.get("sha256")), className="hash"),
        ]
        for entry in rows(result, "inputs")
    ]
    return table(
        ["file", "bytes", "SHA-256"],
        body,
        caption="Every input file and its fingerprint",
        numeric=[1],
        stacked=True,
    )
