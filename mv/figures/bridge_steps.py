"""From one total to another in named steps, drawn as a staircase of lying bars."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from mv.figures import wording
from mv.figures.canvas import canvas, error_bars, literal
from mv.figures.palette import Scheme, palette
from mv.figures.result_parts import Result, estimate, part, rows, why_not
from mv.figures.worded import FigureWithWords, not_drawn

WORDS = {
    "predicted_to_verified": ("From the promise to what is verified", "promised", "verified"),
    "baseline_to_reporting": ("What each change avoided", "baseline", "avoided"),
}
TOLERANCE = 1e-3  # of the larger total: below it two totals are the same number, rounding apart


@dataclass(frozen=True)
class Stair:
    """One bar: a total from nothing, or a step from where the last one ended."""

    name: str
    kwh: float
    start: float
    estimate: Any
    why: str
    is_total: bool
    note: str = ""

    @property
    def end(self) -> float:
        """Where the bar ends, kWh."""
        return self.start + self.kwh


def bridge(result: Result, which: str, *, scheme: Scheme = "light") -> FigureWithWords:
    """One of the result's bridges; `which` is a key of WORDS."""
    title, first_name, last_name = WORDS[which]
    told = rows(result, "bridge", which)
    steps = [step for step in told if estimate(step, "kwh")]
    if not steps:
        return not_drawn(title, why_not(result, "bridge") or "The result holds no such bridge.")
    start, end = _ends(result, which)
    stairs = staircase(steps, start=start, end=end, first_name=first_name, last_name=last_name)
    untold = [step for step in told if not estimate(step, "kwh")]
    table = pd.concat([_table(stairs), _untold(untold)], ignore_index=True) if untold else _table(stairs)
    return FigureWithWords(title, _caption(stairs, untold), table, _figure(stairs, scheme))


def _ends(result: Result, which: str) -> tuple[float | None, float | None]:
    if which != "predicted_to_verified":
        return None, None
    verified = estimate(result, "savings", "normalised_annual_kwh")
    return part(result, "predicted", "annual_kwh"), None if verified is None else verified["estimate"]


def staircase(
    steps: Sequence[Any], *, start: float | None, end: float | None, first_name: str, last_name: str
) -> list[Stair]:
    """Bars whose ends meet. A start is put before steps that are differences from it.

    Steps that already begin with the start (their sum is the end, not the difference) get none.
    A last bar, the total, stands from nothing.
    """
    total = math.fsum(float(step["kwh"]["estimate"]) for step in steps)
    differences = (
        start is not None and end is not None and _same(total, end - start) and not _same(total, end)
    )
    stairs = [Stair(first_name, start, 0.0, None, "", True)] if differences and start is not None else []
    level = stairs[0].kwh if stairs else 0.0
    for step in steps:
        kwh = float(step["kwh"]["estimate"])
        opening = not stairs and str(step["step"]).lower() == first_name
        why, note = (str(step.get(key) or "") for key in ("why", "note"))
        stairs.append(Stair(str(step["step"]), kwh, level, step["kwh"], why, opening, note))
        level += kwh
    if not (len(stairs) > 1 and stairs[-1].name.lower() == last_name):
        stairs.append(Stair(last_name, level, 0.0, None, "the steps above, added up", True))
    return stairs


def _same(one: float, other: float) -> bool:
    return abs(one - other) <= TOLERANCE * max(abs(one), abs(other), 1.0)


def _figure(stairs: list[Stair], scheme: Scheme) -> Any:
    import plotly.graph_objects as go

    colours = palette(scheme)
    figure = canvas(
        scheme,
        height=70 + 44 * len(stairs),
        showlegend=False,
        bargap=0.4,
        margin={"l": 12, "r": 60, "t": 8, "b": 44},
    )
    fills = [_fill(stair, colours) for stair in stairs]
    figure.add_trace(
        go.Bar(
            y=list(range(len(stairs))),
            x=[stair.kwh for stair in stairs],
            base=[stair.start for stair in stairs],
            orientation="h",
            marker={
                "color": [fill[0] for fill in fills],
                "pattern": {
                    "shape": [fill[1] for fill in fills],
                    "fgcolor": colours.sheet,
                    "size": 7,
                    "solidity": 0.35,
                },
            },
            text=[_signed(stair) for stair in stairs],
            textposition="outside",
            cliponaxis=False,
            textfont={"color": colours.ink},
            customdata=[_folded(literal(stair.note or stair.why), width=60) for stair in stairs],
            hovertemplate="%{text} kWh<br>%{customdata}<extra></extra>",
        )
    )
    _reaches(figure, stairs, colours.ink)
    names = [_folded(literal(stair.name)) for stair in stairs]
    figure.update_yaxes(
        tickvals=list(range(len(stairs))), ticktext=names, autorange="reversed", showgrid=False
    )
    figure.update_xaxes(title="kWh", showgrid=True, gridcolor=colours.rule, nticks=4, tickangle=0)
    return figure


def _reaches(figure: Any, stairs: list[Stair], colour: str) -> None:
    """The interval of each step, about the bar's end and a little below it."""
    import plotly.graph_objects as go

    known = [(place, stair) for place, stair in enumerate(stairs) if stair.estimate and not stair.is_total]
    figure.add_trace(
        go.Scatter(
            x=[stair.end for _, stair in known],
            y=[place + 0.27 for place, _ in known],
            mode="markers",
            marker={"size": 1, "color": colour},
            hoverinfo="skip",
            error_x=error_bars([stair.estimate for _, stair in known], colour=colour, axis="x"),
        )
    )


def _fill(stair: Stair, colours: Any) -> tuple[str, str]:
    if stair.is_total:
        return colours.metered, ""
    return (colours.saved, "") if stair.kwh >= 0 else (colours.expected, "/")


def _signed(stair: Stair) -> str:
    sign = "+" if stair.kwh >= 0.5 and not stair.is_total else ""
    return sign + wording.number(stair.kwh)


def _folded(name: str, *, width: int = 22) -> str:
    """A long name on several lines."""
    lines = [""]
    for word in name.split():
        joint = f"{lines[-1]} {word}".strip()
        lines[-1:] = [joint] if len(joint) <= width else [lines[-1], word]
    return "<br>".join(line for line in lines if line)


def _caption(stairs: list[Stair], untold: Sequence[Any]) -> str:
    steps = [stair for stair in stairs if not stair.is_total]
    totals = [
        f"{_capital(stair.name)}: {wording.number(stair.kwh)} kWh" for stair in stairs if stair.is_total
    ]
    text = "; ".join(totals) + "."
    if steps:
        largest = max(steps, key=lambda stair: abs(stair.kwh))
        text += f" The largest step is “{largest.name}” ({_signed(largest)} kWh)."
    text += " Hatched bars take away; the thin line is a step's own interval."
    for stair in steps:
        if stair.note and stair.name != "standby":  # that standby costs needs no telling
            text += f" {_capital(stair.name)}: {stair.note}"
    if untold:
        names = wording.listed([f"“{step['step']}”" for step in untold])
        text += f" Cannot be told apart: {names}; the table says why."
    return text


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _untold(steps: Sequence[Any]) -> pd.DataFrame:
    """Rows for the steps that have no number, with their reasons."""
    return pd.DataFrame([{"step": str(step["step"]), "why": str(step.get("why") or "")} for step in steps])


def _table(stairs: list[Stair]) -> pd.DataFrame:
    ends = [stair.estimate or {} for stair in stairs]
    return pd.DataFrame(
        {
            "step": [stair.name for stair in stairs],
            "kWh": [stair.kwh for stair in stairs],
            "low end, kWh": [end.get("low") for end in ends],
            "high end, kWh": [end.get("high") for end in ends],
            "why": [" ".join(part for part in (stair.note, stair.why) if part) for stair in stairs],
        }
    ).round(1)
