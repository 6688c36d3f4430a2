"""One month of a verification, for the person who runs the building."""

from mv.month.facts import (
    ActiveFinding,
    MonthFacts,
    ZoneLoss,
    daily_totals,
    month_facts,
    month_named,
)
from mv.month.found import Noted
from mv.month.page import Extras, month_document, month_words, promised_so_far
from mv.month.screen import month_text

__all__ = [
    "ActiveFinding",
    "Extras",
    "MonthFacts",
    "Noted",
    "ZoneLoss",
    "daily_totals",
    "month_document",
    "month_facts",
    "month_named",
    "month_text",
    "month_words",
    "promised_so_far",
]
