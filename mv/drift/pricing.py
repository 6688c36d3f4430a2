"""What the told changes of a series cost, once it is known which are told.

The search prices all the changes it needs to follow the energy. Those that nobody is told of must take
no part of the energy of those that are; and where a change altered how the energy answers to people,
it is priced with that answer.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from mv.drift.expectation import Design, Fit, FloatArray, means_a_day, robust_fit
from mv.drift.shapes import FEWEST_FOR_SUN, change_columns
from mv.drift.step_search import Search, Step

PEOPLE = "motion_hours"  # driver that sensors answer to
ANSWERS = 4.0  # long-run standard errors from which an answer to people has changed; no source


def priced(plan: Design, result: Search, told: Sequence[Step]) -> Search:
    """The result with the told changes alone, each with all its energy."""
    kept = [step for step in result.steps if step in told]
    columns = [change_columns(plan, step.at) for step in kept]
    for place, step in enumerate(kept):
        people = _answer_to_people(plan, step)
        if people is not None:
            tried = [*columns[:place], np.column_stack([columns[place], people]), *columns[place + 1 :]]
            if _answers(plan, tried, place):
                columns = tried
    terms, fit = _fitted(plan, columns)
    found = [(step.at, block.shape[1]) for step, block in zip(kept, columns, strict=True)]
    means = means_a_day(plan, found, terms, fit)
    steps = tuple(
        replace(
            step,
            kwh_a_day=step.kwh_a_day * mean / step.mean_kwh_a_day if step.mean_kwh_a_day else mean,
            mean_kwh_a_day=mean,
            mean_error=error,
        )
        for step, (mean, error) in zip(kept, means, strict=True)
    )
    expected = plan.terms @ fit.coefficients[: plan.terms.shape[1]]
    return replace(result, steps=steps, fit=fit, expected_before=expected)


def _fitted(plan: Design, columns: Sequence[FloatArray]) -> tuple[FloatArray, Fit]:
    terms = np.hstack([plan.terms, *columns])
    return terms, robust_fit(terms, plan.energy, plan.days)


def _answer_to_people(plan: Design, step: Step) -> FloatArray | None:
    """The column of a changed answer to people, centred on the open days since; None without such."""
    if plan.outdoor or PEOPLE not in plan.names:
        return None
    people = plan.terms[:, plan.names.index(PEOPLE)]
    inside = plan.is_open & (np.arange(len(people)) >= step.at)
    before = plan.is_open & ~inside
    if min(inside.sum(), before.sum()) < FEWEST_FOR_SUN:
        return None
    return np.where(inside, people - people[inside].mean(), 0.0)


def _answers(plan: Design, columns: Sequence[FloatArray], place: int) -> bool:
    """True where the last column of a change is surely not nothing."""
    terms, fit = _fitted(plan, columns)
    at = plan.terms.shape[1] + sum(block.shape[1] for block in columns[: place + 1]) - 1
    cross = np.linalg.pinv((terms * fit.weights[:, None]).T @ terms)
    error = fit.long_run_noise * float(np.sqrt(max(float(cross[at, at]), 1e-18)))
    return abs(float(fit.coefficients[at])) >= ANSWERS * error
