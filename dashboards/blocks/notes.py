"""Small blocks that several pages carry: cautions, what cannot be said, nested facts."""

from collections.abc import Mapping
from typing import Any

from dash import html

from mv.figures import part, unsaid_words, with_interval


def cautions(result: Mapping[str, Any]) -> html.Section | None:
    """The result's safety and scope sentences, for every page where a person may act."""
    sentences = [str(text) for text in part(result, "cautions") or []]
    if not sentences:
        return None
    heading = html.H2("Before anyone acts on this", className="small-heading")
    return html.Section([heading, html.Ul([html.Li(text) for text in sentences])], className="cautions")


def unsaid(result: Mapping[str, Any]) -> html.Section | None:
    """What the data do not support, with the reasons."""
    entries = unsaid_words(result)
    if not entries:
        return None
    items = [pair for what, why in entries for pair in (html.Dt(what), html.Dd(why))]
    return html.Section([html.H2("What cannot be said, and why"), html.Dl(items, className="reasons")])


def facts(pairs: list[tuple[str, Any]]) -> html.Dl:
    """Names and values side by side; empty values are left out."""
    shown = [(name, value) for name, value in pairs if value not in (None, "", [])]
    return html.Dl(
        [html.Div([html.Dt(name), html.Dd(value)]) for name, value in shown],
        className="facts",
    )


def nested(record: Any, *, unit: str = "") -> Any:
    """Any part of a result as nested facts: estimates with their interval, keys spaced."""
    if isinstance(record, Mapping):
        if "estimate" in record:
            return with_interval(record, unit)
        pairs = [
            (spaced(key), nested(value, unit=unit)) for key, value in record.items() if value is not None
        ]
        return facts(pairs)
    if isinstance(record, list | tuple):
        return html.Ul([html.Li(nested(entry, unit=unit)) for entry in record])
    if isinstance(record, bool):
        return "yes" if record else "no"
    if isinstance(record, int | float):
        return f"{record:,.6g}" if abs(record) < 1000 else f"{record:,.0f}"
    return str(record)


def spaced(key: str) -> str:
    """ "bill_savings" as "Bill savings"."""
    text = str(key).replace("_", " ")
    return text[:1].upper() + text[1:]
