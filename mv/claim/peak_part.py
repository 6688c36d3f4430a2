"""The programme's peak window and its load-drop calls, as verified."""

from collections.abc import Mapping
from typing import Any

from mv.base import wording
from mv.base.document import Block, Heading, Prose, grid
from mv.base.result_parts import estimate, part, rows
from mv.claim.cells import NONE, fixed, in_words, interval
from mv.claim.material import Json, Material


def peak_window(material: Material) -> list[Block]:
    """The window as stated, the reduction by meter, the share of the highest load that falls in it."""
    peak = material.study.peak
    if peak is None:
        return [Heading("Peak window"), Prose("The study names no peak window.", "cannot")]
    windows = " and ".join(f"{_clock(first)} to {_clock(last)}" for first, last in peak.windows)
    names = [wording.day_words(f"2000-{month:02d}-01").split()[1] for month in peak.months]
    days = "weekdays" if peak.weekdays_only else "every day"
    holidays = ", holidays left out" if peak.holidays_excluded else ""
    words = f"{windows}, {days}{holidays}, {wording.listed(names)}; rule: {peak.rule}."
    source = f" Source: {peak.source}." if peak.source else " The study names no source for this definition."
    blocks: list[Block] = [
        Heading("Peak window"),
        Prose(f"The programme's window as stated: {words}{source}"),
    ]
    account = part(material.result, "peak")
    if isinstance(account, Mapping):
        blocks += _by_meter(account)
        blocks += _coincidence(account)
    return blocks


def _by_meter(account: Json) -> list[Block]:
    listed = [
        (
            str(name),
            *interval(estimate(row, "reduction_kw"), least=0.01),
            str(row.get("baseline_days") or NONE),
            str(row.get("reporting_days") or NONE),
        )
        for name, row in (account.get("by_meter") or {}).items()
    ]
    if not listed:
        return []
    return [
        grid(
            "Mean reduction in the window by meter, kW",
            [
                ("meter", "left", 1.4),
                ("best estimate", "right", 1),
                ("low", "right", 1),
                ("high", "right", 1),
                ("days before", "right", 1),
                ("days after", "right", 1),
            ],
            listed,
        )
    ]


def _coincidence(account: Json) -> list[Block]:
    found = {name: estimate(account, "coincidence", name) for name in ("before", "after")}
    told = [f"{words} {name}" for name, row in found.items() if row and (words := _share(row))]
    if not told:
        return []
    return [
        Prose(
            f"Coincidence factor, the window's mean load over the site's own highest: {', '.join(told)}. "
            "The reduction is a mean over the window, not the difference of two highest loads."
        )
    ]


def _share(row: Json) -> str:
    return fixed(float(row["estimate"]), 2) + (
        f" ({fixed(float(row['low']), 2)} to {fixed(float(row['high']), 2)})"
        if wording.half_width(row) is not None
        else ""
    )


def _clock(hour: float) -> str:
    return f"{int(hour):02d}:{round(hour % 1 * 60):02d}"


def load_drops(material: Material) -> list[Block]:
    """Each load-drop call: the stated baseline, the metered load and the drop."""
    calls = rows(material.result, "demand_response")
    if not calls:
        return []
    return [
        Heading("Load drops when called"),
        grid(
            "Each call, local clock, kW",
            [
                ("from", "left", 1.5),
                ("to", "left", 1.5),
                ("baseline (modelled)", "right", 1),
                ("metered", "right", 1),
                ("drop", "right", 1.4),
                ("why", "left", 2.4),
            ],
            [_call(row) for row in calls],
            note="; ".join(dict.fromkeys(str(row.get("rule")) for row in calls if row.get("rule"))),
        ),
    ]


def _call(row: Json) -> tuple[str, ...]:
    kilowatts = (_kilowatts(row.get(key)) for key in ("baseline_kw", "metered_kw"))
    first, last = (str(row.get(key)).replace("T", " ")[:16] for key in ("first", "last"))
    return first, last, *kilowatts, in_words(estimate(row, "drop_kw"), ""), str(row.get("why") or NONE)


def _kilowatts(value: Any) -> str:
    return fixed(float(value), 1) if isinstance(value, int | float) else NONE
