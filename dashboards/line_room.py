"""From a stretch of the record to the lines of the files behind it."""

from typing import Any

import pandas as pd
from dash import Dash, Input, Output, State, html, no_update

from dashboards.blocks.fields import line, refused
from dashboards.blocks.tables import frame_table
from dashboards.choice import Choice
from dashboards.shelf import Shelf
from mv.base.errors import TallyluxError
from mv.base.verification import Verification
from mv.documents.source_lines import source_lines
from mv.figures import from_screen, rows

LONGEST_DAYS = 31  # a longer stretch is no drill-down; its readings are in the file to take away


def line_room(choice: Choice) -> html.Section:
    """Two days and a button; the lines come below it."""
    first, last = choice.start[:10], choice.end[:10]
    fields = html.Div(
        [
            line("First day", "lines-first", first, hint="local date, such as 2024-05-01"),
            line("Last day", "lines-last", last or first, hint="included; empty for one day"),
            html.Button("Show the readings and their lines", id="lines-ask", n_clicks=0, className="act"),
        ],
        className="note-form",
    )
    return html.Section(
        [
            html.H3("From a reading to its line"),
            html.P(f"Reads the files again as they are now; at most {LONGEST_DAYS} days.", className="muted"),
            fields,
            html.Div(id="lines-shown", role="status", **{"data-meter": choice.meter}),
        ]
    )


def connect_lines(app: Dash, shelf: Shelf) -> None:
    """Register the callback of the room."""

    @app.callback(
        Output("lines-shown", "children"),
        Input("lines-ask", "n_clicks"),
        State("lines-first", "value"),
        State("lines-last", "value"),
        State("lines-shown", "data-meter"),
        running=[(Output("lines-ask", "disabled"), True, False)],
        prevent_initial_call=True,
    )
    def show(clicks: int, first: str | None, last: str | None, meter: str) -> Any:
        return lines_shown(shelf, meter, first or "", last or "") if clicks else no_update


def lines_shown(shelf: Shelf, meter: str, first: str, last: str) -> Any:
    """The table, or why there is none."""
    chosen = Choice.read(Choice(start=first.strip(), end=(last or first).strip()).query())
    if not chosen.start or not chosen.end:
        return refused("Give the days as dates, such as 2024-05-01.")
    begin, after = pd.Timestamp(chosen.start[:10]), pd.Timestamp(chosen.end[:10]) + pd.Timedelta(days=1)
    if not 0 < (after - begin).days <= LONGEST_DAYS:
        return refused(f"The last day must lie at most {LONGEST_DAYS} days after the first.")
    try:
        found = lines_of(shelf.verification(), meter, begin, after)
    except TallyluxError as error:
        return refused(error)
    if found.empty:
        return html.P("No reading of these days stands in the files.")
    return frame_table(found, caption=f"Readings of {meter} and the lines they stand on")


def lines_of(
    verification: Verification, meter: str, begin: pd.Timestamp, after: pd.Timestamp
) -> pd.DataFrame:
    """The readings of local days, half-open."""
    zone = verification.study.site.timezone
    ledger = next((row for row in rows(verification.result, "cleaning") if row.get("meter") == meter), {})
    start, end = (from_screen(day.isoformat(), zone) for day in (begin, after))
    return source_lines(verification.study, meter, ledger, start, end)
