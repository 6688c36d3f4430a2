"""From values to places on the sheet, with round ticks."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

MOST_TICKS = 6


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight scale: value `low` at place `start`, value `high` at place `end`."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        reach = (self.high - self.low) or 1.0
        return self.start + (value - self.low) / reach * (self.end - self.start)

    def ticks(self, most: int = MOST_TICKS) -> list[float]:
        """Round values within the scale, at most about `most`."""
        step = round_step((self.high - self.low) / most)
        first = math.ceil(self.low / step - 1e-9)
        return [step * n for n in range(first, math.floor(self.high / step + 1e-9) + 1)]


def round_step(least: float) -> float:
    """The smallest of 1, 2, 5 times a power of ten that is not below `least`."""
    if not math.isfinite(least) or least <= 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(least))
    return next(power * factor for factor in (1, 2, 5, 10) if power * factor >= least * (1 - 1e-9))


def scale_over(values: Iterable[float | None], start: float, end: float, *, zero: bool = True) -> Scale:
    """A scale over the finite values (and nought), its far ends on round values."""
    known = [value for value in values if value is not None and math.isfinite(value)]
    known += [0.0] if zero or not known else []
    low, high = min(known), max(known)
    if low == high:
        high = low + 1.0
    step = round_step((high - low) / MOST_TICKS)
    return Scale(math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step, start, end)


def tick_words(value: float) -> str:
    """A tick's label: thousands parted, no needless decimals."""
    text = f"{value:,.10g}" if abs(value) < 1 else f"{value:,.6g}" if abs(value) < 1000 else f"{value:,.0f}"
    return text.replace("-", "−")
