"""Numbers and intervals in words: the base's, under the name the figures use."""

from mv.base.wording import (
    NO_BREAK,
    EstimateDict,
    amount,
    beside,
    between,
    counted,
    day_words,
    half_width,
    in_unit,
    listed,
    money,
    number,
    per_cent,
    share_with_interval,
    step_of,
    with_interval,
)

__all__ = [
    "NO_BREAK",
    "EstimateDict",
    "amount",
    "beside",
    "between",
    "counted",
    "day_words",
    "half_width",
    "in_unit",
    "listed",
    "money",
    "number",
    "per_cent",
    "share_with_interval",
    "step_of",
    "with_interval",
]
