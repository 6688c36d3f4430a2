"""The empty figure that every other begins from: fonts, grid, margins, no inherited template."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from mv.figures.palette import Palette, Scheme, palette, veiled


def canvas(scheme: Scheme, *, height: int = 340, **layout: Any) -> Any:
    """A figure without data, in the colours of `scheme`; `layout` adds to the common layout."""
    import plotly.graph_objects as go

    colours = palette(scheme)
    axis = _axis(colours)
    style = {
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"family": "system-ui, sans-serif", "size": 12.5, "color": colours.ink},
        "legend": {"orientation": "h", "x": 0, "y": 1.02, "yanchor": "bottom", "font": {"size": 12}},
        "hoverlabel": {
            "bgcolor": colours.sheet,
            "bordercolor": colours.muted,
            "font": {"color": colours.ink, "size": 12.5},
            "align": "left",
        },
        "xaxis": axis | {"showgrid": False},
        "yaxis": axis | {"gridcolor": colours.rule},
    }
    base = {"height": height, "margin": {"l": 58, "r": 14, "t": 36, "b": 44}, "dragmode": False}
    template = go.layout.Template(layout=style)
    return go.Figure(layout={"template": template} | base | layout)


def stack_panels(figure: Any, *, upper_share: float, gap: float = 0.09) -> None:
    """Two panels over one time axis: `xaxis/yaxis` above, `xaxis2/yaxis2` below."""
    edge = 1.0 - upper_share
    figure.update_layout(
        xaxis={"anchor": "y", "showticklabels": False, "matches": "x2"},
        yaxis={"domain": [edge + gap / 2, 1.0]},
        xaxis2={"anchor": "y2"},
        yaxis2={"domain": [0.0, edge - gap / 2], "anchor": "x2"},
    )


def _axis(colours: Palette) -> dict[str, Any]:
    return {
        "linecolor": colours.muted,
        "tickcolor": colours.rule,
        "zeroline": False,
        "automargin": True,
        "separatethousands": True,
        "exponentformat": "none",
        "title": {"font": {"color": colours.muted, "size": 12}},
        "tickfont": {"color": colours.muted, "size": 12},
    }


def shade_span(figure: Any, first: object, last: object, label: str, colours: Palette) -> None:
    """A faint band over part of the time axis, named at its top."""
    figure.add_vrect(
        x0=first,
        x1=last,
        fillcolor=veiled(colours.faint, 0.18),
        line_width=0,
        layer="below",
        annotation={"text": label, "font": {"size": 11, "color": colours.muted}, "yanchor": "top"},
        annotation_position="top left",
    )


def mark_day(figure: Any, day: date, colour: str) -> None:
    """An upright line at the day on which something changed, with a triangle at its top."""
    line = {"color": colour, "width": 1.6, "dash": "longdash"}
    figure.add_shape(type="line", x0=str(day), x1=str(day), y0=0, y1=1, yref="paper", line=line)
    figure.add_annotation(
        x=str(day),
        y=1,
        yref="paper",
        text="▲",
        showarrow=False,
        font={"color": colour, "size": 11},
        xanchor="center",
        yanchor="bottom",
    )


def error_bars(estimates: Sequence[dict[str, Any] | Any], *, colour: str, axis: str = "y") -> dict[str, Any]:
    """Unequal error bars from estimate records, for `error_y` or `error_x`; zero where no interval."""
    above = [_reach(entry, "high") for entry in estimates]
    below = [_reach(entry, "low") for entry in estimates]
    return {
        "type": "data",
        "symmetric": False,
        "array": above,
        "arrayminus": below,
        "color": colour,
        "thickness": 1.6,
        "width": 5 if axis == "y" else 6,
    }


def literal(text: str) -> str:
    """Text from a file or a study, so that a figure shows its angle brackets and obeys none."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _reach(entry: Any, end: str) -> float:
    if not entry or entry.get(end) is None or entry.get("estimate") is None:
        return 0.0
    return float(abs(entry[end] - entry["estimate"]))
