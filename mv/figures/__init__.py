"""Figures: results -> plotly figures with their words and numbers, shared by report and dashboard."""

from mv.base.setting_words import setting_words
from mv.base.unsaid import unsaid_words
from mv.figures.answers import (
    PlainAnswer,
    certainty_answer,
    lasting_answer,
    promise_answer,
    three_answers,
)
from mv.figures.bridge_steps import bridge
from mv.figures.by_meter import meter_savings, meter_savings_px
from mv.figures.day_by_hour import coverage_map, power_map, site_map
from mv.figures.days import daily_energy
from mv.figures.drift_words import changes_of, costliest_first, drift_sentence, gaps_of, monthly_amount
from mv.figures.finding_days import finding_days
from mv.figures.found import Picture, day_after, finding_setting, found, pictures_of, shown_setting
from mv.figures.found_days import FoundDays, days_found, in_spells, weekly_mean
from mv.figures.found_hours import FoundHours, finding_hours, hours_found
from mv.figures.model_fit import model_scatter, residuals
from mv.figures.month import drift_in_month, month_answer, month_days, month_words, months_told
from mv.figures.months import monthly_energy
from mv.figures.palette import DARK, LIGHT, Palette, Scheme, palette, ramp, scheme_named, veiled
from mv.figures.profiles import typical_day, typical_week
from mv.figures.promise import running_total, savings_against_promise
from mv.figures.result_parts import estimate, part, rows, why_not
from mv.figures.screen_time import drawing_times, from_screen, wall_clock
from mv.figures.settings_history import months_of, seen_value, setting_history, setting_value
from mv.figures.thinning import Thinned, thinned
from mv.figures.trace import readings
from mv.figures.worded import FigureWithWords, not_drawn
from mv.figures.wording import (
    amount,
    beside,
    between,
    counted,
    day_words,
    half_width,
    listed,
    money,
    number,
    per_cent,
    settled,
    share_with_interval,
    with_interval,
)

__all__ = [
    "DARK",
    "LIGHT",
    "FigureWithWords",
    "FoundDays",
    "FoundHours",
    "Palette",
    "Picture",
    "PlainAnswer",
    "Scheme",
    "Thinned",
    "amount",
    "beside",
    "between",
    "bridge",
    "certainty_answer",
    "changes_of",
    "costliest_first",
    "counted",
    "coverage_map",
    "daily_energy",
    "day_after",
    "day_words",
    "days_found",
    "drawing_times",
    "drift_in_month",
    "drift_sentence",
    "estimate",
    "finding_days",
    "finding_hours",
    "finding_setting",
    "found",
    "from_screen",
    "gaps_of",
    "half_width",
    "hours_found",
    "in_spells",
    "lasting_answer",
    "listed",
    "meter_savings",
    "meter_savings_px",
    "model_scatter",
    "money",
    "month_answer",
    "month_days",
    "month_words",
    "monthly_amount",
    "monthly_energy",
    "months_of",
    "months_told",
    "not_drawn",
    "number",
    "palette",
    "part",
    "per_cent",
    "pictures_of",
    "power_map",
    "promise_answer",
    "ramp",
    "readings",
    "residuals",
    "rows",
    "running_total",
    "savings_against_promise",
    "scheme_named",
    "seen_value",
    "setting_history",
    "setting_value",
    "setting_words",
    "settled",
    "share_with_interval",
    "shown_setting",
    "site_map",
    "thinned",
    "three_answers",
    "typical_day",
    "typical_week",
    "unsaid_words",
    "veiled",
    "wall_clock",
    "weekly_mean",
    "why_not",
    "with_interval",
]
