"""Long work from the page: a button that starts it, its progress, and a button that ends it at once."""

import re
from dataclasses import replace
from typing import Any

from dash import Dash, Input, Output, State, ctx, dcc, html, no_update

from dashboards.background import BackgroundRun, Progress
from dashboards.blocks.aria import aria

SETUP = "/setup"  # a verification that ends there leads on to the answer
VERIFY, READ = "verify", "read"
LOOK_EVERY_MS = 400


def run_room(purpose: str, name: str = VERIFY) -> html.Div:
    """The button that starts the run called `name`, the one that ends it, and how far it has come."""
    return html.Div(
        [
            html.Button(purpose, id=f"{name}-now", n_clicks=0, className="act"),
            html.Button("Stop", id=f"{name}-stop", n_clicks=0, className="link", disabled=True),
            html.Div(id=f"{name}-progress", role="status", className="progress"),
            dcc.Interval(id=f"{name}-tick", interval=LOOK_EVERY_MS, disabled=True),
            dcc.Store(id=f"{name}-ended"),
        ],
        className="run-room",
    )


def connect_run(app: Dash, run: BackgroundRun, name: str) -> None:
    """Register the callback of the room: the same run for every tab that looks at it."""

    @app.callback(
        Output(f"{name}-progress", "children"),
        Output(f"{name}-now", "disabled"),
        Output(f"{name}-stop", "disabled"),
        Output(f"{name}-tick", "disabled"),
        Output(f"{name}-ended", "data"),
        Input(f"{name}-now", "n_clicks"),
        Input(f"{name}-stop", "n_clicks"),
        Input(f"{name}-tick", "n_intervals"),
    )
    def act(_starts: int, _stops: int, ticks: int | None) -> Any:
        asked, clicks = ctx.triggered_id, ctx.triggered[0]["value"] if ctx.triggered else None
        if asked == f"{name}-now" and clicks:
            run.begin()
        if asked == f"{name}-stop" and clicks:
            run.stop()
        now = run.progress
        ended = ticks if not now.running and asked == f"{name}-tick" else no_update
        if name == READ and now.problems:
            now = replace(now, failure="the following is to be settled first.")
        return progress_part(now), now.running, not now.running, not now.running, ended


def connect_verified(app: Dash, run: BackgroundRun) -> None:
    """Where a verification ends, the page is drawn from it; the setup page leads to the answer."""

    @app.callback(
        Output("place", "search"),
        Output("place", "pathname"),
        Input(f"{VERIFY}-ended", "data"),
        State("place", "search"),
        State("place", "pathname"),
        prevent_initial_call=True,
    )
    def lead_on(ended: int | None, search: str | None, pathname: str | None) -> Any:
        if ended is None or not run.progress.finished:
            return no_update, no_update
        return marked(search or "", ended), "/" if pathname == SETUP else no_update


def marked(search: str, ended: int) -> str:
    """The query with another mark, so that the page is asked for again."""
    kept = re.sub(r"[?&]done=\d*", "", search).lstrip("?&")
    return f"?{kept}&done={ended}" if kept else f"?done={ended}"


def progress_part(now: Progress) -> list[Any]:
    """A bar while it runs, and one line on the run."""
    words = html.Span(progress_words(now))
    if now.fraction is None:
        return [words]
    bar = html.Progress(value=f"{now.fraction:.2f}", max="1", **aria(label="How far it has come"))
    return [bar, words]


def progress_words(now: Progress) -> str:
    """One line on the run."""
    if now.failure:
        return f"{now.what}: {now.failure}"
    return now.what if now.fraction is None else f"{now.what} ({now.fraction * 100:.0f} %)"
