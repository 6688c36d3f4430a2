"""The month on a terminal."""

import textwrap

from mv.base import wording
from mv.month.facts import MonthFacts
from mv.month.found import Noted, by_cost, clipped
from mv.month.page import lead_sentence, promised_so_far

MOST_CAUTIONS = 2
LONGEST = 210  # characters of one entry
MOST_ON_SCREEN = 4  # findings, so that a terminal of 40 lines holds all


def month_text(facts: MonthFacts, noted: dict[str, Noted], cautions: list[str], *, width: int) -> str:
    """Lead sentence, running total, findings not yet acknowledged; lines of at most `width` characters."""
    lines = _wrapped("", lead_sentence(facts), width) + _wrapped("", _running(facts), width)
    lines += ["", *_findings(facts, noted, width)]
    lines += [""] if cautions else []
    for caution in cautions[:MOST_CAUTIONS]:
        lines += _wrapped("Take care: ", caution, width)
    return "\n".join(lines).replace(wording.NO_BREAK, " ") + "\n"


def _running(facts: MonthFacts) -> str:
    saved = wording.with_interval(facts.saved_so_far, "kWh", confidence=False)
    due = promised_so_far(facts)
    promise = f"the promise spread over the days comes to {due}" if due else "the study holds no promise"
    return f"Saved since hand-over: {saved}; {promise}."


def _findings(facts: MonthFacts, noted: dict[str, Noted], width: int) -> list[str]:
    fresh = [item for item in facts.findings if item.key not in noted]
    seen = len(facts.findings) - len(fresh)
    lines = ["What changed, and what to check first:"] if fresh else ["Nothing new is found."]
    for item in by_cost(fresh)[:MOST_ON_SCREEN]:
        amount = "cannot be told" if item.kwh is None else f"{wording.number(item.kwh)} kWh this month"
        words = clipped(f"{item.finding['where']}: {item.finding['what']}", LONGEST - len(amount) - 2)
        lines += _wrapped(f"[{item.key}] ", f"{words}; {amount}", width)
        checks = item.finding.get("check_first") or []
        lines += _wrapped("    first: ", str(checks[0]), width) if checks else []
    more = len(fresh) - MOST_ON_SCREEN
    lines += [f"and {wording.counted(more, 'finding')} more, on the page."] if more > 0 else []
    return [*lines, f"Acknowledged: {seen}."] if seen else lines


def _wrapped(mark: str, text: str, width: int) -> list[str]:
    text = textwrap.shorten(text, LONGEST, placeholder="…")
    return textwrap.wrap(text, width, initial_indent=mark, subsequent_indent=" " * min(len(mark), 11))
