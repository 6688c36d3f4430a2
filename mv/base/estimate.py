"""A number with its interval, or a sentence that says why there is none."""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Estimate:
    """A two-sided interval about an estimate; a yes/no estimate has no low and high.

    `standard_error` has the estimate's unit; None where the interval does not come from one.
    """

    estimate: float | bool
    low: float | None
    high: float | None
    confidence: float
    standard_error: float | None = None

    def __post_init__(self) -> None:
        if not 0.0 < self.confidence < 1.0:
            raise ValueError(f"confidence must lie between 0 and 1, not {self.confidence}")
        for name in ("estimate", "low", "high"):
            value = getattr(self, name)
            if value is not None and not math.isfinite(value):
                raise ValueError(f"{name} is {value}: give a CannotSay instead")
            if hasattr(value, "item"):  # an array's scalar, which JSON and records do not know
                object.__setattr__(self, name, value.item())

    def scaled(self, factor: float) -> "Estimate":
        """The same estimate in another unit or times an exact number; a negative factor swaps ends."""
        if self.low is None or self.high is None:
            raise ValueError("a yes/no estimate cannot be scaled")
        ends = sorted((self.low * factor, self.high * factor))
        error = None if self.standard_error is None else abs(factor) * self.standard_error
        return Estimate(self.estimate * factor, ends[0], ends[1], self.confidence, error)

    @property
    def excludes_zero(self) -> bool:
        """True when the whole interval lies on one side of zero."""
        return self.low is not None and self.high is not None and self.low * self.high > 0

    def as_json(self) -> dict[str, float | bool | None]:
        """The object that result.json carries."""
        return {
            "estimate": self.estimate,
            "low": self.low,
            "high": self.high,
            "confidence": self.confidence,
        }


@dataclass(frozen=True, slots=True)
class CannotSay:
    """A quantity that the data do not support, and why, in a sentence for the reader."""

    what: str
    why: str

    def as_json(self) -> dict[str, str]:
        """The entry in result.json's `cannot_say` list."""
        return {"what": self.what, "why": self.why}


Answer = Estimate | CannotSay
