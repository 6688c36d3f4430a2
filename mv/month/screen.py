"""The month on a terminal."""

import textwrap

from mv.base import wording
from mv.month.facts import MonthFacts
from mv.month.page import Noted, lead_sentence

WIDTH = 78


def month_text(facts: MonthFacts, noted: dict[str, Noted], cautions: list[str]) -> str:
    """Lead sentence, the running total, the findings not yet acknowledged."""
    lines = [lead_sentence(facts), _running(facts), "", *_findings(facts, noted)]
    if cautions:
        lines += ["", *_wrapped("Take care: ", cautions[0])]
    return "\n".join(lines).replace(wording.NO_BREAK, " ") + "\n"


def _running(facts: MonthFacts) -> str:
    low, high = facts.running_ends or (0.0, 0.0)
    saved = wording.number(facts.saved_so_far, step=wording.step_of((high - low) / 2))
    if facts.promised_so_far is None:
        return f"Saved since hand-over: {saved} kWh; the study holds no promise."
    due = wording.number(facts.promised_so_far, step=100 if facts.promised_so_far > 5000 else 1)
    return f"Saved since hand-over: {saved} kWh; the promise spread over the days comes to {due} kWh."


def _findings(facts: MonthFacts, noted: dict[str, Noted]) -> list[str]:
    fresh = [item for item in facts.findings if item.key not in noted]
    seen = len(facts.findings) - len(fresh)
    lines = ["What changed, and what to check first:"] if fresh else ["Nothing new is found."]
    for item in fresh:
        amount = "cannot be told" if item.kwh is None else f"{wording.number(item.kwh)} kWh this month"
        lines += _wrapped(f"[{item.key}] ", f"{item.finding['where']}: {item.finding['what']}; {amount}")
        checks = item.finding.get("check_first") or []
        lines += _wrapped("    first: ", str(checks[0])) if checks else []
    return [*lines, f"Acknowledged: {seen}."] if seen else lines


def _wrapped(mark: str, text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=mark, subsequent_indent=" " * min(len(mark), 11))
