"""What befell the readings, marked hour by hour: each cause has its own mark and its own words."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from mv.base.series import MeterSeries
from mv.figures import wording
from mv.figures.hour_grid import by_day_and_hour, day_texts
from mv.figures.palette import Scheme, palette

MOST_MARKS = 2000  # marks of one cause on a map: enough to fill it; common practice, no source
STATES = ("read", "estimated", "missing")  # 0, 1, 2 in the coverage picture
SYMBOLS = (
    "circle-open",
    "square-open",
    "triangle-up-open",
    "triangle-down-open",
    "star-open",
    "cross-thin-open",
    "hexagon-open",
    "bowtie-open",
    "asterisk-open",
    "hash-open",
    "y-up-open",
    "line-ew-open",
)  # a cause without one of its own takes the first free one; more causes than these share the last
GAP = "gap"


@dataclass(frozen=True)
class FaultGrid:
    """By cause: a boolean grid of local dates (rows) and hours, True where an interval met it."""

    hours: dict[str, pd.DataFrame]

    def sentence(self) -> str:
        """The causes in words, the most frequent first."""
        told = sorted(((int(g.to_numpy().sum()), name) for name, g in self.hours.items()), reverse=True)
        said = [f"{name} in {wording.counted(count, 'hour')}" for count, name in told if count]
        return f"Causes: {'; '.join(said)}." if said else ""


def fault_grid(meter: MeterSeries, states: pd.Series, timezone: str) -> FaultGrid:
    """Each cause by hour, within the periods that `states` covers."""
    if meter.faults is None:
        return FaultGrid({})
    inside = states.notna().to_numpy()
    codes = meter.faults.to_numpy()
    found = {}
    for number, name in enumerate(meter.fault_names, 1):
        where = inside & (codes == number)
        if where.any():
            values = pd.Series(np.where(where, 1.0, 0.0), index=meter.faults.index)
            found[name] = by_day_and_hour(values, timezone, "max") > 0
    return FaultGrid(found)


def mark_faults(figure: Any, grid: pd.DataFrame, causes: FaultGrid, scheme: Scheme) -> None:
    """A mark on every hour that is not wholly read, and one of its own for each cause that is known.

    One hour of many columns would be too thin to see by its colour alone.
    """
    colours = palette(scheme)
    looks = {1: ("diamond-open", colours.expected), 2: ("x-thin-open", colours.ink)}
    for code, (symbol, colour) in looks.items():
        _marks(figure, grid, grid.to_numpy() == code, STATES[code], symbol, colour, size=6)
    symbols = iter(SYMBOLS)
    for name, hours in causes.hours.items():
        if name == GAP:
            continue  # a gap is what "missing" marks
        symbol = next(symbols, SYMBOLS[-1])
        _marks(figure, grid, hours.to_numpy(), name, symbol, colours.attention, size=10)


def _marks(
    figure: Any, grid: pd.DataFrame, where: Any, name: str, symbol: str, colour: str, *, size: int
) -> None:
    import plotly.graph_objects as go

    days, hours = np.nonzero(where)
    every = -(-len(days) // MOST_MARKS) or 1
    figure.add_trace(
        go.Scatter(
            x=np.array(day_texts(grid))[days[::every]],
            y=hours[::every],
            mode="markers",
            name=f"{name}: {wording.counted(len(days), 'hour')}",
            marker={"symbol": symbol, "size": size, "color": colour, "line": {"width": 1.4, "color": colour}},
            hovertemplate=f"%{{x|%a %d %b %Y}} %{{y}}:00 {name}<extra></extra>",
        )
    )
