"""Printed matter: a document's records as HTML and PDF, and charts as static SVG."""

from mv.paper.as_html import as_html
from mv.paper.as_pdf import as_pdf
from mv.paper.calendar_map import CalendarDay, calendar_map
from mv.paper.findings import (
    DayDots,
    HourLines,
    MonthLevel,
    days_with_levels,
    setting_by_month,
    usual_hours,
)
from mv.paper.months import MonthBar, RunningPoint, month_bars, running_total
from mv.paper.scatter import residuals_by_day
from mv.paper.steps import ChainStep, chain, interval_rule
from mv.paper.svg import Inks

__all__ = [
    "CalendarDay",
    "ChainStep",
    "DayDots",
    "HourLines",
    "Inks",
    "MonthBar",
    "MonthLevel",
    "RunningPoint",
    "as_html",
    "as_pdf",
    "calendar_map",
    "chain",
    "days_with_levels",
    "interval_rule",
    "month_bars",
    "residuals_by_day",
    "running_total",
    "setting_by_month",
    "usual_hours",
]
