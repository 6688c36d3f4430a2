"""What was promised against what is verified: a year's saving, and the running total."""

from typing import Any

import pandas as pd

from mv.base.verification import Verification
from mv.figures import wording
from mv.figures.canvas import canvas
from mv.figures.palette import DASHES, Scheme, palette, veiled
from mv.figures.result_parts import Result, estimate, part, rows, why_not
from mv.figures.worded import FigureWithWords, not_drawn

DAYS_IN_YEAR = 365.0
NAME_SHARE = 0.17  # of the rule that half a name takes on the narrowest screen (measured at 375 px)


def savings_against_promise(result: Result, *, scheme: Scheme = "light") -> FigureWithWords:
    """The verified yearly saving as an interval on a rule from nothing, the promise as a mark on it."""
    title = "Yearly saving against the promise"
    verified = estimate(result, "savings", "normalised_annual_kwh")
    if verified is None:
        why = why_not(result, "normalised", "annual") or "No verified yearly saving is in the result."
        return not_drawn(title, why)
    promised = part(result, "predicted", "annual_kwh")
    figure = _interval_on_a_rule(verified, promised, scheme)
    return FigureWithWords(
        title, _promise_caption(verified, promised), _promise_table(verified, promised), figure
    )


def _interval_on_a_rule(verified: Any, promised: float | None, scheme: Scheme) -> Any:
    import plotly.graph_objects as go

    colours = palette(scheme)
    low, high = verified.get("low"), verified.get("high")
    figure = canvas(scheme, height=150, showlegend=False, margin={"l": 12, "r": 12, "t": 34, "b": 40})
    figure.add_trace(
        go.Bar(
            x=[verified["estimate"]],
            y=[""],
            orientation="h",
            width=0.34,
            marker={"color": veiled(colours.metered, 0.35)},
            hovertemplate=f"best estimate {wording.amount(verified, 'kWh')}<extra></extra>",
        )
    )
    if low is not None and high is not None:
        figure.add_trace(
            go.Scatter(
                x=[low, high],
                y=["", ""],
                mode="lines+markers",
                line={"color": colours.metered, "width": 7},
                marker={"symbol": "line-ns-open", "size": 26, "line": {"width": 3}, "color": colours.metered},
                hovertemplate=f"interval {wording.between(verified, 'kWh')}<extra></extra>",
            )
        )
    ends = [0.0, verified["estimate"], low or 0.0, high or 0.0, promised or 0.0]
    reach = max(ends) - min(ends) or 1.0
    side = _clear_of(promised, verified["estimate"], least=min(ends), reach=reach)
    _name_on_rule(figure, verified["estimate"], "best estimate", colours.metered, "bottom", side)
    if promised is not None:
        _promise_mark(figure, promised, colours.ink)
    figure.update_xaxes(range=[min(ends) - 0.04 * reach, max(ends) + 0.12 * reach], title="kWh a year")
    figure.update_yaxes(visible=False, range=[-0.6, 0.6])
    return figure


def _clear_of(promised: float | None, at: float, *, least: float, reach: float) -> str:
    """Which end of a name stands at its place, so that the promise's post does not cross it."""
    if promised is None or abs(promised - at) > NAME_SHARE * reach:
        return "center"
    return "right" if promised >= at and at - least > 2 * NAME_SHARE * reach else "left"


def _name_on_rule(figure: Any, at: float, text: str, colour: str, side: str, anchor: str = "center") -> None:
    figure.add_annotation(
        x=at,
        y=-0.2 if side == "bottom" else 0.43,
        text=text,
        showarrow=False,
        xanchor=anchor,
        yanchor="top" if side == "bottom" else "bottom",
        font={"color": colour, "size": 12},
    )


def _promise_mark(figure: Any, promised: float, colour: str) -> None:
    figure.add_shape(
        type="line",
        x0=promised,
        x1=promised,
        y0=-0.42,
        y1=0.42,
        line={"color": colour, "width": 2.5, "dash": DASHES["promised"]},
    )
    _name_on_rule(figure, promised, "promised", colour, "top")


def _promise_caption(verified: Any, promised: float | None) -> str:
    sentence = f"Verified: {wording.with_interval(verified, 'kWh a year')}."
    if promised is None:
        return f"{sentence} The study holds no promise to compare with."
    share = wording.per_cent(verified["estimate"] / promised) if promised else "no share"
    amount = wording.beside(promised, verified, "kWh")
    return f"{sentence} Promised: {amount} a year; the best estimate is {share} of it."


def _promise_table(verified: Any, promised: float | None) -> pd.DataFrame:
    names = ["promised", "verified, best estimate", "verified, low end", "verified, high end"]
    values = [promised, verified["estimate"], verified.get("low"), verified.get("high")]
    return pd.DataFrame({"quantity": names, "kWh a year": values})


def running_total(verification: Verification, *, scheme: Scheme = "light") -> FigureWithWords:
    """Avoided energy added up month by month, beside the promise spread evenly over the days."""
    title = "Running total against the promise"
    table = _running_table(verification)
    if table.empty:
        why = why_not(verification.result, "avoided", "monthly") or "No month has an avoided energy."
        return not_drawn(title, why)
    promised = part(verification.result, "predicted", "annual_kwh")
    whole = estimate(verification.result, "savings", "avoided_kwh")
    figure = _running_figure(table, scheme, promised=promised is not None)
    return FigureWithWords(title, _running_caption(table, whole, promised), table, figure)


def _running_table(verification: Verification) -> pd.DataFrame:
    periods = verification.study.periods
    months = [row for row in rows(verification.result, "savings", "monthly") if estimate(row, "avoided_kwh")]
    if periods is None or not months:
        return pd.DataFrame()
    promised = part(verification.result, "predicted", "annual_kwh")
    first = pd.Timestamp(periods.reporting.first)
    ends = [
        min(pd.Period(row["month"], "M").end_time.normalize(), pd.Timestamp(periods.reporting.last))
        for row in months
    ]
    table = pd.DataFrame({"month": [row["month"] for row in months]})
    table["saved so far, kWh"] = pd.Series([float(row["avoided_kwh"]["estimate"]) for row in months]).cumsum()
    to_date = [estimate(row, "avoided_to_date_kwh") for row in months]
    for end in ("low", "high"):
        table[f"{end} end, kWh"] = [float(entry[end]) if entry else float("nan") for entry in to_date]
    if promised is not None:
        days = [(end - first).days + 1 for end in ends]
        table["promised so far, kWh"] = [promised * day / DAYS_IN_YEAR for day in days]
    return table.round(1)


def _running_figure(table: pd.DataFrame, scheme: Scheme, *, promised: bool) -> Any:
    import plotly.graph_objects as go

    colours = palette(scheme)
    figure = canvas(scheme, hovermode="x unified")
    months = pd.to_datetime(table["month"])
    _band(figure, months, table, veiled(colours.metered, 0.2))
    figure.add_trace(
        go.Scatter(
            x=months,
            y=table["saved so far, kWh"],
            name="saved so far",
            mode="lines+markers",
            line={"color": colours.metered, "width": 2.4},
            hovertemplate="%{y:,.0f} kWh",
        )
    )
    if promised:
        figure.add_trace(
            go.Scatter(
                x=months,
                y=table["promised so far, kWh"],
                name="promised so far",
                mode="lines",
                line={"color": colours.ink, "width": 2.2, "dash": DASHES["promised"]},
                hovertemplate="%{y:,.0f} kWh",
            )
        )
    figure.update_xaxes(tickformat="%b\n%Y")
    figure.update_yaxes(title="kWh", rangemode="tozero")
    return figure


def _band(figure: Any, months: Any, table: pd.DataFrame, colour: str) -> None:
    """The interval of the running total: an unseen lower edge, and the fill up to the upper one."""
    import plotly.graph_objects as go

    if not table["low end, kWh"].notna().any():
        return
    for end, fill in (("low", None), ("high", "tonexty")):
        figure.add_trace(
            go.Scatter(
                x=months,
                y=table[f"{end} end, kWh"],
                name="its interval" if fill else f"{end} end",
                mode="lines",
                line={"width": 0},
                fill=fill,
                fillcolor=colour,
                showlegend=fill is not None,
                hoverinfo="skip",
            )
        )


def _running_caption(table: pd.DataFrame, whole: Any, promised: float | None) -> str:
    last = table.iloc[-1]
    whole = whole or {"estimate": last["saved so far, kWh"]}
    total = wording.beside(last["saved so far, kWh"], whole, "kWh")
    sentence = f"By the end of {pd.Period(last['month'], 'M').strftime('%B %Y')} {total} were avoided"
    if promised is not None:
        due = wording.beside(last["promised so far, kWh"], whole, "kWh")
        sentence += f"; the promise spread evenly over the days comes to {due}"
    if whole.get("low") is not None:
        sentence += f". The whole period's interval is {wording.between(whole, 'kWh')}"
    return sentence + "."
