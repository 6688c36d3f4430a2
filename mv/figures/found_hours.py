"""A finding hour by hour: the usual day before a change beside the usual day since."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from mv.base.clock import period_bounds
from mv.base.verification import Verification
from mv.figures import wording
from mv.figures.canvas import canvas
from mv.figures.found import Found, found
from mv.figures.hour_grid import by_day_and_hour
from mv.figures.palette import Scheme
from mv.figures.profiles import draw_pair, with_gaps
from mv.figures.result_parts import part
from mv.figures.worded import FigureWithWords, not_drawn

BESIDE_DAYS = 28  # days on either side, within which the season moves little; common practice, no source
FEWEST_DAYS = 4  # days of a kind for its usual day; common practice, no source
WHOLE_HOURS = 20  # of a day that must be read, which a day of 23 hours is too; common practice, no source
LONGEST_MINUTES = 60.0  # of a reading that still tells the hours apart
KINDS = {"open": "days open", "closed": "days closed", "every": "every day"}


@dataclass(frozen=True)
class FoundHours:
    """The usual day of each kind, kW by clock hour, of the two sets of days that are compared.

    `table`: kind of day, hour, before, after (24 rows a kind). `names` are the two sets in words;
    `days` how many of each kind either holds.
    """

    item: Found
    table: pd.DataFrame
    names: tuple[str, str]
    days: dict[str, tuple[int, int]]

    @property
    def title(self) -> str:
        """The picture's heading."""
        return f"{self.item.where}: the usual day, hour by hour"

    @property
    def kinds(self) -> list[str]:
        """The kinds of day that are drawn."""
        return list(self.days)

    @property
    def in_words(self) -> pd.DataFrame:
        """The table with the kinds of day as a reader knows them."""
        return self.table.assign(**{"kind of day": [KINDS[kind] for kind in self.table["kind of day"]]})

    @property
    def caption(self) -> str:
        """What to see in it."""
        counted = "; ".join(
            f"{KINDS[kind]}: {wording.counted(a, 'day')} {self.names[0]}, {b} {self.names[1]}"
            for kind, (a, b) in self.days.items()
        )
        return f"{_largest(self)} The middle value of each hour ({counted}). Not adjusted for the season."


def hours_found(verification: Verification, key: str) -> FoundHours | str:
    """The usual days that show a finding, or why there are none. Raises KeyError for no such finding."""
    item = found(verification, key)
    grid = _grid(verification, item)
    if grid is None:
        return "The readings are longer than an hour, so the hours of the day cannot be told apart."
    first, second, names = _compared(item, pd.DatetimeIndex(grid.index))
    kinds = _kinds(verification, item, pd.DatetimeIndex(grid.index))
    pieces, days = [], {}
    for kind in KINDS:
        one, other = (grid[part & (kinds == kind)] for part in (first, second))
        one, other = _beside(one, other) if item.kind == "step" else (one, other)
        if min(len(one), len(other)) >= (FEWEST_DAYS if item.kind == "step" else 1):
            days[kind] = (len(one), len(other))
            pieces.append(_usual(kind, one, other))
    if not pieces:
        return f"Fewer than {FEWEST_DAYS} whole days of one kind were read on either side."
    return FoundHours(item, pd.concat(pieces, ignore_index=True), names, days)


def finding_hours(verification: Verification, key: str, *, scheme: Scheme = "light") -> FigureWithWords:
    """The usual open and closed day before and since, or in and out of a recurring fault's spells."""
    shown = hours_found(verification, key)
    if isinstance(shown, str):
        return not_drawn(f"{found(verification, key).where}: the usual day", shown)
    before, after = (f"{name}, kW" for name in shown.names)
    table = shown.in_words.rename(columns={"before": before, "after": after})
    figure = canvas(scheme, height=260, margin={"l": 54, "r": 12, "t": 40, "b": 40}, hovermode="x")
    labels = [f"{kind}, {hour}" for kind, hour in zip(table["kind of day"], table["hour"], strict=True)]
    draw_pair(figure, with_gaps(len(table)), table, scheme, labels=labels, names=shown.names)
    named = (6, 12, 18) if len(shown.kinds) == 1 else (6, 18)  # what stands side by side in the hand
    ticks = [(27 * place + hour, f"{hour:02d}:00") for place in range(len(shown.kinds)) for hour in named]
    at, told = zip(*ticks, strict=True)
    figure.update_xaxes(tickvals=at, ticktext=told, tickangle=0)
    for place, kind in enumerate(shown.kinds):
        figure.add_annotation(
            x=27 * place + 11.5, y=0, yref="paper", yshift=-34, text=KINDS[kind], showarrow=False
        )
    figure.update_yaxes(title="kW", rangemode="tozero")
    return FigureWithWords(shown.title, shown.caption, table, figure)


def _grid(verification: Verification, item: Found) -> pd.DataFrame | None:
    """Mean kW of the finding's meters together, by local day and clock hour, whole days only."""
    periods, timezone = verification.study.periods, verification.study.site.timezone
    meters = [verification.meters[meter] for meter in item.meters if meter in verification.meters]
    if not meters or periods is None or any(meter.interval_minutes > LONGEST_MINUTES for meter in meters):
        return None
    start, end = period_bounds(periods.reporting.first, periods.reporting.last, timezone)
    total: pd.DataFrame | None = None
    for meter in meters:
        power = meter.power_kw if meter.spread is None else meter.power_kw.where(~meter.spread)
        power = power[(power.index >= start) & (power.index < end)]
        if power.empty:
            return None
        grid = by_day_and_hour(power, timezone, "mean")
        total = grid if total is None else total + grid.reindex(total.index)
    return None if total is None else total[total.notna().sum(axis=1) >= WHOLE_HOURS]


def _compared(item: Found, days: pd.DatetimeIndex) -> tuple[Any, Any, tuple[str, str]]:
    """The days on one side, those on the other, and what the two are called."""
    if item.kind == "recurring":
        inside = np.zeros(len(days), dtype=bool)
        for first, last in item.spells:
            inside |= (days >= pd.Timestamp(first)) & (days <= pd.Timestamp(last))
        return ~inside, inside, ("on other days", "in the spells")
    since, until = pd.Timestamp(item.since or pd.Timestamp.max), pd.Timestamp(item.until or pd.Timestamp.max)
    names = ("before", "since" if item.until is None else "while it lasted")
    return days < since, (days > since) & (days <= until), names


def _beside(one: pd.DataFrame, other: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The days within the weeks next to the change."""
    if one.empty or other.empty:
        return one, other
    reach = pd.Timedelta(days=BESIDE_DAYS)
    return one[one.index > one.index.max() - reach], other[other.index < other.index.min() + reach]


def _kinds(verification: Verification, item: Found, days: pd.DatetimeIndex) -> Any:
    """Open or closed, by any of the meters' zones; outdoor lights know only days."""
    by_meter = part(verification.result, "savings", "by_meter") or {}
    if any((by_meter.get(meter) or {}).get("kind") == "outdoor" for meter in item.meters):
        return np.full(len(days), "every")
    daily = verification.daily[verification.daily["meter"].isin(item.meters)]
    if "is_open_day" in daily and daily["is_open_day"].notna().all():
        is_open = (
            daily.groupby("day")["is_open_day"].any().reindex(days, fill_value=False).to_numpy(dtype=bool)
        )
    else:
        is_open = np.asarray(days.day_of_week < 5)
    return np.where(is_open, "open", "closed")


def _usual(kind: str, one: pd.DataFrame, other: pd.DataFrame) -> pd.DataFrame:
    """The median of each hour: an odd day must not draw it."""
    hours = [f"{hour:02d}:00" for hour in range(24)]
    before, after = (part.median().round(3).to_numpy() for part in (one, other))
    return pd.DataFrame({"kind of day": kind, "hour": hours, "before": before, "after": after})


def _largest(shown: FoundHours) -> str:
    """The hour in which most has changed."""
    change = (shown.table["after"] - shown.table["before"]).abs().fillna(0.0)
    row = shown.table.iloc[int(change.to_numpy().argmax())]
    kw = [wording.number(float(row[name]), step=0.01) for name in ("before", "after")]
    return (
        f"Most has changed in the hour from {row['hour']} on {KINDS[str(row['kind of day'])]}: "
        f"{kw[0]} kW {shown.names[0]}, {kw[1]} kW {shown.names[1]}."
    )
