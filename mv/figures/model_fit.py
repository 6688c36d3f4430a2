"""How well the models describe the days they were fitted to."""

from typing import Any

import pandas as pd

from mv.base.verification import Verification
from mv.figures import wording
from mv.figures.canvas import canvas
from mv.figures.days import mark_installation
from mv.figures.palette import Scheme, palette
from mv.figures.worded import FigureWithWords, not_drawn

MODEL_COLUMN = {"baseline": "expected_kwh", "reporting": "reporting_model_kwh"}
MEDIAN_DAYS = 28  # running median of residuals: four whole weeks, so that weekdays cancel


def fitted_days(verification: Verification, meter: str) -> pd.DataFrame:
    """The days of both periods that entered a fit: metered, modelled, residual, all kWh."""
    daily = verification.daily
    mine = daily[(daily["meter"] == meter) & daily["in_fit"].astype(bool)]
    parts = [
        mine[mine["period"] == period][["day", "period", "actual_kwh"]].assign(
            modelled_kwh=mine.loc[mine["period"] == period, column]
        )
        for period, column in MODEL_COLUMN.items()
        if column in mine
    ]
    days = pd.concat(parts).dropna(subset=["actual_kwh", "modelled_kwh"]).sort_values("day")
    return days.assign(residual_kwh=days["actual_kwh"] - days["modelled_kwh"]).reset_index(drop=True)


def model_scatter(verification: Verification, meter: str, *, scheme: Scheme = "light") -> FigureWithWords:
    """Metered against modelled energy, a mark a day; on the line the model is exact."""
    title = f"Metered against modelled days: {meter}"
    days = fitted_days(verification, meter)
    if days.empty:
        return not_drawn(title, "No model was fitted to this meter.")
    figure = canvas(scheme, height=380)
    _draw_days(figure, days, scheme, across="modelled_kwh", up="actual_kwh")
    top = float(days[["actual_kwh", "modelled_kwh"]].max().max())
    low = min(0.0, float(days[["actual_kwh", "modelled_kwh"]].min().min()))
    figure.add_shape(
        type="line", x0=low, y0=low, x1=top, y1=top, line={"color": palette(scheme).muted, "width": 1}
    )
    figure.update_xaxes(title="modelled, kWh a day")
    figure.update_yaxes(title="metered, kWh a day")
    return FigureWithWords(title, _scatter_caption(days), _table(days), figure)


def residuals(verification: Verification, meter: str, *, scheme: Scheme = "light") -> FigureWithWords:
    """Metered less modelled energy over time, with a running median."""
    title = f"What the models leave unexplained: {meter}"
    days = fitted_days(verification, meter)
    if days.empty:
        return not_drawn(title, "No model was fitted to this meter.")
    figure = canvas(scheme, height=340)
    _draw_days(figure, days, scheme, across="day", up="residual_kwh")
    _draw_medians(figure, days, scheme)
    mark_installation(figure, verification.study, scheme)
    figure.add_hline(y=0, line_color=palette(scheme).muted, line_width=1)
    figure.update_xaxes(type="date", tickformat="%b\n%Y")
    figure.update_yaxes(title="metered − modelled, kWh")
    return FigureWithWords(title, _residual_caption(days), _table(days), figure)


def _draw_days(figure: Any, days: pd.DataFrame, scheme: Scheme, *, across: str, up: str) -> None:
    import plotly.graph_objects as go

    colours = palette(scheme)
    looks = {"baseline": (colours.expected, "diamond-open"), "reporting": (colours.metered, "circle")}
    for period, (colour, symbol) in looks.items():
        part = days[days["period"] == period]
        figure.add_trace(
            go.Scatter(
                x=part["day"].dt.strftime("%Y-%m-%d") if across == "day" else part[across].round(2),
                y=part[up].round(2),
                name=period,
                mode="markers",
                text=part["day"].dt.strftime("%a %d %b %Y"),
                marker={"color": colour, "symbol": symbol, "size": 5, "opacity": 0.65},
                hovertemplate="%{text}: %{y:,.1f} kWh<extra></extra>",
            )
        )


def _draw_medians(figure: Any, days: pd.DataFrame, scheme: Scheme) -> None:
    import plotly.graph_objects as go

    for number, (_, part) in enumerate(days.groupby("period", sort=True)):
        median = part["residual_kwh"].rolling(MEDIAN_DAYS, center=True, min_periods=7).median()
        figure.add_trace(
            go.Scatter(
                x=part["day"].dt.strftime("%Y-%m-%d"),
                y=median.round(2),
                mode="lines",
                name=f"running median, {MEDIAN_DAYS} days",
                legendgroup="median",
                showlegend=number == 0,
                hoverinfo="skip",
                line={"color": palette(scheme).ink, "width": 2},
            )
        )


def _table(days: pd.DataFrame) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "day": days["day"].dt.strftime("%Y-%m-%d"),
            "period": days["period"],
            "metered, kWh": days["actual_kwh"].round(2),
            "modelled, kWh": days["modelled_kwh"].round(2),
            "metered − modelled, kWh": days["residual_kwh"].round(2),
        }
    )


def _scatter_caption(days: pd.DataFrame) -> str:
    parts = []
    for period, part in days.groupby("period", sort=True):
        typical = float(part["residual_kwh"].abs().median())
        parts.append(f"{period}: half of {wording.counted(len(part), 'day')} lie within {typical:.3g} kWh")
    return f"On the thin line a day is exactly as modelled. {'; '.join(parts)}."


def _residual_caption(days: pd.DataFrame) -> str:
    worst = days.iloc[int(days["residual_kwh"].abs().to_numpy().argmax())]
    day = wording.day_words(worst["day"])
    most = _departure(float(worst["residual_kwh"]))
    return (
        "Marks scattered evenly about zero are what a good model leaves; a line that wanders or steps "
        f"is something the model does not know. The largest departure is {most} on {day}."
    )


def _departure(residual_kwh: float) -> str:
    size = wording.number(abs(residual_kwh), step=wording.step_of(abs(residual_kwh)))
    return f"{size} kWh {'above' if residual_kwh > 0 else 'below'} the model"
