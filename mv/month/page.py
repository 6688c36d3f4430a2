"""The facility manager's page: one month in plain words, what to look at first, and how to be safe."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from mv.base import wording
from mv.base.document import (
    Block,
    Caution,
    Document,
    Drawing,
    Figure,
    Figures,
    Listing,
    Notice,
    Pair,
    Prose,
    Section,
    grid,
)
from mv.base.result_parts import part, rows
from mv.base.verification import Verification
from mv.month.facts import ActiveFinding, MonthFacts, ZoneLoss

ACKNOWLEDGING = (
    "To take a finding off this list: tallylux month STUDY --acknowledge KEY --who NAME --why REASON, "
    "or the dashboard. It stays below with its reason."
)


SMALLEST_ADJUSTMENT_KWH = 0.5  # less is rounding; common practice, no source


@dataclass(frozen=True, slots=True)
class Noted:
    """What somebody has said of a finding."""

    who: str
    when: str
    why: str


@dataclass(frozen=True, slots=True)
class Extras:
    """What the page needs beside the facts: drawings, notes by finding key, hours of the meter.

    `closed_hours_kwh` with `closed_hours_share` is the indoor energy outside opening hours; None
    where no opening hours are given. `highest` is the highest hour in words.
    """

    months: Drawing
    running: Drawing
    calendar: Drawing
    noted: Mapping[str, Noted]
    gone: tuple[str, ...]
    closed_hours_kwh: float | None
    closed_hours_share: float | None
    highest: str | None


def month_document(verification: Verification, facts: MonthFacts, extras: Extras) -> Document:
    """The page."""
    result = verification.result
    title = f"{month_words(facts.month)}: {part(result, 'study', 'site', 'name')}"
    sections = [
        Section("Against expectation and promise", (Pair(extras.months, extras.running),)),
        Section("Calendar of the month, kWh a day", _day_by_day(extras)),
        Section("Zones, by energy lost to changes", _zones(verification, facts)),
        *_findings(verification, facts, extras),
        Section("Before anyone acts on this", (_cautions(result),)),
    ]
    return Document(
        title=title,
        subtitle=str(part(result, "study", "study", "title") or ""),
        opening=_opening(verification, facts),
        sections=tuple(sections),
        foot=_foot(result),
    )


def month_words(month: str) -> str:
    """ "February 2025"."""
    return str(pd.Period(month, "M").strftime("%B %Y"))


def lead_sentence(facts: MonthFacts) -> str:
    """The month in one sentence."""
    days = "" if facts.whole else f" ({facts.span.days} of its {facts.calendar_days} days)"
    if facts.avoided is None:
        return f"In {month_words(facts.month)}{days} what was saved cannot be told."
    saved = wording.amount(facts.avoided, "kWh")
    share = facts.avoided["estimate"] / facts.expected_kwh if facts.expected_kwh > 0 else None
    than = (
        f", {wording.per_cent(share)} of what the old lighting would have used" if share is not None else ""
    )
    return f"{month_words(facts.month)}{days}: {saved} saved{than}."


def _foot(result: Mapping[str, Any]) -> str:
    made = wording.day_words(str(result.get("made_at"))[:10])
    sure = wording.per_cent(_confidence(result))
    return f"Tallylux {result.get('tallylux')}, verification of {made}. Confidence of intervals: {sure}."


def _confidence(result: Mapping[str, Any]) -> float:
    return float(part(result, "study", "study", "confidence") or 0.9)


def _opening(verification: Verification, facts: MonthFacts) -> tuple[Block, ...]:
    currency = str(part(verification.result, "money", "currency") or "")
    lost = sum(item.kwh for item in facts.findings if item.kwh is not None and item.kwh > 0)
    costs = [item.cost for item in facts.findings if item.cost is not None and (item.kwh or 0) > 0]
    figures = [
        Figure("Used", _kwh(facts.metered_kwh), _used_detail(facts)),
        Figure("Old lighting would have used", _kwh(facts.expected_kwh), _band(facts)),
        Figure("Saved", *_saved(facts)),
        Figure(
            "Lost to changes", _kwh(lost) if facts.findings else "–", _lost_detail(facts, costs, currency)
        ),
    ]
    return (Prose(lead_sentence(facts), "lead"), Figures(tuple(figures)), *_stood_in(facts))


def _stood_in(facts: MonthFacts) -> tuple[Block, ...]:
    lines = [f"Set aside on both sides: {words}." for words in facts.set_aside]
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
    return tuple(Prose(line, "note") for line in lines)


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
    due = wording.number(facts.promised_kwh, step=100 if facts.promised_kwh > 5000 else 1)
    return wording.amount(facts.avoided, "kWh"), f"{ends}; promised {wording.in_unit(due, 'kWh')}"


def _lost_detail(facts: MonthFacts, costs: list[float], currency: str) -> str:
    untold = sum(item.kwh is None for item in facts.findings)
    also = f"; {untold} more cannot be told" if untold else ""
    if not facts.findings:
        return "no change is seen"
    priced = f"about {wording.money(sum(costs), currency)}" if costs else "no price is given"
    return f"{priced}{also}"


def _day_by_day(extras: Extras) -> tuple[Block, ...]:
    lines = []
    if extras.highest:
        lines.append(f"Highest hour: {extras.highest}.")
    if extras.closed_hours_kwh is not None and extras.closed_hours_share is not None:
        lines.append(
            f"Outside opening hours the indoor lighting used {_kwh(extras.closed_hours_kwh)}, "
            f"{wording.per_cent(extras.closed_hours_share)} of its month. Escape-route, emergency and night "
            "lighting that must burn is part of that, and so is standby."
        )
    return (extras.calendar, *(Prose(line) for line in lines))


def _zones(verification: Verification, facts: MonthFacts) -> tuple[Block, ...]:
    currency = str(part(verification.result, "money", "currency") or "")
    table = grid(
        "What the findings of this month come to, zone by zone",
        [
            ("zone", "left", 2.2),
            ("metered, kWh", "right", 1.2),
            ("lost, kWh", "right", 1.2),
            (f"cost, {currency}" if currency else "cost", "right", 1.0),
            ("less used, kWh", "right", 1.2),
            ("findings", "right", 1.2),
        ],
        [_zone_row(loss) for loss in facts.zones],
        note="Lost: more than before the change, or than was agreed. Less used is kept apart: failed lamps "
        "or an over-dimmed room lower the meter too. Findings may overlap, so their sum is a ceiling.",
    )
    return (table,)


def _zone_row(loss: ZoneLoss) -> tuple[str, ...]:
    name = loss.zone if loss.zone == loss.meter else f"{loss.zone} ({loss.meter})"
    untold = f" ({loss.untold} untold)" if loss.untold else ""
    return (
        name,
        "–" if loss.metered_kwh is None else wording.number(loss.metered_kwh),
        wording.number(loss.lost_kwh) if loss.lost_kwh else "–",
        "–" if loss.cost is None else wording.number(loss.cost),
        wording.number(loss.less_kwh) if loss.less_kwh else "–",
        f"{loss.findings}{untold}" if loss.findings else "–",
    )


def _findings(verification: Verification, facts: MonthFacts, extras: Extras) -> list[Section]:
    currency = str(part(verification.result, "money", "currency") or "")
    fresh = [item for item in facts.findings if item.key not in extras.noted]
    seen = [item for item in facts.findings if item.key in extras.noted]
    blocks: list[Block] = [_notice(item, currency) for item in fresh]
    if not blocks:
        what = "Nothing new: all that was found is acknowledged below." if seen else _nothing(verification)
        blocks = [Prose(what)]
    else:
        blocks.append(Prose(ACKNOWLEDGING, "note"))
    sections = [Section("What changed, and what to check first", tuple(blocks))]
    if seen or extras.gone:
        known = [_acknowledged(item, extras.noted[item.key], currency) for item in seen]
        listed = (Listing(extras.gone),) if extras.gone else ()
        sections.append(Section("Acknowledged", (*known, *listed)))
    return sections


def _nothing(verification: Verification) -> str:
    unsure = sum(row.get("verdict") == "cannot tell" for row in rows(verification.result, "settings"))
    also = f" {wording.counted(unsure, 'agreed setting')} cannot be told from the data." if unsure else ""
    return f"Nothing that the data show.{also}"


def _notice(item: ActiveFinding, currency: str) -> Notice:
    finding = item.finding
    return Notice(
        title=f"{finding.get('where')}: {finding.get('what')}",
        line=f"{_sentence(_when(item.finding))}; {_amount(item, currency)}.",
        causes=tuple(str(text).rstrip(".") for text in finding.get("likely_causes") or []),
        checks=tuple(str(text) for text in finding.get("check_first") or []),
        aside=f"Key {item.key}",
    )


def _when(finding: Mapping[str, Any]) -> str:
    since, until = finding.get("since"), finding.get("until")
    begun = f"since {wording.day_words(since)}" if since else "from hand-over, or since a day not known"
    return f"{begun} until {wording.day_words(until)}" if until else begun


def _amount(item: ActiveFinding, currency: str) -> str:
    """What it comes to this month. Less used is not priced: it may be lamps that have failed."""
    if item.kwh is None:
        return "its kWh cannot be told"
    ends = [item.low, item.high] if item.kwh >= 0 else [_minus(item.high), _minus(item.low)]
    share = {"estimate": abs(item.kwh), "low": ends[0], "high": ends[1]}
    words = wording.with_interval(share, "kWh", confidence=False)
    if item.kwh < 0:
        return f"this month {words} less used"
    cost = f", about {wording.money(item.cost, currency)}" if item.cost is not None else ""
    return f"this month {words} more used{cost}"


def _minus(value: float | None) -> float | None:
    return None if value is None else -value


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _acknowledged(item: ActiveFinding, noted: Noted, currency: str) -> Notice:
    finding = item.finding
    return Notice(
        title=f"{finding.get('where')}: {finding.get('what')}",
        line=f"{_sentence(_amount(item, currency))}. Noted by {noted.who} on "
        f"{wording.day_words(noted.when[:10])}: {noted.why}",
        causes=(),
        checks=(),
    )


def _cautions(result: Mapping[str, Any]) -> Caution:
    return Caution("Take care", tuple(str(text) for text in part(result, "cautions") or []))
