"""Figures: results -> plotly figures with their words and numbers, shared by report and dashboard."""

from mv.figures.answers import (
    PlainAnswer,
    certainty_answer,
    lasting_answer,
    promise_answer,
    three_answers,
)
from mv.figures.bridge_steps import bridge
from mv.figures.day_by_hour import coverage_map, power_map
from mv.figures.days import daily_energy
from mv.figures.model_fit import model_scatter, residuals
from mv.figures.months import monthly_energy
from mv.figures.palette import DARK, LIGHT, Palette, Scheme, palette
from mv.figures.profiles import typical_day, typical_week
from mv.figures.promise import running_total, savings_against_promise
from mv.figures.screen_time import drawing_times, from_screen, wall_clock
from mv.figures.settings_history import seen_value, setting_history, setting_value, setting_words
from mv.figures.thinning import Thinned, thinned
from mv.figures.trace import readings
from mv.figures.worded import FigureWithWords

__all__ = [
    "DARK",
    "LIGHT",
    "FigureWithWords",
    "Palette",
    "PlainAnswer",
    "Scheme",
    "Thinned",
    "bridge",
    "certainty_answer",
    "coverage_map",
    "daily_energy",
    "drawing_times",
    "from_screen",
    "lasting_answer",
    "model_scatter",
    "monthly_energy",
    "palette",
    "power_map",
    "promise_answer",
    "readings",
    "residuals",
    "running_total",
    "savings_against_promise",
    "seen_value",
    "setting_history",
    "setting_value",
    "setting_words",
    "thinned",
    "three_answers",
    "typical_day",
    "typical_week",
    "wall_clock",
]
