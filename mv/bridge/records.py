"""A bridge: named steps from one figure to another that add up exactly."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from mv.base.estimate import Answer, CannotSay, Estimate

GRID = 1024.0
"""Steps are rounded to 1/1024 kWh: such numbers add up in floating point without any rounding."""
UNEXPLAINED = "unexplained"


@dataclass(frozen=True, slots=True)
class BridgeStep:
    """One step, kWh, and what it was worked out from.

    `by_part` is the same step by meter, where it was worked out so; `by_strategy` the control
    step by control strategy. `note` explains a size that surprises, such as a measure that costs.
    """

    step: str
    kwh: Answer
    why: str
    by_part: Mapping[str, Answer] = field(default_factory=dict)
    by_strategy: Mapping[str, Answer] = field(default_factory=dict)
    note: str | None = None

    def as_json(self) -> dict[str, Any]:
        """The entry in result.json; a step that cannot be told has null kWh."""
        entry: dict[str, Any] = {"step": self.step, "kwh": _json(self.kwh), "why": self.why}
        if self.note is not None:
            entry["note"] = self.note
        for key in ("by_part", "by_strategy"):
            parts = getattr(self, key)
            if parts:
                entry[key] = {name: _json(answer) for name, answer in parts.items()}
        return entry


@dataclass(frozen=True, slots=True)
class Bridge:
    """Steps from `start` to `end`; the estimates of `steps`, summed, are `total.estimate`.

    `start_kwh` and `end_kwh` are the two piers; `total` is what lies between them, signed so that
    a step that saves energy (or adds to the proof) is positive. `total` is CannotSay where a pier
    is not known; there are no steps then.
    """

    start: str
    start_kwh: Answer
    end: str
    end_kwh: Answer
    total: Answer
    steps: tuple[BridgeStep, ...]

    def of_meter(self, meter: str, *, factor: float = 1.0) -> dict[str, Answer]:
        """Each step's share of one meter, times a factor such as year over period."""
        shares = {step.step: step.by_part.get(meter) for step in self.steps}
        return {
            name: answer.scaled(factor) if isinstance(answer, Estimate) else answer
            for name, answer in shares.items()
            if answer is not None
        }

    @property
    def cannot_say(self) -> tuple[CannotSay, ...]:
        """The steps that cannot be told, and the total where it cannot."""
        told = [step.kwh for step in self.steps] + [self.total]
        return tuple(answer for answer in told if isinstance(answer, CannotSay))

    def as_json(self) -> list[dict[str, Any]]:
        """The list that result.json carries."""
        return [step.as_json() for step in self.steps]


def closed(
    steps: Sequence[BridgeStep],
    total: Estimate,
    *,
    remainder_why: str,
    remainder_half: float | None = None,
) -> tuple[BridgeStep, ...]:
    """The steps on the grid, and a last one that takes what is left of `total`.

    The remainder's interval joins those of the total and of the told steps in quadrature, as if
    independent, unless its half-width is given.
    """
    told = [replace(step, kwh=on_grid(step.kwh)) for step in steps]
    known = [step.kwh for step in told if isinstance(step.kwh, Estimate)]
    rest = float(total.estimate) - math.fsum(float(answer.estimate) for answer in known)
    half = remainder_half
    if half is None:
        half = math.hypot(*(half_width(answer) for answer in (total, *known)))
    remainder = Estimate(rest, rest - half, rest + half, total.confidence)
    return (*told, BridgeStep(UNEXPLAINED, remainder, remainder_why))


def half_width(answer: Estimate) -> float:
    """Half of the interval; 0 where there is none."""
    if answer.low is None or answer.high is None:
        return 0.0
    return (answer.high - answer.low) / 2.0


def on_grid(answer: Answer) -> Answer:
    """The answer with its estimate on the grid, so that sums of such answers are exact."""
    if isinstance(answer, CannotSay):
        return answer
    value = round(float(answer.estimate) * GRID) / GRID
    low = value if answer.low is None else min(answer.low, value)
    high = value if answer.high is None else max(answer.high, value)
    return Estimate(value, low, high, answer.confidence, answer.standard_error)


def _json(answer: Answer) -> dict[str, Any] | None:
    return answer.as_json() if isinstance(answer, Estimate) else None
