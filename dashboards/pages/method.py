"""Study and method: what was assumed, fitted, tested, and what the numbers rest on."""

from collections.abc import Mapping
from typing import Any

from dash import html

from dashboards.cards import card, chooser
from dashboards.choice import Choice
from dashboards.marks import test_mark
from dashboards.notes import cautions, facts, nested, spaced, unsaid
from dashboards.tables import table
from mv.base.study_records import Span, Study
from mv.base.verification import Verification
from mv.figures import Scheme, day_words, estimate, listed, number, part, per_cent, rows, with_interval

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
        html.H2("Models"),
        _model_table(result),
        chooser("Meter", links) if meters else html.P("No model was fitted.", className="cannot"),
        *(_one(verification, choice, scheme) if meters else []),
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
            table(["when", "treatment", "reason"], events, caption="Non-routine events") if events else None,
        ]
    )


def _span(span: Span) -> str:
    return f"{day_words(span.first)} to {day_words(span.last)} ({span.days} days)"


def _model_table(result: Mapping[str, Any]) -> html.Div:
    heads = ["meter", "period", "form", "n", "R²", "CV(RMSE)", "NMBE", "lag-1", "tests"]
    body = [
        [
            str(model.get("meter")),
            str(model.get("period")),
            str(model.get("form")),
            _figure(model.get("n"), 0),
            _figure(model.get("r2"), 3),
            _percent(model.get("cv_rmse")),
            _percent(model.get("nmbe"), places=2),
            _figure(model.get("lag1_autocorrelation"), 2),
            test_mark(_all_passed(model)),
        ]
        for model in rows(result, "models")
    ]
    caption = (
        "Models and how closely they fit; lag-1 is the residuals' autocorrelation from one day to the next"
    )
    return table(heads, body, caption=caption, numeric=range(3, 8))


def _all_passed(model: Mapping[str, Any]) -> bool | None:
    verdicts = [test.get("passed") for test in model.get("tests") or []]
    return None if not verdicts else all(verdict is not False for verdict in verdicts)


def _one(verification: Verification, choice: Choice, scheme: Scheme) -> list[Any]:
    only = Choice(meter=choice.meter)
    models = [model for model in rows(verification.result, "models") if model.get("meter") == choice.meter]
    return [
        html.Div(
            [card("fit", verification, only, scheme), card("residuals", verification, only, scheme)],
            className="cards",
        ),
        *(block for model in models for block in _model(model)),
        *_published(verification.result, choice.meter),
    ]


def _model(model: Mapping[str, Any]) -> list[Any]:
    name = f"{model.get('meter')}, {model.get('period')}"
    terms = [
        [
            str(term.get("name")),
            *(_figure(term.get(key), 4) for key in ("coefficient", "standard_error", "t")),
        ]
        for term in model.get("terms") or []
    ]
    tests = [
        [
            str(test.get("name")),
            nested(test.get("limit")),
            nested(test.get("value")),
            test_mark(test.get("passed")),
            str(test.get("source")),
        ]
        for test in model.get("tests") or []
    ]
    blocks: list[Any] = [html.H3(f"{name}: {model.get('form')}")]
    blocks += [html.P(nested(model["why"]))] if model.get("why") else []
    blocks += (
        [html.Ul([html.Li(str(text)) for text in model.get("findings") or []])]
        if model.get("findings")
        else []
    )
    blocks.append(
        table(
            ["term", "coefficient", "standard error", "t"],
            terms,
            caption=f"Terms of {name}",
            numeric=[1, 2, 3],
        )
    )
    blocks.append(
        table(
            ["test", "limit", "value", "verdict", "source of the limit"],
            tests,
            caption=f"Tests of {name}",
            numeric=[2],
        )
    )
    if model.get("alternatives"):
        blocks.append(
            html.Details([html.Summary("Other forms that were tried"), nested(model["alternatives"])])
        )
    return blocks


def _published(result: Mapping[str, Any], meter: str) -> list[Any]:
    """Intervals by published formulas beside the one that is used."""
    published = part(result, "savings", "by_meter", meter, "published_intervals")
    ours = estimate(result, "savings", "by_meter", meter, "avoided_kwh")
    if not published:
        return []
    entries = (
        published.items() if isinstance(published, Mapping) else [(row.get("name"), row) for row in published]
    )
    body = [["used here", with_interval(ours, "kWh"), ""]]
    body += [
        [
            spaced(str(name)),
            nested(_interval_of(entry), unit="kWh"),
            str(entry.get("source") or "") if isinstance(entry, Mapping) else "",
        ]
        for name, entry in entries
    ]
    return [
        table(
            ["formula", "avoided energy", "source"],
            body,
            caption=f"The interval of {meter} by published formulas, beside the one used",
        )
    ]


def _interval_of(entry: Any) -> Any:
    if isinstance(entry, Mapping) and "estimate" not in entry:
        inner = next(
            (value for value in entry.values() if isinstance(value, Mapping) and "estimate" in value), None
        )
        return (
            inner
            if inner is not None
            else {key: value for key, value in entry.items() if key not in ("name", "source")}
        )
    return entry


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
        ["file", "bytes", "SHA-256"], body, caption="Every input file and its fingerprint", numeric=[1]
    )


def _figure(value: Any, places: int) -> str:
    if value is None:
        return ""
    return (
        f"{value:,}"
        if isinstance(value, int)
        else f"{value:,.{places}g}"
        if places > 3
        else f"{value:,.{places}f}"
    )


def _percent(value: Any, *, places: int = 1) -> str:
    return "" if value is None else per_cent(float(value), places=places)
