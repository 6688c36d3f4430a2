"""The readings themselves, thinned to what a screen can show and re-cut for any window."""

from typing import Any

import numpy as np
import pandas as pd

from mv.base.series import MeterSeries
from mv.base.study_records import Study
from mv.figures import wording
from mv.figures.canvas import canvas
from mv.figures.palette import MARKS, Scheme, palette
from mv.figures.screen_time import clock_changes, drawing_times, interval_words, wall_clock
from mv.figures.thinning import TARGET_POINTS, Thinned, thinned
from mv.figures.what_was_read import in_periods, rows_behind
from mv.figures.worded import FigureWithWords, not_drawn


def readings(
    meter: MeterSeries,
    study: Study,
    *,
    start: pd.Timestamp | None = None,
    end: pd.Timestamp | None = None,
    scheme: Scheme = "light",
    target_points: int = TARGET_POINTS,
) -> FigureWithWords:
    """Mean power of each interval in the half-open UTC window, whole record by default.

    Where there are more readings than `target_points`, each bucket's lowest and highest are drawn
    and the caption says so. The line breaks at every missing reading; the caption counts those of the
    two periods.
    """
    timezone = study.site.timezone
    title = f"Readings: {meter.meter}"
    power = _window(meter.power_kw, start, end)
    if not power.notna().any():
        return not_drawn(title, "No reading could be used in this window.")
    values = power.to_numpy(dtype=np.float64)
    kept = thinned(values, target_points=target_points)
    index = pd.DatetimeIndex(power.index)
    figure = _figure(index, values, kept, timezone, scheme)
    guessed = _window(meter.estimated, start, end).to_numpy(dtype=bool) & np.isfinite(values)
    _mark_estimated(figure, index, values, guessed, timezone, scheme, target_points)
    caption = _caption(index, values, kept, meter, guessed, study)
    return FigureWithWords(title, caption, _table(index, values, guessed, kept, timezone), figure)


def _window(series: pd.Series, start: pd.Timestamp | None, end: pd.Timestamp | None) -> pd.Series:
    first = 0 if start is None else series.index.searchsorted(start)
    last = len(series) if end is None else series.index.searchsorted(end)
    return series.iloc[int(first) : int(last)]


def _figure(index: pd.DatetimeIndex, values: Any, kept: Thinned, timezone: str, scheme: Scheme) -> Any:
    import plotly.graph_objects as go

    colours = palette(scheme)
    times = drawing_times(index, timezone)[kept.positions]
    # one empty point after each break, at the time of the point before it
    places = np.repeat(np.arange(len(kept.positions)), 1 + kept.breaks_after)
    second = np.concatenate([[False], places[1:] == places[:-1]])
    ys = np.where(second, np.nan, values[kept.positions][places])
    labels = np.array(wall_clock(index[kept.positions], timezone))[places]
    figure = canvas(scheme, height=360, showlegend=True)
    figure.add_trace(
        go.Scatter(
            x=times[places],
            y=ys.round(4),
            mode="lines",
            name="metered",
            text=labels,
            connectgaps=False,
            line={"color": colours.metered, "width": 1.3, "shape": "linear"},
            hovertemplate="%{text}<br>%{y:.4~f} kW<extra></extra>",
        )
    )
    figure.update_layout(dragmode="zoom", xaxis={"tickformatstops": _ticks()})
    figure.update_yaxes(title="mean kW of the interval", fixedrange=True)
    return figure


def _ticks() -> list[dict[str, Any]]:
    hour, day, month = 3_600_000, 86_400_000, "M1"
    return [
        {"dtickrange": [None, day - 1], "value": "%H:%M\n%a %d %b"},
        {"dtickrange": [hour, day], "value": "%H:%M\n%a %d %b"},
        {"dtickrange": [day, month], "value": "%d %b\n%Y"},
        {"dtickrange": [month, None], "value": "%b\n%Y"},
    ]


def _mark_estimated(
    figure: Any, index: Any, values: Any, guessed: Any, timezone: str, scheme: Scheme, target: int
) -> None:
    import plotly.graph_objects as go

    if not guessed.any():
        return
    kept = thinned(np.where(guessed, values, np.nan), target_points=target)
    figure.add_trace(
        go.Scatter(
            x=drawing_times(index, timezone)[kept.positions],
            y=values[kept.positions].round(4),
            mode="markers",
            name="estimated",
            hoverinfo="skip",
            marker={
                "symbol": MARKS["set aside"],
                "size": 6,
                "color": palette(scheme).attention,
                "line": {"width": 1.4, "color": palette(scheme).attention},
            },
        )
    )


def _caption(
    index: pd.DatetimeIndex, values: Any, kept: Thinned, meter: MeterSeries, guessed: Any, study: Study
) -> str:
    read = int(np.isfinite(values).sum())
    text = f"{wording.counted(read, 'reading')} of {interval_words(meter.interval_minutes)}"
    if kept.per_bucket > 1:
        text += (
            f", thinned to {len(kept.positions):,}: of every {kept.per_bucket} the lowest and the highest. "
            "A shorter window shows every reading"
        )
    missing = ~np.isfinite(values)
    inside = int((missing & in_periods(index, study)).sum())
    text += f". {wording.counted(inside, 'interval is', 'intervals are')} missing; there the line breaks."
    if inside < missing.sum():
        text += " It is blank outside the two periods too, as during the installation."
    if guessed.any():
        count, whole = int(guessed.sum()), len(values) == len(meter.energy_kwh)
        behind = rows_behind(meter, count) if whole else ""
        text += f" {wording.counted(count, 'interval is', 'intervals are')} estimated (crosses{behind})."
    return " ".join([text, *clock_changes(index[0], index[-1], study.site.timezone)])


def _table(index: Any, values: Any, guessed: Any, kept: Thinned, timezone: str) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "clock at the site": wall_clock(index[kept.positions], timezone),
            "UTC": index[kept.positions].strftime("%Y-%m-%d %H:%M"),
            "mean kW": values[kept.positions].round(4),
            "estimated": np.where(guessed[kept.positions], "yes", ""),
        }
    )
