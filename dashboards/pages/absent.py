"""What is shown where there is no verification yet, or none that can be read."""

from typing import Any

from dash import dcc, html

from dashboards.running import run_room
from mv.base.errors import TallyluxError


def page(error: TallyluxError, path: str) -> list[Any]:
    """The reason, the command, and a button that runs it."""
    return [
        html.H1("No verification to show yet"),
        html.P(str(error), className="cannot"),
        html.P(["In a terminal: ", html.Code(f"tallylux verify {path}")]),
        html.P("Or here; the page opens when it is done."),
        run_room("Verify now"),
        html.P(dcc.Link("What the study says, and what it still needs: Setup", href="/setup")),
    ]


def defect() -> list[Any]:
    """A page that a defect of ours stopped."""
    return [
        html.H1("This page cannot be shown"),
        html.P("A defect of the program stopped it. Its trace is in the terminal that serves the dashboard."),
        html.P(dcc.Link("Back to the answer", href="/")),
    ]


def unknown(address: str) -> list[Any]:
    """An address that leads nowhere."""
    return [
        html.H1("There is no such page"),
        html.P(f"Nothing is kept under {address}."),
        html.P(dcc.Link("Back to the answer", href="/")),
    ]
