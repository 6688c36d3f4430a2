"""The typical week and the typical day, before and after."""

from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd

from mv.base.clock import period_bounds
from mv.base.series import MeterSeries
from mv.base.study_records import Span, Study
from mv.figures import wording
from mv.figures.canvas import canvas
from mv.figures.hour_grid import by_day_and_hour
from mv.figures.palette import Scheme, palette
from mv.figures.worded import FigureWithWords, not_drawn

DAY_NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
KINDS = ("Monday to Friday", "Saturday", "Sunday and holidays")


def typical_week(meter: MeterSeries, study: Study, *, scheme: Scheme = "light") -> FigureWithWords:
    """Mean power at each hour of the week, baseline against reporting."""
    title = f"Typical week before and after: {meter.meter}"
    table = week_table(meter, study)
    if table.empty:
        return not_drawn(title, "At least one of the two periods has no reading of this meter.")
    figure = canvas(scheme, height=340, hovermode="x unified")
    draw_pair(figure, list(range(len(table))), table, scheme, labels=list(table["hour of week"]))
    figure.update_xaxes(tickvals=[12 + 24 * day for day in range(7)], ticktext=DAY_NAMES)
    figure.update_yaxes(title="mean kW", rangemode="tozero")
    return FigureWithWords(title, _caption(table), table, figure)


def week_table(meter: MeterSeries, study: Study) -> pd.DataFrame:
    """168 rows: mean power of each hour of the local week in both periods, each day counting alike."""
    both = _both_periods(meter, study)
    if both is None:
        return pd.DataFrame()
    names = [f"{DAY_NAMES[hour // 24]} {hour % 24:02d}:00" for hour in range(168)]
    before, after = (_by_kind(hours, pd.DatetimeIndex(hours.index).day_of_week, 7) for hours in both)
    return pd.DataFrame({"hour of week": names, "before, kW": before, "after, kW": after})


def typical_day(meter: MeterSeries, study: Study, *, scheme: Scheme = "light") -> FigureWithWords:
    """Mean power at each hour of three kinds of day, baseline against reporting."""
    title = f"Typical days before and after: {meter.meter}"
    table = day_table(meter, study)
    if table.empty:
        return not_drawn(title, "At least one of the two periods has no reading of this meter.")
    figure = canvas(scheme, height=340, hovermode="x")
    labels = [f"{kind}, {hour}" for kind, hour in zip(table["kind of day"], table["hour"], strict=True)]
    draw_pair(figure, with_gaps(len(table)), table, scheme, labels=labels)
    figure.update_xaxes(
        tickvals=[11.5 + 27 * n for n in range(3)], ticktext=["Mon–Fri", "Sat", "Sun, holidays"]
    )
    figure.update_yaxes(title="mean kW", rangemode="tozero")
    return FigureWithWords(title, _caption(table), table, figure)


def day_table(meter: MeterSeries, study: Study) -> pd.DataFrame:
    """72 rows: mean power at each clock hour of the three kinds of day in both periods."""
    both = _both_periods(meter, study)
    if both is None:
        return pd.DataFrame()
    before, after = (_by_kind(hours, _kinds(hours, study), len(KINDS)) for hours in both)
    kinds = [KINDS[place // 24] for place in range(72)]
    clock = [f"{place % 24:02d}:00" for place in range(72)]
    return pd.DataFrame({"kind of day": kinds, "hour": clock, "before, kW": before, "after, kW": after})


def _both_periods(meter: MeterSeries, study: Study) -> tuple[pd.DataFrame, pd.DataFrame] | None:
    """Mean power by day and hour of the baseline and of the reporting period."""
    if study.periods is None:
        return None
    spans = (study.periods.baseline, study.periods.reporting)
    parts = [_within(meter.power_kw, span, study) for span in spans]
    if not all(part.notna().any() for part in parts):
        return None
    before, after = (by_day_and_hour(part, study.site.timezone, "mean") for part in parts)
    return before, after


def _within(power: pd.Series, span: Span, study: Study) -> pd.Series:
    start, end = period_bounds(span.first, span.last, study.site.timezone)
    return power.iloc[int(power.index.searchsorted(start)) : int(power.index.searchsorted(end))]


def _by_kind(hours: pd.DataFrame, kinds: Any, count: int) -> Any:
    """The mean of each hour over the days of each kind, kind after kind, 24 values each."""
    return hours.groupby(kinds).mean().reindex(range(count)).round(3).to_numpy().ravel()


def _kinds(hours: pd.DataFrame, study: Study) -> Any:
    """0 Monday to Friday, 1 Saturday, 2 Sunday or a day the study counts as closed."""
    days = pd.DatetimeIndex(hours.index)
    closed = days.isin(pd.DatetimeIndex(list(study.occupancy.holidays)))
    kinds = np.where(days.day_of_week == 5, 1, 0)
    return np.where((days.day_of_week == 6) | closed, 2, kinds)


def with_gaps(count: int) -> list[float]:
    """Places on the axis with three hours of air between the kinds of day."""
    return [place + 3 * (place // 24) for place in range(count)]


def draw_pair(
    figure: Any,
    places: list[Any],
    table: pd.DataFrame,
    scheme: Scheme,
    *,
    labels: list[str],
    names: tuple[str, str] = ("before", "after"),
) -> None:
    """Two lines of mean power, the earlier dashed; the columns are the names with their unit."""
    import plotly.graph_objects as go

    colours = palette(scheme)
    looks = ((colours.expected, "dash"), (colours.metered, "solid"))
    for name, (colour, dash) in zip(names, looks, strict=True):
        column = f"{name}, kW"
        for number, (xs, ys, texts) in enumerate(_pieces(places, list(table[column]), labels)):
            figure.add_trace(
                go.Scatter(
                    x=xs,
                    y=ys,
                    text=texts,
                    name=name,
                    legendgroup=name,
                    showlegend=number == 0,
                    mode="lines",
                    line={"color": colour, "dash": dash, "width": 2},
                    hovertemplate="%{text}: %{y:.3~f} kW",
                )
            )


def _pieces(places: list[Any], values: list[Any], labels: list[str]) -> list[tuple[Any, Any, Any]]:
    """The line cut wherever the axis jumps, so that no day runs into the next kind of day."""
    cuts = [0, *(n for n in range(1, len(places)) if places[n] - places[n - 1] > 1), len(places)]
    return [(places[a:b], values[a:b], labels[a:b]) for a, b in pairwise(cuts)]


def _caption(table: pd.DataFrame) -> str:
    before, after = table["before, kW"], table["after, kW"]
    change = after.mean() / before.mean() - 1 if before.mean() else 0.0
    direction = "less" if change < 0 else "more"
    peak = f"the highest hour goes from {before.max():.3g} to {after.max():.3g} kW"
    floor = f"the lowest from {before.min():.3g} to {after.min():.3g} kW"
    return (
        "Mean power, hour by hour, of all days read. The reporting period draws "
        f"{wording.per_cent(abs(change))} {direction} in such a week; "
        f"{peak}, {floor}. Not adjusted for daylight, occupancy or season."
    )
