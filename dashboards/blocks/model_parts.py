"""Models, their terms and tests, the forms that were tried, and intervals by published formulas."""

from collections.abc import Mapping
from typing import Any

from dash import html

from dashboards.blocks.marks import test_mark
from dashboards.blocks.notes import nested
from dashboards.blocks.stretches import candidate_words, still_unexplained
from dashboards.blocks.tables import table
from mv.figures import estimate, half_width, number, per_cent, rows, settled

Record = Mapping[str, Any]


def model_table(result: Record) -> html.Div:
    """Every model with its figures of fit."""
    heads = ["meter", "period", "form", "n", "R²", "CV(RMSE)", "NMBE", "lag-1", "limits"]
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
    return table(heads, body, caption=caption, numeric=range(3, 8), stacked=True)


def one_model(model: Record, result: Record) -> list[Any]:
    """A model's form, why it was chosen, what it leaves unexplained, its terms, limits and other forms."""
    name = f"{model.get('meter')}, {model.get('period')}"
    findings = [str(text) for text in model.get("findings") or []]
    findings += [
        f"Unexplained: {candidate_words(row)}."
        for row in still_unexplained(result)
        if (row.get("meter"), row.get("period")) == (model.get("meter"), model.get("period"))
    ]
    return [
        html.H3(f"{name}: {model.get('form')}"),
        html.P(nested(model["why"])) if model.get("why") else None,
        html.Ul([html.Li(text) for text in findings]) if findings else None,
        _terms(model, name),
        tests_table(list(model.get("tests") or []), f"Limits of {name}"),
        _alternatives(model, name),
    ]


def _terms(model: Record, name: str) -> html.Div:
    keys = ("coefficient", "standard_error", "t")
    body = [
        [str(term.get("name")), *(_figure(term.get(key), 4) for key in keys)]
        for term in model.get("terms") or []
    ]
    heads = ["term", "coefficient", "standard error", "t"]
    return table(heads, body, caption=f"Terms of {name}", numeric=[1, 2, 3])


def tests_table(tests: list[Record], caption: str) -> html.Div:
    """Each limit with the value, the verdict, and where the limit comes from."""
    body = [
        [
            str(test.get("name")),
            measured(test.get("limit")),
            measured(test.get("value")),
            test_mark(test.get("passed")),
            str(test.get("source")),
        ]
        for test in tests
    ]
    heads = ["what is limited", "limit", "value", "verdict", "source of the limit"]
    return table(heads, body, caption=caption, numeric=[1, 2], stacked=True)


def _alternatives(model: Record, name: str) -> Any:
    tried = [entry for entry in model.get("alternatives") or [] if isinstance(entry, Mapping)]
    if not tried:
        return None
    body = [
        [
            str(entry.get("form")),
            measured(entry.get("terms")),
            _percent(entry.get("cross_validated_cv_rmse")),
            "chosen" if entry.get("chosen") else "",
            str(entry.get("why") or ""),
        ]
        for entry in tried
    ]
    heads = ["form", "terms", "error on days left out", "choice", "why"]
    grid = table(heads, body, caption=f"Forms tried for {name}", numeric=[1, 2], stacked=True)
    return html.Details([html.Summary(f"Other forms that were tried ({len(tried)})"), grid])


def published_intervals(result: Record, meter: str) -> list[Any]:
    """Half-widths by published formulas beside the one that is used."""
    published = rows(result, "savings", "by_meter", meter, "published_intervals")
    if not published:
        return []
    ours = estimate(result, "savings", "by_meter", meter, "avoided_kwh")
    body = [["used here", _kwh(half_width(ours) if ours else None), "the interval of the avoided energy"]]
    body += [
        [str(row.get("method")), _kwh(row.get("half_width_kwh")), str(row.get("source") or "")]
        for row in published
    ]
    caption = f"Half-width of the avoided energy of {meter}: the one used, and published formulas"
    return [table(["formula", "half-width", "source"], body, caption=caption, numeric=[1], stacked=True)]


def measured(value: Any) -> str:
    """A limit or a value: three digits, and what is nothing but rounding shown as 0."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value) if value is not None else ""
    if settled(value) == 0:
        return "0"
    return f"{value:,.3g}" if abs(value) < 1000 else f"{value:,.0f}"


def _all_passed(model: Record) -> bool | None:
    verdicts = [test.get("passed") for test in model.get("tests") or []]
    return None if not verdicts else all(verdict is not False for verdict in verdicts)


def _kwh(value: float | None) -> str:
    return "" if value is None else f"{number(value)} kWh"


def _figure(value: Any, places: int) -> str:
    if value is None:
        return ""
    if isinstance(value, int):
        return f"{value:,}"
    return f"{value:,.{places}g}" if places > 3 else f"{value:,.{places}f}"


def _percent(value: Any, *, places: int = 1) -> str:
    return "" if value is None else per_cent(float(value), places=places)
