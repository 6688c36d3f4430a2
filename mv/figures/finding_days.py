"""A finding day by day, drawn: dots, the weekly mean, the days of change and the levels beside them."""

from typing import Any

import pandas as pd

from mv.base.verification import Verification
from mv.figures.canvas import canvas, mark_day, shade_span
from mv.figures.drift_words import GAP
from mv.figures.found import day_after, found
from mv.figures.found_days import FoundDays, days_found, in_spells, weekly_mean
from mv.figures.palette import MARKS, Scheme, palette
from mv.figures.worded import FigureWithWords, not_drawn


def finding_days(verification: Verification, key: str, *, scheme: Scheme = "light") -> FigureWithWords:
    """Each day's departure as a dot, its weekly mean, the days of change and the levels beside them."""
    shown = days_found(verification, key)
    if shown is None:
        return not_drawn(f"{found(verification, key).where}: each day", "No whole day was metered.")
    return FigureWithWords(shown.title, shown.caption, _table(shown), _figure(shown, scheme))


def _table(shown: FoundDays) -> pd.DataFrame:
    days = shown.days.reset_index()
    table = pd.DataFrame(
        {"day": days["day"].dt.strftime("%Y-%m-%d"), "metered, kWh": days["metered_kwh"].round(2)}
    )
    if shown.against_expected:
        table["without any change, kWh"] = days["expected_kwh"].round(2)
        table["difference, kWh"] = days["shown_kwh"].round(2)
    if shown.item.spells:
        table["in a spell"] = ["yes" if inside else "" for inside in in_spells(shown)]
    return table


def _figure(shown: FoundDays, scheme: Scheme) -> Any:
    import plotly.graph_objects as go

    colours = palette(scheme)
    figure = canvas(scheme, height=260, margin={"l": 54, "r": 12, "t": 40, "b": 40}, hovermode="x")
    stamps, values = pd.DatetimeIndex(shown.days.index).strftime("%Y-%m-%d"), shown.days["shown_kwh"].round(2)
    figure.add_trace(
        go.Scatter(
            x=stamps,
            y=values,
            name="each day",
            mode="markers",
            marker={"color": colours.metered, "size": 4, "opacity": 0.55},
            hovertemplate="%{x|%a %d %b %Y}: %{y:.3~f} kWh",
        )
    )
    if not shown.levels:
        _draw_weekly(figure, shown, scheme)
    _draw_levels(figure, shown, scheme)
    _draw_marks(figure, shown, scheme)
    figure.update_yaxes(
        title=shown.unit, rangemode="tozero", zeroline=shown.against_expected, zerolinecolor=colours.muted
    )
    figure.update_xaxes(type="date", tickformat="%d %b\n%Y" if len(shown.days) < 120 else "%b\n%Y")
    return figure


def _draw_weekly(figure: Any, shown: FoundDays, scheme: Scheme) -> None:
    import plotly.graph_objects as go

    mean = weekly_mean(shown).round(2)
    figure.add_trace(
        go.Scatter(
            x=pd.DatetimeIndex(mean.index).strftime("%Y-%m-%d"),
            y=mean,
            name="mean of a week",
            mode="lines",
            line={"color": palette(scheme).metered, "width": 1.6},
            hoverinfo="skip",
        )
    )


def _draw_levels(figure: Any, shown: FoundDays, scheme: Scheme) -> None:
    import plotly.graph_objects as go

    colours = palette(scheme)
    for level in shown.levels:
        figure.add_trace(
            go.Scatter(
                x=[str(level.first), str(level.last)],
                y=[round(level.kwh_a_day, 2)] * 2,
                mode="lines",
                name="mean since" if level.now else "mean before",
                line={
                    "color": colours.ink if level.now else colours.expected,
                    "width": 3,
                    "dash": "solid" if level.now else "dash",
                },
                hoverinfo="skip",
            )
        )


def _draw_marks(figure: Any, shown: FoundDays, scheme: Scheme) -> None:
    import plotly.graph_objects as go

    colours, item = palette(scheme), shown.item
    if item.kind == GAP:
        last = day_after(item.until) or shown.days.index.max().date()
        shade_span(figure, item.since, last, "no usable readings", colours)
    elif item.kind == "step":
        for day in shown.changes:
            mark_day(figure, day, colours.attention)
        for day in shown.others:
            figure.add_vline(x=str(day), line={"color": colours.faint, "width": 1, "dash": "dot"})
    elif item.kind == "recurring":
        inside = shown.days["shown_kwh"][in_spells(shown)].round(2)
        figure.add_trace(
            go.Scatter(
                x=pd.DatetimeIndex(inside.index).strftime("%Y-%m-%d"),
                y=inside,
                name="in a spell",
                mode="markers",
                marker={"symbol": MARKS["attention"], "size": 8, "color": colours.attention},
                hoverinfo="skip",
            )
        )
