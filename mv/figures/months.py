"""Month by month: what was expected without the retrofit, what was metered, and the difference."""

from typing import Any

import pandas as pd

from mv.figures import wording
from mv.figures.canvas import canvas, error_bars, stack_panels
from mv.figures.palette import MARKS, Scheme, palette
from mv.figures.result_parts import Result, estimate, rows, why_not
from mv.figures.worded import FigureWithWords, not_drawn


def monthly_energy(result: Result, *, scheme: Scheme = "light") -> FigureWithWords:
    """Expected and metered energy of each reporting month, the avoided energy with its interval below."""
    title = "Each month: expected, metered, avoided"
    months = rows(result, "savings", "monthly")
    if not months:
        return not_drawn(title, why_not(result, "monthly", "avoided") or "The result holds no months.")
    table = monthly_table(result)
    return FigureWithWords(title, _caption(table, months), table, _figure(months, scheme))


def monthly_table(result: Result) -> pd.DataFrame:
    """One row a month, with the ends of each month's interval."""
    months = rows(result, "savings", "monthly")
    avoided = [estimate(row, "avoided_kwh") or {} for row in months]
    return pd.DataFrame(
        {
            "month": [row["month"] for row in months],
            "expected, kWh": [row.get("expected_kwh") for row in months],
            "metered, kWh": [row.get("actual_kwh") for row in months],
            "avoided, kWh": [entry.get("estimate") for entry in avoided],
            "low end, kWh": [entry.get("low") for entry in avoided],
            "high end, kWh": [entry.get("high") for entry in avoided],
        }
    ).round(1)


def _figure(months: list[Any], scheme: Scheme) -> Any:
    import plotly.graph_objects as go

    colours = palette(scheme)
    figure = canvas(scheme, height=430, hovermode="x unified", bargap=0.25)
    stack_panels(figure, upper_share=0.62)
    stamps = [pd.Timestamp(f"{row['month']}-01") for row in months]
    figure.add_trace(
        go.Bar(
            x=stamps,
            y=[row.get("actual_kwh") for row in months],
            name="metered",
            marker={"color": colours.metered},
            hovertemplate="%{y:,.0f} kWh",
        )
    )
    figure.add_trace(
        go.Scatter(
            x=stamps,
            y=[row.get("expected_kwh") for row in months],
            name="expected without the retrofit",
            mode="markers+lines",
            line={"color": colours.expected, "dash": "dash", "width": 1.6},
            marker={"symbol": MARKS["expected"], "size": 10, "line": {"width": 2.2}},
            hovertemplate="%{y:,.0f} kWh",
        )
    )
    avoided = [estimate(row, "avoided_kwh") for row in months]
    figure.add_trace(
        go.Scatter(
            x=stamps,
            y=[entry["estimate"] if entry else None for entry in avoided],
            name="avoided, with its interval",
            mode="markers",
            xaxis="x2",
            yaxis="y2",
            marker={"color": colours.metered, "symbol": "line-ew-open", "size": 13, "line": {"width": 2.6}},
            error_y=error_bars(avoided, colour=colours.metered),
            hovertemplate="%{y:,.0f} kWh",
        )
    )
    figure.update_layout(
        yaxis={"title": {"text": "kWh"}, "rangemode": "tozero"},
        yaxis2={"title": {"text": "avoided, kWh"}, "rangemode": "tozero"},
        xaxis2={"tickformat": "%b\n%Y"},
    )
    return figure


def _caption(table: pd.DataFrame, months: list[Any]) -> str:
    known = table.dropna(subset=["avoided, kWh"])
    if known.empty:
        return "No month's avoided energy can be given."
    clear = int((known["low end, kWh"] > 0).sum())
    ordered = known.sort_values("avoided, kWh")
    return (
        f"In {clear} of {wording.counted(len(months), 'month')} the whole interval of the avoided energy "
        f"lies above zero.{_most_and_least(ordered)}"
    )


def _most_and_least(ordered: pd.DataFrame) -> str:
    if len(ordered) < 2:
        return ""
    return f" Most was avoided in {_named(ordered.iloc[-1])}, least in {_named(ordered.iloc[0])}."


def _named(row: pd.Series) -> str:
    month = pd.Period(str(row["month"]), "M").strftime("%B %Y")
    return f"{month} ({wording.number(float(row['avoided, kWh']))} kWh)"
