"""Day by day: metered energy against what the baseline model expects."""

from typing import Any

import pandas as pd

from mv.base.study_records import Study
from mv.base.verification import Verification
from mv.figures import wording
from mv.figures.canvas import canvas, shade_span
from mv.figures.palette import MARKS, Scheme, palette
from mv.figures.worded import FigureWithWords, not_drawn

MEAN_DAYS = 7  # a whole week, so that weekdays cancel


def days_of(verification: Verification, meter: str | None = None) -> pd.DataFrame:
    """The daily record of one meter, or of all meters together, indexed by day.

    A day on which any of the meters is missing has no total: it stays empty, never a part-sum.
    """
    daily = verification.daily
    if meter is not None:
        return _every_day(daily[daily["meter"] == meter].set_index("day"))
    energies = ["actual_kwh", "expected_kwh", "reporting_model_kwh"]
    grouped = daily.groupby("day", sort=True)
    together = grouped[energies].sum(skipna=False)
    together["period"] = grouped["period"].first()
    together["in_fit"] = grouped["in_fit"].all()
    return _every_day(together.where(grouped.size() == daily["meter"].nunique()))


def _every_day(days: pd.DataFrame) -> pd.DataFrame:
    """The calendar without holes: a day that is not in the record stands there empty."""
    return days.reindex(pd.date_range(days.index.min(), days.index.max(), freq="D", name="day"))


def daily_energy(
    verification: Verification, meter: str | None = None, *, scheme: Scheme = "light"
) -> FigureWithWords:
    """The whole record a day at a time; the shaded part is the installation."""
    whose = meter or "all meters together"
    title = f"Each day against the expectation: {whose}"
    days = days_of(verification, meter)
    if days.empty or not days["actual_kwh"].notna().any():
        return not_drawn(title, "No whole day was metered.")
    table = days[["period", "actual_kwh", "expected_kwh", "in_fit"]].reset_index()
    table = table[table["period"].notna()].reset_index(drop=True)
    table["day"] = table["day"].dt.strftime("%Y-%m-%d")
    table = table.rename(
        columns={"actual_kwh": "metered, kWh", "expected_kwh": "expected, kWh", "in_fit": "used in the fit"}
    ).round({"metered, kWh": 2, "expected, kWh": 2})
    return FigureWithWords(title, _caption(days), table, _figure(verification, days, scheme))


def _figure(verification: Verification, days: pd.DataFrame, scheme: Scheme) -> Any:
    import plotly.graph_objects as go

    colours = palette(scheme)
    figure = canvas(scheme, height=380, hovermode="x unified")
    stamps = pd.DatetimeIndex(days.index).strftime("%Y-%m-%d")
    weekly = days[["actual_kwh", "expected_kwh"]].rolling(MEAN_DAYS, center=True).mean().round(2)
    lines = (
        ("expected_kwh", f"expected without the retrofit, {MEAN_DAYS}-day mean", colours.expected, "dash"),
        ("actual_kwh", f"metered, {MEAN_DAYS}-day mean", colours.metered, "solid"),
    )
    figure.add_trace(
        go.Scatter(
            x=stamps,
            y=days["actual_kwh"].round(2),
            name="metered, each day",
            mode="markers",
            marker={"color": colours.metered, "size": 3.2, "opacity": 0.5},
            hovertemplate="%{y:,.0f} kWh",
        )
    )
    for column, name, colour, dash in lines:
        line = {"color": colour, "width": 2.2, "dash": dash}
        figure.add_trace(
            go.Scatter(
                x=stamps, y=weekly[column], name=name, mode="lines", line=line, hovertemplate="%{y:,.0f} kWh"
            )
        )
    aside = days[(days["in_fit"] == False) & (days["period"] != "installation")]  # noqa: E712
    if aside["actual_kwh"].notna().any():
        figure.add_trace(
            go.Scatter(
                x=pd.DatetimeIndex(aside.index).strftime("%Y-%m-%d"),
                y=aside["actual_kwh"].round(2),
                name="kept out of the fit",
                mode="markers",
                marker={
                    "symbol": MARKS["set aside"],
                    "size": 6,
                    "color": colours.attention,
                    "line": {"width": 1.4, "color": colours.attention},
                },
                hoverinfo="skip",
            )
        )
    mark_installation(figure, verification.study, scheme)
    figure.update_xaxes(type="date", tickformat="%b\n%Y")
    figure.update_yaxes(title="kWh a day", rangemode="tozero")
    return figure


def mark_installation(figure: Any, study: Study, scheme: Scheme) -> None:
    """Shade what lies between the two periods."""
    periods = study.periods
    if periods is None:
        return
    first = pd.Timestamp(periods.baseline.last) + pd.Timedelta(days=1)
    last = pd.Timestamp(periods.reporting.first)
    if last > first:
        shade_span(figure, first, last, "installation", palette(scheme))


def _caption(days: pd.DataFrame) -> str:
    metered = days["actual_kwh"].notna()
    reporting = days[(days["period"] == "reporting") & metered & days["expected_kwh"].notna()]
    if reporting.empty:
        whole = wording.counted(int(metered.sum()), "whole day")
        return f"{whole} metered."
    below = int((reporting["actual_kwh"] < reporting["expected_kwh"]).sum())
    missing = int((~metered & days["period"].isin(["baseline", "reporting"])).sum())
    text = (
        f"On {below:,} of {wording.counted(len(reporting), 'reporting day')} less was metered than expected."
    )
    if missing:
        text += f" {wording.counted(missing, 'day')} without a whole record: the mean over them is left out."
    return text
