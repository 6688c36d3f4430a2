"""The facility manager's page: one month in plain words, what to look at first, and how to be safe."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from mv.base import wording
from mv.base.document import (
    Align,
    Block,
    Caution,
    Document,
    Drawing,
    Figure,
    Figures,
    Grid,
    Listing,
    Pair,
    Prose,
    Section,
    grid,
)
from mv.base.result_parts import part, rows
from mv.base.verification import Verification
from mv.month.facts import MonthFacts, ZoneLoss
from mv.month.found import Noted, clipped, findings_sections

SMALLEST_ADJUSTMENT_KWH = 0.5  # less is rounding; common practice, no source
LARGE_PROMISE_KWH = 5000  # larger ones are told to the hundred; common practice, no source
# What one sheet has room for
MOST_ZONES, MOST_CAUTIONS, MOST_SET_ASIDE = 6, 4, 2
LONGEST_NAME, LONGEST_ZONE, LONGEST_EVENT = 70, 30, 110  # characters


@dataclass(frozen=True, slots=True)
class Extras:
    """What the page needs beside the facts: drawings, notes by finding key, hours of the meter.

    `shown`: what shows a finding, by its key.

    `closed_hours_kwh` with `closed_hours_share` is the indoor energy outside opening hours; None
    where no opening hours are given. `highest` is the highest hour in words.
    """

    months: Drawing
    running: Drawing
    calendar: Drawing
    shown: Mapping[str, tuple[Drawing, ...]]
    noted: Mapping[str, Noted]
    gone: tuple[str, ...]
    closed_hours_kwh: float | None
    closed_hours_share: float | None
    highest: str | None


def month_document(verification: Verification, facts: MonthFacts, extras: Extras) -> Document:
    """The page."""
    result = verification.result
    currency = str(part(result, "money", "currency") or "")
    site = clipped(str(part(result, "study", "site", "name")), LONGEST_NAME)
    found, others = findings_sections(
        facts.findings,
        extras.noted,
        extras.gone,
        shown=extras.shown,
        currency=currency,
        otherwise=_nothing(verification),
        letters_above=sum(len(note.text) for note in _stood_in(facts)),
    )
    cautions = tuple(str(text) for text in part(result, "cautions") or [])
    return Document(
        title=f"{month_words(facts.month)}: {site}",
        subtitle=clipped(str(part(result, "study", "study", "title") or ""), LONGEST_NAME),
        opening=_opening(facts, currency),
        sections=(
            Section("Against expectation and promise", (Pair(extras.months, extras.running),)),
            Section("Days and zones", _days_and_zones(facts, extras, currency)),
            found,
            Section("Before anyone acts on this", (Caution("Take care", cautions[:MOST_CAUTIONS]),)),
            *others,
            *_beyond_the_sheet(facts, currency, cautions[MOST_CAUTIONS:]),
        ),
        foot=_foot(result),
        one_page=True,
    )


def month_words(month: str) -> str:
    """ "February 2025"."""
    return str(pd.Period(month, "M").strftime("%B %Y"))


def lead_sentence(facts: MonthFacts) -> str:
    """The month in one sentence."""
    days = "" if facts.whole else f" ({facts.span.days} of its {facts.calendar_days} days)"
    if facts.avoided is None:
        return f"In {month_words(facts.month)}{days} what was saved cannot be told."
    worse = facts.avoided["estimate"] < 0
    size = {**facts.avoided, "estimate": abs(facts.avoided["estimate"])}
    saved = wording.amount(size, "kWh")
    share = wording.per_cent(size["estimate"] / facts.expected_kwh) if facts.expected_kwh > 0 else ""
    month = f"{month_words(facts.month)}{days}"
    if worse:
        more = f", {share} more" if share else ""
        return f"{month}: {saved} more used than the old lighting would have{more}; nothing was saved."
    return f"{month}: {saved} saved{f', {share} of what the old lighting would have used' if share else ''}."


def _foot(result: Mapping[str, Any]) -> str:
    made = wording.day_words(str(result.get("made_at"))[:10])
    sure = wording.per_cent(_confidence(result))
    return f"Tallylux {result.get('tallylux')}, verification of {made}. Confidence of intervals: {sure}."


def _confidence(result: Mapping[str, Any]) -> float:
    return float(part(result, "study", "study", "confidence") or 0.9)


def _opening(facts: MonthFacts, currency: str) -> tuple[Block, ...]:
    lost = sum(item.kwh for item in facts.findings if item.kwh is not None and item.kwh > 0)
    costs = [item.cost for item in facts.findings if item.cost is not None and (item.kwh or 0) > 0]
    figures = [
        Figure("Used", _kwh(facts.metered_kwh), _used_detail(facts)),
        Figure("Old lighting would have used", _kwh(facts.expected_kwh), _band(facts)),
        Figure("Saved", *_saved(facts)),
        Figure("Saved since hand-over", *_so_far(facts)),
        Figure(
            "Lost to changes", _kwh(lost) if facts.findings else "–", _lost_detail(facts, costs, currency)
        ),
    ]
    return (Prose(lead_sentence(facts), "lead"), Figures(tuple(figures)), *_stood_in(facts))


def _stood_in(facts: MonthFacts) -> tuple[Prose, ...]:
    lines = [
        f"Set aside on both sides: {clipped(words, LONGEST_EVENT)}."
        for words in facts.set_aside[:MOST_SET_ASIDE]
    ]
    more = len(facts.set_aside) - MOST_SET_ASIDE
    lines += [f"Set aside besides: {wording.counted(more, 'event')} of the study."] if more > 0 else []
    days = int(facts.entry.get("modelled_days") or 0)
    if days:
        lines.append(
            f"{wording.counted(days, 'meter day')} without a usable reading: "
            f"the model of the new lighting stands in with {_kwh(facts.stand_in_kwh)}."
        )
    if abs(facts.adjusted_kwh) >= SMALLEST_ADJUSTMENT_KWH:
        lines.append(f"Non-routine events change the month's use by {_kwh(facts.adjusted_kwh)}.")
    missing = int(facts.entry.get("meters_missing") or 0)
    if missing:
        lines.append(
            f"{wording.counted(missing, 'meter')} cannot be counted this month; the sums leave it out."
        )
    return (Prose(" ".join(lines), "note"),) if lines else ()


def _kwh(value: float) -> str:
    return wording.in_unit(wording.number(value), "kWh")


def _used_detail(facts: MonthFacts) -> str:
    return f"metered, {wording.counted(facts.span.days, 'day')}"


def _band(facts: MonthFacts) -> str:
    if facts.avoided is None or facts.avoided.get("low") is None:
        return "its band cannot be told"
    band = {
        "estimate": facts.expected_kwh,
        "low": float(facts.entry["actual_kwh"]) + facts.avoided["low"],
        "high": float(facts.entry["actual_kwh"]) + facts.avoided["high"],
    }
    return wording.between(band, "kWh")


def _saved(facts: MonthFacts) -> tuple[str, str]:
    if facts.avoided is None:
        return "cannot tell", "the month's expected energy cannot be told"
    ends = wording.between(facts.avoided, "kWh")
    if facts.promised_kwh is None:
        return wording.amount(facts.avoided, "kWh"), f"{ends}; nothing was promised"
    due = wording.number(facts.promised_kwh, step=100 if facts.promised_kwh > LARGE_PROMISE_KWH else 1)
    return wording.amount(facts.avoided, "kWh"), f"{ends}; promised {wording.in_unit(due, 'kWh')}"


def _so_far(facts: MonthFacts) -> tuple[str, str]:
    """The running total, its interval and the promise spread evenly over the days so far."""
    due = promised_so_far(facts)
    promise = f"promised {due}" if due else "nothing was promised"
    if facts.saved_so_far is None:
        return "cannot tell", promise
    return wording.amount(
        facts.saved_so_far, "kWh"
    ), f"{wording.between(facts.saved_so_far, 'kWh')}; {promise}"


def promised_so_far(facts: MonthFacts) -> str:
    """The promise spread over the days so far, rounded; empty where there is none."""
    if facts.promised_so_far is None:
        return ""
    step = 100 if facts.promised_so_far > LARGE_PROMISE_KWH else 1
    return wording.in_unit(wording.number(facts.promised_so_far, step=step), "kWh")


def _lost_detail(facts: MonthFacts, costs: list[float], currency: str) -> str:
    untold = sum(item.kwh is None for item in facts.findings)
    also = f"; {untold} more cannot be told" if untold else ""
    if not facts.findings:
        return "no change is seen"
    priced = f"about {wording.money(sum(costs), currency)}" if costs else "no price is given"
    return f"{priced}{also}"


def _days_and_zones(facts: MonthFacts, extras: Extras, currency: str) -> tuple[Block, ...]:
    lines = []
    if extras.highest:
        lines.append(f"Highest hour: {extras.highest}.")
    if extras.closed_hours_kwh is not None and extras.closed_hours_share is not None:
        lines.append(
            f"Outside opening hours the indoor lighting used {_kwh(extras.closed_hours_kwh)}, "
            f"{wording.per_cent(extras.closed_hours_share)} of its month. Escape-route, emergency and night "
            "lighting that must burn is part of that, and so is standby."
        )
    told = (Prose(" ".join(lines)),) if lines else ()
    return Pair(extras.calendar, _zones(facts.zones[:MOST_ZONES], len(facts.zones), currency)), *told


def _zones(losses: Sequence[ZoneLoss], count: int, currency: str) -> Grid:
    less = any(loss.less_kwh for loss in losses)
    rest = (
        f" The worst {len(losses)} of {count} zones; the others stand below." if count > len(losses) else ""
    )
    note = "Lost: more than before the change, or than agreed. Findings may overlap: a sum is a ceiling."
    note += " Less used may be failed lamps, and is kept apart." if less else ""
    columns: list[tuple[str, Align, float]] = [
        ("zone", "left", 2.2),
        ("metered", "right", 1.1),
        ("lost", "right", 1.0),
        *([("less used", "right", 1.1)] if less else []),  # type: ignore[list-item]
        (currency or "cost", "right", 0.9),
        ("findings", "right", 1.1),
    ]
    return grid(
        "Zones, by kWh lost to what changed",
        columns,
        [_zone_row(loss, less) for loss in losses],
        note=f"{note}{rest}",
    )


def _beyond_the_sheet(facts: MonthFacts, currency: str, cautions: tuple[str, ...]) -> tuple[Section, ...]:
    """What the screen holds besides: zones for which the sheet has no room, further cautions."""
    rest = facts.zones[MOST_ZONES:]
    table = (
        (Section("The other zones", (_zones(rest, len(rest), currency),), on_paper=False),) if rest else ()
    )
    more = (Section("More to bear in mind", (Listing(cautions),), on_paper=False),) if cautions else ()
    return *table, *more


def _zone_row(loss: ZoneLoss, less: bool) -> tuple[str, ...]:
    name = loss.zone if loss.zone == loss.meter else f"{loss.zone} ({loss.meter})"
    untold = f" ({loss.untold} untold)" if loss.untold else ""
    used = wording.number(loss.less_kwh) if loss.less_kwh else "–"
    return (
        clipped(name, LONGEST_ZONE),
        "–" if loss.metered_kwh is None else wording.number(loss.metered_kwh),
        wording.number(loss.lost_kwh) if loss.lost_kwh else "–",
        *([used] if less else []),
        "–" if loss.cost is None else wording.number(loss.cost),
        f"{loss.findings}{untold}" if loss.findings else "–",
    )


def _nothing(verification: Verification) -> str:
    unsure = sum(row.get("verdict") == "cannot tell" for row in rows(verification.result, "settings"))
    also = f" {wording.counted(unsure, 'agreed setting')} cannot be told from the data." if unsure else ""
    return f"Nothing that the data show.{also}"
