"""How many loggers, and how precise a sample turned out."""

from mv.sampling.achieved import (
    AchievedPrecision,
    achieved_precision,
    finite_population_factor,
    student_quantile,
)
from mv.sampling.lines import sample_lines
from mv.sampling.plan import (
    SamplingPlan,
    finite_sample,
    normal_quantile,
    sampling_plan,
    unlimited_sample,
)

__all__ = [
    "AchievedPrecision",
    "SamplingPlan",
    "achieved_precision",
    "finite_population_factor",
    "finite_sample",
    "normal_quantile",
    "sample_lines",
    "sampling_plan",
    "student_quantile",
    "unlimited_sample",
]
