"""A picture of every hour of the record: a row an hour of the clock, a column a day."""

from typing import Any

import numpy as np
import pandas as pd

from mv.base.clock import period_bounds
from mv.base.series import MeterSeries
from mv.base.study_records import Study
from mv.base.verification import Verification
from mv.figures import wording
from mv.figures.canvas import canvas
from mv.figures.days import mark_installation
from mv.figures.fault_marks import STATES, FaultGrid, fault_grid, mark_faults
from mv.figures.hour_grid import HOURS, by_day_and_hour, day_texts, over_skipped_hours
from mv.figures.palette import Scheme, palette, ramp
from mv.figures.screen_time import interval_words
from mv.figures.what_was_read import in_periods, rows_behind
from mv.figures.worded import FigureWithWords, not_drawn


def power_map(meter: MeterSeries, study: Study, *, scheme: Scheme = "light") -> FigureWithWords:
    """Mean power of each hour of the record."""
    title = f"Every hour of the record: {meter.meter}"
    if not meter.energy_kwh.notna().any():
        return not_drawn(title, "No reading of this meter could be used.")
    grid = by_day_and_hour(meter.power_kw, study.site.timezone, "mean")
    figure = _map(over_skipped_hours(grid, study.site.timezone), scheme, _even(ramp(scheme)), unit="kW")
    mark_installation(figure, study, scheme)
    return FigureWithWords(title, _power_caption(grid), _as_table(grid, digits=3), figure)


def site_map(
    verification: Verification, month: str | None = None, *, scheme: Scheme = "light"
) -> FigureWithWords:
    """Mean power of all meters together, each hour of the record or of one month ("YYYY-MM")."""
    title = "Every hour, all meters together"
    zone = verification.study.site.timezone
    grids = [
        by_day_and_hour(power, zone, "mean")
        for power in (_of_month(meter, month, zone) for meter in verification.meters.values())
        if not power.empty
    ]
    total = sum(grids[1:], start=grids[0]) if grids else pd.DataFrame()
    if total.empty or not total.notna().any(axis=None):
        return not_drawn(title, "No hour was read by every meter.")
    figure = _map(over_skipped_hours(total, zone), scheme, _even(ramp(scheme)), unit="kW")
    if month is not None:
        figure.update_xaxes(tickformat="%a<br>%-d")
    return FigureWithWords(title, _power_caption(total), _as_table(total, digits=3), figure)


def _of_month(meter: MeterSeries, month: str | None, timezone: str) -> pd.Series:
    """A meter's mean power, of the whole record or of one month."""
    energy = meter.energy_kwh
    if month is not None:
        named = pd.Period(month, "M")
        start, end = period_bounds(named.start_time, named.end_time, timezone)
        energy = energy.iloc[int(energy.index.searchsorted(start)) : int(energy.index.searchsorted(end))]
    return energy * (60.0 / meter.interval_minutes)


def coverage_map(meter: MeterSeries, study: Study, *, scheme: Scheme = "light") -> FigureWithWords:
    """Which hours of the two periods were read, which are estimated, which miss at least one interval."""
    title = f"What was read, hour by hour: {meter.meter}"
    if meter.energy_kwh.empty:
        return not_drawn(title, "No reading of this meter could be used.")
    states = _states(meter, study)
    grid = by_day_and_hour(states, study.site.timezone, "max")
    colours = palette(scheme)
    drawn = over_skipped_hours(grid, study.site.timezone)
    figure = _map(drawn, scheme, _steps((ramp(scheme)[1], colours.expected, colours.ink)), unit="")
    figure.update_traces(zmin=0, zmax=2, showscale=False, hoverinfo="skip", hovertemplate=None)
    figure.update_layout(margin={"t": 34}, showlegend=True)
    causes = fault_grid(meter, states, study.site.timezone)
    mark_faults(figure, grid, causes, scheme)
    mark_installation(figure, study, scheme)
    table = _states_table(grid, causes)
    caption = f"{_coverage_caption(states, meter)} {causes.sentence()}".strip()
    return FigureWithWords(title, caption, table, figure)


def _states(meter: MeterSeries, study: Study) -> pd.Series:
    """0 read, 1 estimated, 2 missing, for each interval of the two periods; NaN outside them."""
    read = np.where(meter.energy_kwh.isna(), 2.0, np.where(meter.estimated, 1.0, 0.0))
    states = pd.Series(read, index=meter.energy_kwh.index)
    return states.where(in_periods(states.index, study))


def _map(grid: pd.DataFrame, scheme: Scheme, scale: list[list[Any]], *, unit: str) -> Any:
    import plotly.graph_objects as go

    figure = canvas(scheme, height=320, margin={"l": 44, "r": 8, "t": 12, "b": 44})
    figure.add_trace(
        go.Heatmap(
            x=day_texts(grid),
            y=list(HOURS),
            z=grid.to_numpy(dtype=np.float32).T,
            colorscale=scale,
            colorbar={
                "thickness": 10,
                "len": 0.9,
                "outlinewidth": 0,
                "title": {"text": unit, "side": "right"},
            },
            hovertemplate="%{x|%a %d %b %Y} %{y}:00<br>%{z:.3~f} " + unit + "<extra></extra>",
            hoverongaps=False,
        )
    )
    figure.update_xaxes(type="date", tickformat="%b\n%Y")
    ticks = [0, 6, 12, 18]
    figure.update_yaxes(tickvals=ticks, ticktext=[f"{hour:02d}:00" for hour in ticks], showgrid=False)
    return figure


def _even(colours: tuple[str, ...]) -> list[list[Any]]:
    return [[place / (len(colours) - 1), colour] for place, colour in enumerate(colours)]


def _steps(colours: tuple[str, ...]) -> list[list[Any]]:
    share = 1 / len(colours)
    return [[end * share, colour] for n, colour in enumerate(colours) for end in (n, n + 1)]


def _as_table(grid: pd.DataFrame, *, digits: int) -> pd.DataFrame:
    table = grid.round(digits)
    table.columns = [f"{hour:02d}:00, kW" for hour in grid.columns]
    table.insert(0, "day", day_texts(grid))
    return table.reset_index(drop=True)


def _states_table(grid: pd.DataFrame, causes: FaultGrid) -> pd.DataFrame:
    """One row a day that is not wholly read, or on which something befell a reading."""
    counts = {f"hours {name}": (grid == code).sum(axis=1) for code, name in enumerate(STATES)}
    told = {f"hours of {name}": hours.sum(axis=1) for name, hours in causes.hours.items()}
    table = pd.DataFrame({"day": day_texts(grid)}, index=grid.index).assign(**counts, **told)
    partly = table["hours read"] < grid.notna().sum(axis=1)
    befell = sum((hours > 0 for hours in told.values()), start=pd.Series(False, index=grid.index))
    return table[partly | befell].reset_index(drop=True)


def _power_caption(grid: pd.DataFrame) -> str:
    hours = grid.mean()
    high, low = int(hours.to_numpy().argmax()), int(hours.to_numpy().argmin())
    return (
        f"Darker is more power in the light scheme, brighter in the dark one. On average the most is drawn "
        f"from {high:02d}:00 ({hours[high]:.3g} kW), the least from {low:02d}:00 ({hours[low]:.3g} kW). "
        "Blank hours were not read; the hour that the clock skips in spring looks like the one before. "
        "Night and escape-route lighting is required in many places: "
        "ask before anything is switched off."
    )


def _coverage_caption(states: pd.Series, meter: MeterSeries) -> str:
    counts = {name: int((states == code).sum()) for code, name in enumerate(STATES)}
    total = sum(counts.values()) or 1
    shares = {name: wording.per_cent(count / total, places=1) for name, count in counts.items()}
    return (
        f"Of {wording.counted(total, 'interval')} of {interval_words(meter.interval_minutes)} "
        f"in the two periods {counts['missing']:,} are missing ({shares['missing']}) and "
        f"{counts['estimated']:,} are estimated ({shares['estimated']}"
        f"{rows_behind(meter, counts['estimated'])}). An hour shows its worst interval."
    )
