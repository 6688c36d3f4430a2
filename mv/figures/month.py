"""One month for whoever runs the building: what was used, expected, avoided, and what acts against it."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from mv.base.verification import Verification
from mv.figures import wording
from mv.figures.answers import CANNOT_TELL, PlainAnswer
from mv.figures.canvas import canvas
from mv.figures.days import days_of
from mv.figures.palette import DASHES, MARKS, Scheme, palette
from mv.figures.promise import DAYS_IN_YEAR
from mv.figures.result_parts import Result, estimate, part, rows
from mv.figures.worded import FigureWithWords, not_drawn


def months_told(result: Result) -> list[str]:
    """The months of the result, "YYYY-MM", oldest first."""
    return [str(row["month"]) for row in rows(result, "savings", "monthly")]


def month_words(month: str) -> str:
    """ "October 2024"."""
    return str(pd.Period(month, "M").strftime("%B %Y"))


def month_answer(result: Result, month: str) -> PlainAnswer:
    """What the month used against what it would have, with its interval and its share of the promise."""
    question = f"How did {month_words(month)} go?"
    row = next((row for row in rows(result, "savings", "monthly") if row["month"] == month), None)
    avoided = estimate(row, "avoided_kwh") if row else None
    if row is None or avoided is None:
        return PlainAnswer(question, CANNOT_TELL, ("The month's avoided energy cannot be given.",))
    metered, expected = (
        wording.beside(float(row[key]), avoided, "kWh") for key in ("actual_kwh", "expected_kwh")
    )
    sentences = [f"{metered} were metered where {expected} were expected without the retrofit."]
    if wording.half_width(avoided) is not None:
        sure, ends = wording.per_cent(avoided["confidence"]), wording.between(avoided, "kWh", joint="and")
        sentences.append(f"We are {sure} confident that the energy avoided lies between {ends}.")
    sentences += _promise_share(result, row, avoided)
    missing = int(row.get("meters_missing") or 0)
    if missing:
        sentences.append(f"Without {wording.counted(missing, 'meter')} that cannot give this month.")
    return PlainAnswer(question, _short(avoided), tuple(sentences))


def _short(avoided: Mapping[str, Any]) -> str:
    low, high = avoided.get("low"), avoided.get("high")
    if low is not None and high is not None and low <= 0 <= high:
        return "No clear difference from what was expected"
    if avoided["estimate"] < 0:
        return f"{wording.number(-avoided['estimate'])} kWh more than expected"
    return f"{wording.amount(avoided, 'kWh')} avoided"


def _promise_share(result: Result, row: Mapping[str, Any], avoided: Mapping[str, Any]) -> list[str]:
    promised = part(result, "predicted", "annual_kwh")
    if not promised:
        return []
    share = promised * pd.Period(row["month"], "M").days_in_month / DAYS_IN_YEAR
    return [
        f"The promise, spread evenly over the year, asks {wording.beside(share, avoided, 'kWh')} of a month "
        f"this long: {wording.per_cent(avoided['estimate'] / share)} of that was reached."
    ]


def drift_in_month(result: Result, month: str) -> list[Mapping[str, Any]]:
    """The changes that were there in the month: begun by its end, not over before it began."""
    first = pd.Period(month, "M").start_time
    last = pd.Period(month, "M").end_time
    return [
        row
        for row in rows(result, "drift")
        if (not row.get("since") or pd.Timestamp(str(row["since"])) <= last)
        and (not row.get("until") or pd.Timestamp(str(row["until"])) >= first)
    ]


def month_days(verification: Verification, month: str, *, scheme: Scheme = "light") -> FigureWithWords:
    """Each day of the month: metered, expected without the retrofit, usual since the retrofit."""
    title = f"The days of {month_words(month)}, all meters together"
    days = days_of(verification)
    days = days[pd.DatetimeIndex(days.index).strftime("%Y-%m") == month]
    if days.empty or not days["actual_kwh"].notna().any():
        return not_drawn(title, "No day of this month was metered by every meter.")
    columns = {"actual_kwh": "metered, kWh", "expected_kwh": "expected without the retrofit, kWh"}
    columns["reporting_model_kwh"] = "usual since the retrofit, kWh"
    table = days[list(columns)].rename(columns=columns).round(1)
    table.insert(0, "day", pd.DatetimeIndex(days.index).strftime("%Y-%m-%d"))
    return FigureWithWords(title, _caption(days), table.reset_index(drop=True), _figure(days, scheme))


def _figure(days: pd.DataFrame, scheme: Scheme) -> Any:
    import plotly.graph_objects as go

    colours = palette(scheme)
    figure = canvas(scheme, height=340, hovermode="x unified", bargap=0.3)
    stamps = pd.DatetimeIndex(days.index).strftime("%Y-%m-%d")
    hover = "%{y:,.0f} kWh"
    bars = {"color": colours.metered}
    figure.add_trace(
        go.Bar(x=stamps, y=days["actual_kwh"].round(1), name="metered", marker=bars, hovertemplate=hover)
    )
    lines = (
        ("expected_kwh", "expected without the retrofit", colours.expected, "dash", MARKS["expected"]),
        ("reporting_model_kwh", "usual since the retrofit", colours.ink, DASHES["model"], "line-ew-open"),
    )
    for column, name, colour, dash, mark in lines:
        figure.add_trace(
            go.Scatter(
                x=stamps,
                y=days[column].round(1),
                name=name,
                mode="lines+markers",
                line={"color": colour, "dash": dash, "width": 1.6},
                marker={"symbol": mark, "size": 6},
                hovertemplate=hover,
            )
        )
    figure.update_xaxes(type="date", tickformat="%a<br>%-d", nticks=9)
    figure.update_yaxes(title="kWh a day", rangemode="tozero")
    return figure


def _caption(days: pd.DataFrame) -> str:
    known = days[["actual_kwh", "reporting_model_kwh"]].dropna()
    empty = int(days["actual_kwh"].isna().sum())
    text = f"{wording.counted(empty, 'day')} without a whole record." if empty else "Every day is whole."
    if known.empty:
        return text
    excess = known["actual_kwh"] - known["reporting_model_kwh"]
    most = pd.Timestamp(str(excess.idxmax()))
    return (
        f"{text} Against what is usual since the retrofit, the most was used on {wording.day_words(most)}: "
        f"{wording.number(float(excess.max()))} kWh more."
    )
