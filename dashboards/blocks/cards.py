"""A figure on the page: heading, drawing with an accessible name, caption, table on demand."""

from typing import Any

from dash import dcc, html

from dashboards.blocks.aria import aria, data
from dashboards.choice import Choice
from dashboards.drawn import DRAWINGS, height_px
from mv.base.verification import Verification
from mv.figures import FigureWithWords, Scheme

WAITING = "waiting"  # the class of a card whose figure has not come yet
RECUT, ZOOMED = "readings", "zoomed"  # the drawing that a drag cuts anew, and its kind of id
QUIET: Any = {
    "displayModeBar": False,
    "responsive": True,
    "scrollZoom": False,
    "doubleClick": "reset+autosize",
}


def card(
    name: str, verification: Verification, choice: Choice, scheme: Scheme, *, wide: bool = False
) -> html.Figure:
    """The place of the figure `name`: the page comes without it, and asks for it when it stands.

    What is in sight is asked for first (`behaviour.js`). Raises KeyError for a name that is not there.
    """
    if name not in DRAWINGS:
        raise KeyError(name)
    key = f"{name}{choice.query()}"
    kind = "card wide" if wide else "card"
    return html.Figure(
        dcc.Store(id={"type": "ask", "key": key}),
        id={"type": "card", "key": key},
        className=f"{kind} {WAITING}",
        style=_room(height_px(name, verification)),
        **data(key=key),
        **aria(busy="true"),
    )


def laid_out(words: FigureWithWords, name: str, choice: Choice) -> list[Any]:
    """What a card holds; where nothing could be drawn, the reason stands in its place."""
    key = f"{name}{choice.query()}"
    heading = html.H4 if choice.finding else html.H3  # a finding has a heading of its own
    if words.figure is None:
        return [heading(words.title), html.P(words.caption, className="cannot")]
    kind = ZOOMED if name == RECUT else "graph"
    graph = dcc.Graph(figure=words.figure, config=QUIET, id={"type": kind, "key": key})
    return [
        heading(words.title),
        html.Div(
            graph,
            role="img",
            id={"type": "drawing", "key": key},
            className="drawing",
            style=_room(words.figure.layout.height),
            **aria(label=words.accessible_name),
        ),
        html.Figcaption(words.caption, id={"type": "caption", "key": key}),
        _opener(words.title, key, name, choice),
    ]


def _room(drawing_px: int) -> dict[str, str]:
    """Keeps the drawing's room until it stands there: a reader's hand is already on what is below it."""
    return {"--drawing": f"{drawing_px}px"}


def _opener(title: str, key: str, name: str, choice: Choice) -> html.Div:
    button = html.Button(
        "Show as table",
        id={"type": "opener", "key": key},
        n_clicks=0,
        className="link",
        **aria(expanded="false", label=f"Show as table: {title}"),
    )
    file = html.A(
        "Numbers as CSV",
        href=f"/numbers/{name}.csv{choice.query()}",
        className="link",
        **aria(label=f"Numbers as CSV: {title}"),
    )
    return html.Div(
        [html.Div([button, file], className="openers"), html.Div(id={"type": "table", "key": key})]
    )


def chooser(label: str, options: list[tuple[str, str, bool]]) -> html.Nav:
    """A row of links, one a choice: (text, address, chosen)."""
    links: list[Any] = [
        html.Li(
            dcc.Link(text, href=href, className="chosen" if chosen else "")
            if not chosen
            else html.Span(text, className="chosen", **aria(current="true"))
        )
        for text, href, chosen in options
    ]
    return html.Nav(
        [html.Span(label, className="label"), html.Ul(links)], className="chooser", **aria(label=label)
    )
