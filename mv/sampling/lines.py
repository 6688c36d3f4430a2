"""The sampling plan in words, for the screen."""

from collections.abc import Sequence

from mv.base.estimate import CannotSay
from mv.sampling.achieved import AchievedPrecision, achieved_precision
from mv.sampling.plan import DEFAULT_CV, FEW_LOGGERS, SamplingPlan, sampling_plan


def sample_lines(
    population: int | None,
    *,
    cv: float = DEFAULT_CV,
    precision: float = 0.10,
    confidence: float = 0.90,
    readings: Sequence[float] | None = None,
) -> list[str]:
    """What `tallylux sample` prints. Raises InputError where a figure cannot be meant."""
    plan = sampling_plan(population, cv=cv, precision=precision, confidence=confidence)
    lines = _plan_lines(plan)
    if readings is not None:
        reached = achieved_precision(
            readings, population=population, precision=precision, confidence=confidence
        )
        lines += ["", *_achieved_lines(reached, precision)]
    return lines


def _plan_lines(plan: SamplingPlan) -> list[str]:
    size = "an unlimited number" if plan.population is None else f"{plan.population}"
    lines = [
        f"Loggers needed: {plan.loggers} of {size} "
        f"(plus {plan.spares} spare for loss; common practice, no source)",
        f"  for {plan.precision:.0%} precision at {plan.confidence:.0%} confidence, "
        f"assuming a coefficient of variation of {plan.cv:g}",
        f"  unlimited population (z cv / e)^2 = {plan.unlimited:.3f}"
        + ("" if plan.population is None else f"; this population {plan.finite:.3f}; rounded up"),
    ]
    if plan.loggers < FEW_LOGGERS and plan.loggers != plan.population:
        lines.append("  a small sample: the precision reached will be judged with Student's t")
    lines += [
        "Draw at random within one usage group: the same use and the same control.",
        "Carry the result to the group by connected kW, not by logger count.",
        "Caution: loggers and current transformers in panels are for qualified people, "
        "under the local electrical code.",
    ]
    return lines


def _achieved_lines(reached: AchievedPrecision | CannotSay, precision: float) -> list[str]:
    if isinstance(reached, CannotSay):
        return [f"Precision reached: cannot say; {reached.why}."]
    verdict = "met" if reached.met else "not met"
    mean = reached.mean
    lines = [
        f"Precision reached: {reached.relative_precision:.1%} ({verdict}; asked {precision:.0%})",
        f"  {reached.readings} readings, mean {mean.estimate:.6g}, "
        f"{mean.confidence:.0%} interval {mean.low:.6g} to {mean.high:.6g}, "
        f"coefficient of variation found {reached.cv:.3f}",
    ]
    if not reached.met:
        lines.append(f"  with this variation the plan asks for {reached.needed.loggers} loggers")
    return lines
