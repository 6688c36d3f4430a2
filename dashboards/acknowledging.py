"""Keeps a reader's note on a finding."""

from typing import Any

from dash import MATCH, Dash, Input, Output, State, ctx, no_update

from dashboards.blocks.findings import note_words
from dashboards.shelf import Shelf
from mv.acknowledge import acknowledge, acknowledged_now, finding_named
from mv.base.errors import TallyluxError
from mv.figures import rows


def connect_notes(app: Dash, shelf: Shelf) -> None:
    """Register the callback that keeps a note."""

    @app.callback(
        Output({"type": "note", "key": MATCH}, "children"),
        Input({"type": "note-button", "key": MATCH}, "n_clicks"),
        State({"type": "who", "key": MATCH}, "value"),
        State({"type": "why", "key": MATCH}, "value"),
        prevent_initial_call=True,
    )
    def keep(clicks: int, who: str | None, why: str | None) -> Any:
        if not clicks:
            return no_update
        return kept(shelf, ctx.triggered_id["key"], who or "", why or "")


def kept(shelf: Shelf, key: str, who: str, why: str) -> list[Any]:
    """Add the note, or open the finding again where one stands; what the page then shows."""
    verification = shelf.verification()
    folder = verification.study.folder
    standing = None
    try:
        drift = rows(verification.result, "drift")
        standing = acknowledged_now(folder, drift).get(key)
        finding = finding_named(drift, key)
        acknowledge(folder, finding, who=who, why=why, state="reopened" if standing else "acknowledged")
        return note_words(key, acknowledged_now(folder).get(key))
    except TallyluxError as error:
        return note_words(key, standing, str(error))
