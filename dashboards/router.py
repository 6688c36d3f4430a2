"""From an address to a page, and what a reader can do on it."""

import traceback
from typing import Any

from dash import MATCH, ClientsideFunction, Dash, Input, Output, State, ctx, html, no_update

from dashboards.acknowledging import connect_notes
from dashboards.background import BackgroundRun
from dashboards.blocks.cards import WAITING, ZOOMED, laid_out
from dashboards.blocks.tables import frame_table
from dashboards.choice import Choice
from dashboards.drawn import draw
from dashboards.line_room import connect_lines
from dashboards.pages import PAGES, absent, setup
from dashboards.running import READ, VERIFY, connect_run, connect_verified
from dashboards.setup.event_editing import connect_events
from dashboards.setup.setting_up import connect_setup
from dashboards.shelf import Shelf
from dashboards.shell import NAME, changed_note, masthead
from mv.base.errors import TallyluxError
from mv.base.verification import Verification
from mv.figures import Scheme, scheme_named


def connect(app: Dash, shelf: Shelf, verify: BackgroundRun, check: BackgroundRun) -> None:
    """Register every callback on this app."""
    connect_browser(app)
    _connect_pages(app, shelf)
    _connect_cards(app, shelf)
    _connect_tables(app, shelf)
    _connect_zoom(app, shelf)
    connect_lines(app, shelf)
    connect_notes(app, shelf)
    connect_events(app, shelf)
    connect_setup(app, shelf, check)
    connect_run(app, check, READ)
    connect_run(app, verify, VERIFY)
    connect_verified(app, verify)


def connect_browser(app: Dash) -> None:
    """What only the browser knows: its colour scheme, and that a page has arrived."""
    app.clientside_callback(
        ClientsideFunction("tally", "scheme"), Output("scheme", "data"), Input("scheme", "id")
    )
    app.clientside_callback(
        ClientsideFunction("tally", "arrived"),
        Output("announcer", "children"),
        Input("content", "children"),
        State("place", "pathname"),
    )


def _connect_pages(app: Dash, shelf: Shelf) -> None:
    @app.callback(
        Output("masthead", "children"),
        Output("content", "children"),
        Input("place", "pathname"),
        Input("place", "search"),
        Input("scheme", "data"),
    )
    def show(pathname: str | None, search: str | None, scheme: str | None) -> Any:
        if scheme is None:
            return no_update, no_update
        address = (pathname or "/").rstrip("/") or "/"
        verification = shelf.attempt()
        names = [(name, href) for href, (name, _) in PAGES.items()] + [("Setup", setup.ADDRESS)]
        if isinstance(verification, TallyluxError):
            is_setup = address == setup.ADDRESS or not setup.has_study(shelf.path)
            head = masthead(
                [names[0], names[-1]], setup.ADDRESS if is_setup else address, NAME, str(shelf.path)
            )
            return head, setup.page(shelf.path) if is_setup else absent.page(verification, str(shelf.path))
        study = verification.study
        head = masthead(names, address, study.study.title, study.site.name)
        if address == setup.ADDRESS:
            return head, setup.page(shelf.path)
        if address not in PAGES:
            return head, absent.unknown(address)
        page = page_or_defect(address, verification, Choice.read(search), scheme_named(scheme))
        return head, [changed_note(verification, address), *page]


def page_or_defect(address: str, verification: Verification, choice: Choice, scheme: Scheme) -> list[Any]:
    """The page; where a defect of ours stops it, a page that says so, and the trace in the terminal."""
    try:
        return PAGES[address][1](verification, choice, scheme)
    except Exception:
        traceback.print_exc()
        return absent.defect()


def _connect_cards(app: Dash, shelf: Shelf) -> None:
    @app.callback(
        Output({"type": "card", "key": MATCH}, "children"),
        Output({"type": "card", "key": MATCH}, "className"),
        Output({"type": "card", "key": MATCH}, "aria-busy"),
        Input({"type": "ask", "key": MATCH}, "data"),
        State({"type": "card", "key": MATCH}, "className"),
        State("scheme", "data"),
        prevent_initial_call=True,
    )
    def fill(asked: int | None, kind: str, scheme: str) -> Any:
        if asked is None:
            return no_update, no_update, no_update
        held = card_or_defect(ctx.triggered_id["key"], shelf, scheme_named(scheme))
        return held, kind.replace(WAITING, "").strip(), "false"


def card_or_defect(key: str, shelf: Shelf, scheme: Scheme) -> list[Any]:
    """What the card holds; where a defect of ours stops it, a line that says so."""
    name, _, query = key.partition("?")
    choice = Choice.read(query)
    try:
        return laid_out(draw(name, shelf.verification(), choice, scheme), name, choice)
    except Exception:
        traceback.print_exc()
        return [html.P("A defect of the program stopped this drawing; its trace is in the terminal.")]


def _connect_tables(app: Dash, shelf: Shelf) -> None:
    @app.callback(
        Output({"type": "table", "key": MATCH}, "children"),
        Output({"type": "opener", "key": MATCH}, "children"),
        Output({"type": "opener", "key": MATCH}, "aria-expanded"),
        Input({"type": "opener", "key": MATCH}, "n_clicks"),
        prevent_initial_call=True,
    )
    def open_table(clicks: int) -> Any:
        if clicks % 2 == 0:
            return None, "Show as table", "false"
        name, _, query = ctx.triggered_id["key"].partition("?")
        words = draw(name, shelf.verification(), Choice.read(query), "light")
        return frame_table(words.table, caption=words.title), "Hide the table", "true"


def _connect_zoom(app: Dash, shelf: Shelf) -> None:
    @app.callback(
        Output({"type": ZOOMED, "key": MATCH}, "figure"),
        Output({"type": "caption", "key": MATCH}, "children"),
        Output({"type": "drawing", "key": MATCH}, "aria-label"),
        Input({"type": ZOOMED, "key": MATCH}, "relayoutData"),
        State("scheme", "data"),
        prevent_initial_call=True,
    )
    def recut(moved: dict[str, Any] | None, scheme: str) -> Any:
        name, _, query = ctx.triggered_id["key"].partition("?")
        window = zoomed(moved or {}, Choice.read(query))
        if window is None:
            return no_update, no_update, no_update
        words = draw(name, shelf.verification(), window, scheme_named(scheme))
        return words.figure or no_update, words.caption, words.accessible_name


def zoomed(moved: dict[str, Any], choice: Choice) -> Choice | None:
    """The window a drag or a double click asks for; None for any other change of layout."""
    if "xaxis.range[0]" in moved:
        return choice.but(start=str(moved["xaxis.range[0]"]), end=str(moved["xaxis.range[1]"]))
    return choice if moved.get("xaxis.autorange") else None
