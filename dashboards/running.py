"""Verify from the page: a button, its progress, and a way to stop it."""

from typing import Any

from dash import Dash, Input, Output, State, dcc, html, no_update

from dashboards.verifying import BackgroundRun, Progress

SETUP = "/setup"  # a run that ends there leads on to the answer


def run_room(purpose: str) -> html.Div:
    """The button that starts a verification, the one that stops it, and the line that tells its progress."""
    return html.Div(
        [
            html.Button(purpose, id="verify-now", n_clicks=0, className="act"),
            html.Button("Stop", id="verify-stop", n_clicks=0, className="link", disabled=True),
            html.Div(id="verify-progress", role="status", className="progress"),
            dcc.Interval(id="verify-tick", interval=700, disabled=True),
        ],
        className="run-room",
    )


def connect_run(app: Dash, run: BackgroundRun) -> None:
    """Register the callbacks of the room."""

    @app.callback(
        Output("verify-tick", "disabled"),
        Input("verify-now", "n_clicks"),
        prevent_initial_call=True,
    )
    def begin(clicks: int) -> bool:
        if clicks:
            run.begin()
        return not clicks

    @app.callback(
        Output("verify-stop", "title"),
        Input("verify-stop", "n_clicks"),
        prevent_initial_call=True,
    )
    def stop(clicks: int) -> str:
        if clicks:
            run.stop()
        return "asked to stop" if clicks else ""

    @app.callback(
        Output("verify-progress", "children"),
        Output("place", "search"),
        Output("place", "pathname"),
        Output("verify-now", "disabled"),
        Output("verify-stop", "disabled"),
        Output("verify-tick", "disabled", allow_duplicate=True),
        Input("verify-tick", "n_intervals"),
        State("place", "pathname"),
        prevent_initial_call=True,
    )
    def look(ticks: int, pathname: str | None) -> Any:
        now = run.progress
        done = f"?done={ticks}" if now.finished else no_update
        answer = "/" if now.finished and pathname == SETUP else no_update
        return progress_words(now), done, answer, now.running, not now.running, not now.running


def progress_words(now: Progress) -> str:
    """One line on the run."""
    if now.failure:
        return f"{now.what}: {now.failure}"
    return now.what if now.fraction is None else f"{now.what} ({now.fraction * 100:.0f} %)"
