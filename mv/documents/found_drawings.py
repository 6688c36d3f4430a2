"""What shows a finding of drift, drawn for print from the numbers that the shared figures draw."""

from collections.abc import Callable
from typing import Any

import pandas as pd

from mv.base.document import Drawing
from mv.base.result_parts import rows
from mv.base.verification import Verification
from mv.documents.print_inks import print_inks
from mv.figures import (
    FoundDays,
    FoundHours,
    day_after,
    days_found,
    finding_setting,
    found,
    hours_found,
    in_spells,
    months_of,
    pictures_of,
    setting_words,
    shown_setting,
)
from mv.paper import (
    DayDots,
    HourLines,
    MonthLevel,
    days_with_levels,
    setting_by_month,
    usual_hours,
)

HALF = 340.0  # points, for a chart that has half a sheet or a telephone's width
SMALL = 200.0  # points, for one beside the words of a finding


def finding_drawings(verification: Verification, key: str, *, width: float = HALF) -> tuple[Drawing, ...]:
    """The pictures that the data support, the plainest first, each drawn narrow too."""
    drawn = {
        "days": lambda: _days(verification, key, width),
        "hours": lambda: _hours(verification, key, width),
        "setting": lambda: _setting(verification, key, width),
    }
    found_ones = [drawn[name]() for name in pictures_of(verification, key)]
    return tuple(drawing for drawing in found_ones if drawing is not None)


def _both(drawn: Callable[[float], str], width: float) -> tuple[str, str]:
    """The drawing at its width and at half a sheet's; drawn once where these are one."""
    svg = drawn(width)
    return svg, svg if width == HALF else drawn(HALF)


def _days(verification: Verification, key: str, width: float) -> Drawing | None:
    shown = days_found(verification, key)
    if shown is None:
        return None
    spoken = f"{shown.title}. {shown.caption}"
    dots = _dots(shown)
    svg, narrow = _both(lambda w: days_with_levels(dots, print_inks(), spoken, width=w), width)
    return Drawing(shown.title, svg, shown.caption, spoken, narrow)


def _dots(shown: FoundDays) -> DayDots:
    index = pd.DatetimeIndex(shown.days.index)

    def place(day: object) -> int:
        return int(index.searchsorted(pd.Timestamp(str(day))))

    item = shown.item
    blank = None
    if item.kind == "gap":
        blank = (place(item.since), place(day_after(item.until)) - 1 if item.until else len(index) - 1)
    return DayDots(
        dates=[str(text) for text in index.strftime("%Y-%m-%d")],
        values=[_number(value) for value in shown.days["shown_kwh"]],
        unit=shown.unit,
        levels=[(place(one.first), place(one.last), one.kwh_a_day, one.now) for one in shown.levels],
        changes=[place(day) for day in shown.changes],
        others=[place(day) for day in shown.others],
        odd=frozenset(n for n, inside in enumerate(in_spells(shown)) if inside),
        blank=blank,
    )


def _hours(verification: Verification, key: str, width: float) -> Drawing | None:
    shown = hours_found(verification, key)
    if isinstance(shown, str):
        return None
    spoken = f"{shown.title}. {shown.caption}"
    lines = _lines(shown)
    svg, narrow = _both(lambda w: usual_hours(lines, shown.names, print_inks(), spoken, width=w), width)
    return Drawing(shown.title, svg, shown.caption, spoken, narrow)


def _lines(shown: FoundHours) -> list[HourLines]:
    return [
        HourLines(str(kind), [_number(v) for v in part["before"]], [_number(v) for v in part["after"]])
        for kind, part in shown.in_words.groupby("kind of day", sort=False)
    ]


def _setting(verification: Verification, key: str, width: float) -> Drawing | None:
    named = shown_setting(verification, found(verification, key))
    if named is None:
        return None
    words, said = setting_words(named[1]), finding_setting(verification, key)
    months = [
        MonthLevel(
            str(row["month"]), *(_number(row[end], words.factor) for end in ("estimate", "low", "high"))
        )
        for _, row in months_of(verification, *named).iterrows()
    ]
    agreed = _agreed(verification, *named)
    unit = words.unit or "1: yes, 0: no"
    level = None if agreed is None else agreed * words.factor
    svg, narrow = _both(
        lambda w: setting_by_month(months, level, print_inks(), said.accessible_name, width=w, unit=unit),
        width,
    )
    return Drawing(said.title, svg, said.caption, said.accessible_name, narrow)


def _agreed(verification: Verification, zone: str, setting: str) -> float | None:
    for row in rows(verification.result, "settings"):
        if row.get("zone") == zone and row.get("setting") == setting and row.get("commissioned") is not None:
            return float(row["commissioned"])
    return None


def _number(value: Any, factor: float = 1.0) -> float | None:
    return None if pd.isna(value) else float(value) * factor
