"""How far the mean of a few days may lie from a model of many: read off the baseline's own days."""

from dataclasses import replace

import numpy as np
import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate

MOST_DAYS = 10
"""Reporting days up to which their own departures are read off the baseline's. No source."""
FEWEST_RUNS = 10
"""Runs of baseline days below which nothing is read off. No source."""


def departures_of_runs(residuals: pd.Series, days: int) -> np.ndarray:
    """Mean departure of every run of `days` neighbouring baseline days from the model, kW."""
    values = residuals.sort_index().to_numpy(dtype=np.float64)
    if len(values) < days:
        return np.zeros(0)
    totals = np.cumsum(np.append(0.0, values))
    return np.asarray((totals[days:] - totals[:-days]) / days)


def with_departures(answer: Answer, residuals: pd.Series, *, days: int) -> Answer:
    """The reduction of a few days, its interval reaching as far as as few baseline days departed.

    Lights are often either on or half on, so the departure of one hour or of three days has two
    humps that no bell holds. The bounds are the order statistics of conformal prediction (Vovk,
    Gammerman and Shafer 2005, from memory): of n runs the k-th smallest and largest,
    k = (n + 1)(1 - confidence)/2. `residuals` are of all metered baseline days, none left out.
    """
    if isinstance(answer, CannotSay) or days > MOST_DAYS or answer.low is None or answer.high is None:
        return answer
    departures = np.sort(departures_of_runs(residuals, days))
    if len(departures) < FEWEST_RUNS:
        return answer
    return _stretched(answer, departures)


def _stretched(answer: Estimate, departures: np.ndarray) -> Estimate:
    runs = len(departures)
    place = max(1, int(np.floor((runs + 1) * (1.0 - answer.confidence) / 2.0)))
    value = float(answer.estimate)
    low = min(float(answer.low or 0.0), value + float(departures[place - 1]))
    high = max(float(answer.high or 0.0), value + float(departures[runs - place]))
    return replace(answer, low=low, high=high)
