"""What precision a sample of readings has reached."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from mv.base.errors import InputError
from mv.base.estimate import CannotSay, Estimate
from mv.sampling.plan import SamplingPlan, sampling_plan


@dataclass(frozen=True, slots=True)
class AchievedPrecision:
    """The sample's mean with its interval, and what it says about the plan.

    `relative_precision` is half the interval over the mean. `needed` is the plan made again with
    the coefficient of variation that was found.
    """

    readings: int
    mean: Estimate
    cv: float
    relative_precision: float
    met: bool
    needed: SamplingPlan


def finite_population_factor(*, sample: int, population: int | None) -> float:
    """Factor on the standard error of the mean, sqrt(1 - n/N).

    Cochran, Sampling Techniques, 1977, ch. 2 (from memory), for a deviation worked out with
    n - 1, as here. 1 for an unlimited population.
    """
    return 1.0 if population is None else math.sqrt(max(0.0, 1.0 - sample / population))


def achieved_precision(
    readings: Sequence[float],
    *,
    population: int | None = None,
    precision: float = 0.10,
    confidence: float = 0.90,
) -> AchievedPrecision | CannotSay:
    """Mean, Student-t interval and relative precision of a simple random sample of readings."""
    what = "achieved precision"
    values = [float(value) for value in readings]
    if any(not math.isfinite(value) for value in values):
        raise InputError("a reading is not a number", place="readings", remedy="Take it out.")
    if population is not None and len(values) > population:
        raise InputError(
            f"{len(values)} readings from a population of {population}",
            place="readings",
            remedy="Give the population that the readings were drawn from.",
        )
    if len(values) < 2:
        return CannotSay(what, f"it takes two readings or more, not {len(values)}")
    mean = math.fsum(values) / len(values)
    if mean <= 0:
        return CannotSay(what, "the mean of the readings is not above zero")
    return _achieved(values, mean, population, precision, confidence)


def _achieved(
    values: Sequence[float],
    mean: float,
    population: int | None,
    precision: float,
    confidence: float,
) -> AchievedPrecision:
    n = len(values)
    deviation = math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (n - 1))
    error = deviation / math.sqrt(n) * finite_population_factor(sample=n, population=population)
    half = student_quantile(confidence, degrees=n - 1) * error
    needed = sampling_plan(population, cv=deviation / mean, precision=precision, confidence=confidence)
    return AchievedPrecision(
        readings=n,
        mean=Estimate(mean, mean - half, mean + half, confidence, error),
        cv=deviation / mean,
        relative_precision=half / mean,
        met=half / mean <= precision,
        needed=needed,
    )


def student_quantile(confidence: float, *, degrees: float) -> float:
    """Two-sided quantile of Student's t: 1.7139 at 0.90 and 23 degrees of freedom."""
    from scipy.special import stdtrit

    return float(stdtrit(degrees, 0.5 + confidence / 2.0))
