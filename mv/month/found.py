"""The findings of a month as a page shows them: the costliest on paper, the rest on the screen."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from mv.base import wording
from mv.base.document import Block, Drawing, Listing, Notice, Prose, Section
from mv.month.facts import ActiveFinding

MOST_ON_PAPER = 3  # findings that a printed page has room for
LONGEST_WHERE, LONGEST_WHAT = 48, 110  # characters; longer ones stand whole in the result
MOST_CAUSES = 2
SHEET_OVER_COLUMN = 4  # letters of a line across the sheet to one of a finding's column
MOST_LETTERS_BESIDE_A_PICTURE = 480  # so that the sheet stays one; tried on A4 and Letter
ACKNOWLEDGING = (
    "To take a finding off the list: tallylux month STUDY --acknowledge KEY --who NAME --why REASON, "
    "or the dashboard. It stays on this page with its reason."
)


@dataclass(frozen=True, slots=True)
class Noted:
    """What somebody has said of a finding."""

    who: str
    when: str
    why: str


def by_cost(findings: Sequence[ActiveFinding]) -> list[ActiveFinding]:
    """What uses most more comes first, less use after it, what cannot be told last."""
    return sorted(findings, key=lambda item: (item.kwh is None, -(item.kwh or 0.0)))


def findings_sections(
    findings: Sequence[ActiveFinding],
    noted: Mapping[str, Noted],
    gone: Sequence[str],
    *,
    shown: Mapping[str, tuple[Drawing, ...]],
    currency: str,
    otherwise: str,
    letters_above: int = 0,
) -> tuple[Section, tuple[Section, ...]]:
    """The part for paper, then those for the screen alone. `otherwise` is said where nothing is found.

    `letters_above`: of the notes that stand on the sheet already; pictures go on it where room is left.
    """
    fresh = by_cost([item for item in findings if item.key not in noted])
    seen = [item for item in findings if item.key in noted]
    top, rest = fresh[:MOST_ON_PAPER], fresh[MOST_ON_PAPER:]
    notices = [_notice(item, shown, currency) for item in top]
    letters = max((_letters(notice) for notice in notices), default=0) + letters_above / SHEET_OVER_COLUMN
    roomy = letters <= MOST_LETTERS_BESIDE_A_PICTURE
    blocks: list[Block] = [replace(notice, drawn_on_paper=roomy) for notice in notices]
    if not fresh:
        blocks = [Prose("Nothing new: all that was found is acknowledged." if seen else otherwise)]
    pointer = _pointer(len(fresh), rest, seen, currency)
    blocks += [Prose(pointer, "note")] if pointer else []
    return Section("What changed, and what to check first", tuple(blocks)), (
        *_rest(rest, shown, currency, told=bool(fresh)),
        *_acknowledged_part(seen, noted, gone, currency),
    )


def _letters(notice: Notice) -> int:
    """How long the words are that a sheet of paper shows."""
    return sum(len(text) for text in (notice.title, notice.line, *notice.causes, *notice.checks[:2]))


def _pointer(count: int, rest: list[ActiveFinding], seen: list[ActiveFinding], currency: str) -> str:
    """What this page leaves out, and where it stands."""
    said = []
    if rest:
        kwh = sum(item.kwh for item in rest if item.kwh is not None and item.kwh > 0)
        untold = sum(item.kwh is None for item in rest)
        worth = f", together {wording.in_unit(wording.number(kwh), 'kWh')} this month" if kwh >= 1 else ""
        costs = [item.cost for item in rest if item.cost is not None and (item.kwh or 0) > 0]
        worth += f" ({wording.money(sum(costs), currency)})" if costs and kwh >= 1 else ""
        worth += f", {untold} whose kWh cannot be told" if untold else ""
        said.append(
            f"The costliest {MOST_ON_PAPER} of {count} findings. {len(rest)} more{worth}: "
            "they stand below on the screen and in the dashboard."
        )
    if seen:
        said.append(f"Acknowledged before: {wording.counted(len(seen), 'finding')}.")
    return " ".join(said)


def _rest(
    rest: list[ActiveFinding], shown: Mapping[str, tuple[Drawing, ...]], currency: str, *, told: bool
) -> tuple[Section, ...]:
    sections = []
    if rest:
        notices = tuple(replace(_notice(item, shown, currency), drawn_on_paper=False) for item in rest)
        sections.append(Section("The other findings", notices, on_paper=False))
    if told:
        how = (Prose(ACKNOWLEDGING, "note"),)
        sections.append(Section("When a finding is known", how, on_paper=False))
    return tuple(sections)


def _acknowledged_part(
    seen: list[ActiveFinding], noted: Mapping[str, Noted], gone: Sequence[str], currency: str
) -> tuple[Section, ...]:
    if not seen and not gone:
        return ()
    known = [_acknowledged(item, noted[item.key], currency) for item in seen]
    listed = (Listing(tuple(gone)),) if gone else ()
    return (Section("Acknowledged", (*known, *listed), on_paper=False),)


def _notice(item: ActiveFinding, shown: Mapping[str, tuple[Drawing, ...]], currency: str) -> Notice:
    finding = item.finding
    return Notice(
        title=_title(finding),
        line=f"{_sentence(_when(item.finding))}; {_amount(item, currency)}.",
        causes=tuple(str(text).rstrip(".") for text in finding.get("likely_causes") or [])[:MOST_CAUSES],
        checks=tuple(str(text) for text in finding.get("check_first") or []),
        aside=f"Key {item.key}",
        drawings=shown.get(item.key, ()),
    )


def _title(finding: Mapping[str, Any]) -> str:
    where = clipped(str(finding.get("where")), LONGEST_WHERE)
    return f"{where}: {clipped(str(finding.get('what')), LONGEST_WHAT)}"


def clipped(text: str, longest: int) -> str:
    """The text, cut at a word with a sign that it was cut."""
    return text if len(text) <= longest else f"{text[: longest - 1].rsplit(' ', 1)[0][: longest - 1]}…"


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
    return Notice(
        title=_title(item.finding),
        line=f"{_sentence(_amount(item, currency))}. Noted by {noted.who} on "
        f"{wording.day_words(noted.when[:10])}: {noted.why}",
        causes=(),
        checks=(),
    )
