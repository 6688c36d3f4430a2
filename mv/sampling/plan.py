"""How many loggers a population needs, before anything is measured."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from mv.base.errors import InputError

DEFAULT_CV = 0.5
"""Coefficient of variation assumed before measuring; IPMVP and FEMP practice (from memory)."""
SPARE_FRACTION = 0.15
"""Spare loggers for loss, share of the sample; 10-20 % is common practice, no source."""
FEW_LOGGERS = 30
"""Below it Student's t asks for slightly more than the normal quantile of the plan."""
_ROUNDING_GUARD = 1e-9


@dataclass(frozen=True, slots=True)
class SamplingPlan:
    """The sample for one usage group; `population` is None for an unlimited one."""

    population: int | None
    cv: float
    precision: float
    confidence: float
    unlimited: float
    finite: float
    loggers: int

    @property
    def spares(self) -> int:
        """Loggers to add for loss."""
        return math.ceil(self.loggers * SPARE_FRACTION)


def normal_quantile(confidence: float) -> float:
    """Two-sided standard normal quantile: 1.645 at 0.90."""
    from scipy.special import ndtri

    return float(ndtri(0.5 + confidence / 2.0))


def unlimited_sample(*, cv: float, precision: float, confidence: float) -> float:
    """Unrounded sample of an unlimited population, n0 = (z cv / e)^2.

    IPMVP and FEMP sampling practice (from memory); `precision` is relative to the mean and
    two-sided, z the normal quantile (1.644854 at 0.90, not the rounded 1.64 or 1.645). Valid for
    a simple random sample of one usage group.
    """
    return (normal_quantile(confidence) * cv / precision) ** 2


def finite_sample(unlimited: float, *, population: float) -> float:
    """Unrounded sample after the finite-population correction, n = n0 N / (n0 + N).

    IPMVP (from memory). Never above the population.
    """
    return unlimited * population / (unlimited + population)


def sampling_plan(
    population: int | None,
    *,
    cv: float = DEFAULT_CV,
    precision: float = 0.10,
    confidence: float = 0.90,
) -> SamplingPlan:
    """The number of loggers for one usage group; the unrounded figure is rounded up, once.

    Raises InputError where a figure cannot be meant.
    """
    _refuse_impossible(population, cv, precision, confidence)
    unlimited = unlimited_sample(cv=cv, precision=precision, confidence=confidence)
    finite = unlimited if population is None else finite_sample(unlimited, population=population)
    loggers = max(1, math.ceil(finite - _ROUNDING_GUARD))
    if population is not None:
        loggers = min(loggers, population)
    return SamplingPlan(population, cv, precision, confidence, unlimited, finite, loggers)


def _refuse_impossible(population: int | None, cv: float, precision: float, confidence: float) -> None:
    checks: Sequence[tuple[bool, str, object, str]] = (
        (population is not None and population < 1, "--population", population, "Give 1 or more."),
        (not 0 <= cv < math.inf, "--cv", cv, "Give zero or more, such as 0.5."),
        (not 0 < precision < 1, "--precision", precision, "Give a fraction such as 0.10 for 10 %."),
        (not 0 < confidence < 1, "--confidence", confidence, "Give a fraction such as 0.90."),
    )
    for wrong, key, value, remedy in checks:
        if wrong:
            raise InputError("cannot be so", place=key, value=value, remedy=remedy)
