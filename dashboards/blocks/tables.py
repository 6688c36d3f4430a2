"""Tables for the screen: real table elements, with a caption and headed columns."""

import json
from collections.abc import Sequence
from typing import Any

import pandas as pd
from dash import html

from dashboards.blocks.aria import aria, data

ROWS_SHOWN = 400  # a longer table is given as a file; about what a page can carry, no source


def table(
    heads: Sequence[str],
    body: Sequence[Sequence[Any]],
    *,
    only_narrow: Sequence[int] = (),
    caption: str,
    numeric: Sequence[int] = (),
    stacked: bool = False,
    kind: str = "",
) -> html.Div:
    """A table of texts and components; the first column heads its row.

    On a narrow screen a `stacked` table shows its rows one below the other, each cell under its head;
    any other table can be pushed sideways. The roles keep it a table to a screen reader either way.
    A cell that is a Td already stands as it is; the columns `only_narrow` are for narrow screens.
    """
    kinds = [
        "number" if place in numeric else "narrow" if place in only_narrow else ""
        for place in range(len(heads))
    ]
    head = [
        html.Th(text, scope="col", className=kind, role="columnheader")
        for text, kind in zip(heads, kinds, strict=True)
    ]
    lines = [html.Tr(_cells(row, heads, kinds), role="row") for row in body]
    parts = [
        html.Thead(html.Tr(head, role="row"), role="rowgroup"),
        html.Tbody(lines, role="rowgroup"),
    ]
    named = aria(label=caption)
    grid = html.Table(parts, className=f"{kind} stacked" if stacked else kind, role="table", **named)
    scroller = html.Div(grid, className="scroller", tabIndex="0", role="region", **named)
    return html.Div([html.P(caption, className="table-title"), scroller])


def _cells(row: Sequence[Any], heads: Sequence[str], kinds: Sequence[str]) -> list[Any]:
    first = html.Th(row[0], scope="row", role="rowheader")
    others = [
        cell if isinstance(cell, html.Td) else html.Td(cell, className=kind, role="cell", **data(head=head))
        for cell, head, kind in zip(row[1:], heads[1:], kinds[1:], strict=True)
    ]
    return [first, *others]


def long_table(
    heads: Sequence[str],
    body: Sequence[Sequence[str | tuple[str, str]]],
    *,
    caption: str,
    numeric: Sequence[int] = (),
    stacked: bool = False,
) -> html.Div:
    """A table as `table` makes it, of any length: texts, and links as (text, address).

    The page builds its rows itself (`behaviour.js`): thousands of cells, each a component that hears of
    every change on the page, would hold the page up for seconds.
    """
    grid = {
        "heads": list(heads),
        "body": body,
        "numeric": list(numeric),
        "stacked": stacked,
        "label": caption,
    }
    held = data(grid=json.dumps(grid)) | aria(label=caption)
    scroller = html.Div(className="scroller", tabIndex="0", role="region", **held)
    return html.Div([html.P(caption, className="table-title"), scroller])


def frame_table(frame: pd.DataFrame, *, caption: str) -> html.Div:
    """A figure's numbers; over-long ones are cut and say so."""
    shown = frame.head(ROWS_SHOWN)
    numeric = [place for place, name in enumerate(frame) if pd.api.types.is_numeric_dtype(frame[name])]
    body = [[cell_text(value) for value in row] for row in shown.itertuples(index=False)]
    cut = (
        f" (first {ROWS_SHOWN} of {len(frame):,} rows; the file holds all)" if len(frame) > ROWS_SHOWN else ""
    )
    return long_table([str(name) for name in frame], body, caption=caption + cut, numeric=numeric)


def cell_text(value: Any) -> str:
    """One value as text: thousands separated, empty where there is none."""
    if value is None or (isinstance(value, float) and pd.isna(value)) or value is pd.NaT:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return f"{value:,}"
    if isinstance(value, float):
        return f"{value:,.6g}" if abs(value) < 1000 else f"{value:,.0f}"
    return str(value)
