"""A picture of every hour of the record: a row an hour of the clock, a column a day."""

from typing import Any, Literal

import numpy as np
import pandas as pd

from mv.base.clock import period_bounds
from mv.base.series import MeterSeries
from mv.base.study_records import Study
from mv.base.verification import Verification
from mv.figures import wording
from mv.figures.canvas import canvas
from mv.figures.days import mark_installation
from mv.figures.palette import Scheme, palette, ramp
from mv.figures.screen_time import interval_words
from mv.figures.worded import FigureWithWords, not_drawn

How = Literal["mean", "max", "count"]
HOURS = range(24)
MOST_MARKS = 2000  # marks of one state on a map: enough to fill it; common practice, no source
STATES = ("read", "estimated", "missing")  # 0, 1, 2 in the coverage picture


def by_day_and_hour(values: pd.Series, timezone: str, how: How) -> pd.DataFrame:
    """`values` on UTC stamps gathered by local date (rows) and clock hour (columns 0 to 23).

    An hour that the wall clock skips stays empty; one that it shows twice gathers both passes, so
    that a mean stays a mean. Hours without a value are empty, but for a count, which is 0.
    """
    local = pd.DatetimeIndex(values.index).tz_convert(timezone).tz_localize(None)
    first = local.min().normalize()
    days = (local.max().normalize() - first).days + 1
    hours = ((local - first) // pd.Timedelta(hours=1)).to_numpy(dtype=np.int64)
    gathered = _gathered(values.to_numpy(dtype=np.float64), hours, days * 24, how).reshape(days, 24)
    return pd.DataFrame(gathered, index=pd.date_range(first, periods=days, freq="D"), columns=list(HOURS))


def _gathered(values: Any, places: Any, size: int, how: How) -> Any:
    """The mean, highest or number of the finite values at each place."""
    finite = np.isfinite(values)
    values, places = values[finite], places[finite]
    count = np.bincount(places, minlength=size).astype(np.float64)
    if how == "count":
        return count
    if how == "max":
        highest = np.full(size, -np.inf)
        np.maximum.at(highest, places, values)
        return np.where(count > 0, highest, np.nan)
    total = np.bincount(places, weights=values, minlength=size)
    return np.divide(total, count, out=np.full(size, np.nan), where=count > 0)


def power_map(meter: MeterSeries, study: Study, *, scheme: Scheme = "light") -> FigureWithWords:
    """Mean power of each hour of the record."""
    title = f"Every hour of the record: {meter.meter}"
    if not meter.energy_kwh.notna().any():
        return not_drawn(title, "No reading of this meter could be used.")
    grid = by_day_and_hour(meter.power_kw, study.site.timezone, "mean")
    figure = _map(grid, scheme, _even(ramp(scheme)), unit="kW")
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
    figure = _map(total, scheme, _even(ramp(scheme)), unit="kW")
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
    figure = _map(grid, scheme, _steps((ramp(scheme)[1], colours.expected, colours.ink)), unit="")
    figure.update_traces(zmin=0, zmax=2, showscale=False, hoverinfo="skip", hovertemplate=None)
    figure.update_layout(margin={"t": 34}, showlegend=True)
    _mark_faults(figure, grid, scheme)
    mark_installation(figure, study, scheme)
    return FigureWithWords(title, _coverage_caption(states, meter), _states_table(grid), figure)


def _states(meter: MeterSeries, study: Study) -> pd.Series:
    """0 read, 1 estimated, 2 missing, for each interval of the two periods; NaN outside them."""
    read = np.where(meter.energy_kwh.isna(), 2.0, np.where(meter.estimated, 1.0, 0.0))
    states = pd.Series(read, index=meter.energy_kwh.index)
    if study.periods is None:
        return states
    inside = np.zeros(len(states), dtype=bool)
    for span in (study.periods.baseline, study.periods.reporting):
        start, end = period_bounds(span.first, span.last, study.site.timezone)
        inside |= (states.index >= start) & (states.index < end)
    return states.where(inside)


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


def _mark_faults(figure: Any, grid: pd.DataFrame, scheme: Scheme) -> None:
    """A mark on every hour that is not wholly read: one column of many would be too thin to see."""
    import plotly.graph_objects as go

    colours = palette(scheme)
    looks = {1: ("diamond-open", colours.expected), 2: ("x-thin-open", colours.ink)}
    for code, (symbol, colour) in looks.items():
        days, hours = np.nonzero(grid.to_numpy() == code)
        every = -(-len(days) // MOST_MARKS) or 1
        figure.add_trace(
            go.Scatter(
                x=np.array(day_texts(grid))[days[::every]],
                y=hours[::every],
                mode="markers",
                name=f"{STATES[code]}: {wording.counted(len(days), 'hour')}",
                marker={
                    "symbol": symbol,
                    "size": 6,
                    "color": colour,
                    "line": {"width": 1.4, "color": colour},
                },
                hovertemplate=f"%{{x|%a %d %b %Y}} %{{y}}:00 {STATES[code]}<extra></extra>",
            )
        )


def day_texts(grid: pd.DataFrame) -> list[str]:
    """The rows' days as short texts for a date axis."""
    return [str(text) for text in pd.DatetimeIndex(grid.index).strftime("%Y-%m-%d")]


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


def _states_table(grid: pd.DataFrame) -> pd.DataFrame:
    """One row a day that is not wholly read."""
    counts = {f"hours {name}": (grid == code).sum(axis=1) for code, name in enumerate(STATES)}
    table = pd.DataFrame({"day": day_texts(grid)}, index=grid.index).assign(**counts)
    return table[table["hours read"] < grid.notna().sum(axis=1)].reset_index(drop=True)


def _power_caption(grid: pd.DataFrame) -> str:
    hours = grid.mean()
    high, low = int(hours.to_numpy().argmax()), int(hours.to_numpy().argmin())
    return (
        f"Darker is more power in the light scheme, brighter in the dark one. On average the most is drawn "
        f"from {high:02d}:00 ({hours[high]:.3g} kW), the least from {low:02d}:00 ({hours[low]:.3g} kW). "
        "Blank hours were not read. Night and escape-route lighting is required in many places: "
        "ask before anything is switched off."
    )


def _coverage_caption(states: pd.Series, meter: MeterSeries) -> str:
    counts = {name: int((states == code).sum()) for code, name in enumerate(STATES)}
    total = sum(counts.values()) or 1
    shares = {name: wording.per_cent(count / total, places=1) for name, count in counts.items()}
    return (
        f"Of {wording.counted(total, 'interval')} of {interval_words(meter.interval_minutes)} "
        f"in the two periods {counts['missing']:,} are missing ({shares['missing']}) and "
        f"{counts['estimated']:,} are estimated ({shares['estimated']}). An hour shows its worst interval."
    )
