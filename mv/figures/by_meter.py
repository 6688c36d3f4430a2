"""Each meter's saving with its interval, on one rule."""

from typing import Any

import pandas as pd

from mv.figures import wording
from mv.figures.canvas import canvas, error_bars, literal
from mv.figures.palette import MARKS, Scheme, palette
from mv.figures.result_parts import Result, estimate, part, rows
from mv.figures.worded import FigureWithWords, not_drawn


def meter_savings(result: Result, *, scheme: Scheme = "light") -> FigureWithWords:
    """Expected without the retrofit, metered, and avoided with its interval, meter by meter."""
    title = "What each meter avoided in the reporting period"
    known = _known(result)
    if not known:
        return not_drawn(title, "No meter's avoided energy can be given.")
    frame = pd.DataFrame(
        {
            "meter": list(known),
            "avoided, kWh": [row["estimate"] for row in known.values()],
            "low end, kWh": [row.get("low") for row in known.values()],
            "high end, kWh": [row.get("high") for row in known.values()],
        }
    ).round(1)
    return FigureWithWords(title, _caption(frame, result), frame, _figure(known, scheme))


def meter_savings_px(meters: int) -> int:
    """The height of the drawing of so many meters."""
    return 90 + 34 * meters


def _known(result: Result) -> dict[str, Any]:
    """Meters whose avoided energy is given, the largest first."""
    by_meter = part(result, "savings", "by_meter") or {}
    told = {str(name): estimate(entry or {}, "avoided_kwh") for name, entry in by_meter.items()}
    given = {name: entry for name, entry in told.items() if entry is not None}
    return dict(sorted(given.items(), key=lambda pair: -float(pair[1]["estimate"])))


def _figure(known: dict[str, Any], scheme: Scheme) -> Any:
    import plotly.graph_objects as go

    colours = palette(scheme)
    height = meter_savings_px(len(known))
    figure = canvas(scheme, height=height, showlegend=False, margin={"l": 12, "r": 16, "t": 8, "b": 44})
    places = list(range(len(known)))
    figure.add_trace(
        go.Scatter(
            x=[row["estimate"] for row in known.values()],
            y=places,
            mode="markers",
            marker={"symbol": MARKS["metered"], "size": 9, "color": colours.metered},
            error_x=error_bars(list(known.values()), colour=colours.metered, axis="x"),
            text=[wording.with_interval(row, "kWh") for row in known.values()],
            hovertemplate="%{text}<extra></extra>",
        )
    )
    figure.add_vline(x=0, line_color=colours.muted, line_width=1)
    names = [literal(name) for name in known]
    figure.update_yaxes(tickvals=places, ticktext=names, range=[len(known) - 0.5, -0.5])
    figure.update_xaxes(title="kWh avoided", showgrid=True, gridcolor=colours.rule)
    return figure


def _caption(frame: pd.DataFrame, result: Result) -> str:
    clear = frame[frame["low end, kWh"] > 0]
    text = (
        f"For {len(clear)} of {wording.counted(len(frame), 'meter')} the whole interval lies above zero. "
        f"Most was avoided at {frame['meter'].iloc[0]} ({wording.number(frame['avoided, kWh'].iloc[0])} kWh)."
    )
    missing = len(rows(result, "cleaning")) - len(frame)
    return f"{text} {wording.counted(missing, 'meter')} cannot be given." if missing > 0 else text
