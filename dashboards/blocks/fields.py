"""Controls of a form, each with a label that the eye and the ear share."""

from collections.abc import Sequence
from typing import Any

from dash import dcc, html

Id = str | dict[str, str]


def line(label: str, id: Id, value: str = "", *, hint: str = "", offered: Sequence[str] = ()) -> html.Label:
    """One line of text; `offered` values are proposed while typing, any other may be typed."""
    name = f"offered-{id['key'] if isinstance(id, dict) else id}-{label}".replace(" ", "-")
    more = {"list": name} if offered else {}
    parts: list[Any] = [label, dcc.Input(id=id, type="text", value=value, maxLength=4000, **more)]
    if hint:
        parts.append(html.Small(hint))
    if offered:
        parts.append(html.Datalist([html.Option(value=text) for text in offered], id=name))
    return html.Label(parts)


def lines(label: str, id: Id, value: str = "", *, hint: str = "") -> html.Label:
    """Several lines of text."""
    area = dcc.Textarea(id=id, value=value, maxLength=200_000)
    return html.Label([label, area, html.Small(hint)] if hint else [label, area])


def one_of(label: str, id: Id, value: str, options: dict[str, str]) -> html.Fieldset:
    """One of a few: `options` are values and how they read."""
    shown: Any = [{"value": key, "label": text} for key, text in options.items()]
    return html.Fieldset([html.Legend(label), dcc.RadioItems(shown, value, id=id, className="marks")])


def some_of(label: str, id: Id, value: Sequence[str], options: Sequence[str]) -> html.Fieldset:
    """Any number of several."""
    return html.Fieldset(
        [html.Legend(label), dcc.Checklist(list(options), list(value), id=id, className="marks")]
    )


def said(text: str) -> html.P:
    """A line that tells what was done."""
    return html.P(text, className="known")


def refused(problem: object) -> html.P:
    """Why something was not done."""
    return html.P(str(problem), className="cannot", role="alert")
