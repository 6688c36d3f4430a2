"""Normalised savings: both models at one typical year; and the mean reduction in a window."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.mixture import StudentMixture
from mv.savings.avoided import avoided_energy
from mv.savings.model import EnergyModel


@dataclass(frozen=True, slots=True)
class NormalisedSavings:
    """Savings in a typical year, kWh; and each model's own annual use."""

    annual: Estimate
    baseline_annual: Estimate
    reporting_annual: Estimate


def normalised_annual(
    baseline_model: EnergyModel,
    reporting_model: EnergyModel,
    typical_drivers: pd.DataFrame,
    *,
    confidence: float,
    metering_accuracy: float = 0.0,
) -> NormalisedSavings:
    """The baseline model's annual use less the reporting model's, at the same typical days.

    The interval holds both models' coefficient uncertainty, persistence included; a typical year has
    no departures of its own. The two periods' errors are independent, but for the meter's, which
    acts on the difference.
    """
    before = baseline_model.mean_total(typical_drivers)
    after = reporting_model.mean_total(typical_drivers)
    metering = metering_accuracy * abs(before.mean - after.mean)
    return NormalisedSavings(
        annual=difference(before, after, confidence=confidence, extra_half_width=metering),
        baseline_annual=before.estimate(confidence),
        reporting_annual=after.estimate(confidence),
    )


def difference(
    one: StudentMixture, other: StudentMixture, *, confidence: float, extra_half_width: float = 0.0
) -> Estimate:
    """Interval of `one` less `other`, independent: the half-widths add in quadrature, side by side."""
    tail = (1 - confidence) / 2
    centre = one.mean - other.mean
    below = (one.mean - one.quantile(tail), other.quantile(1 - tail) - other.mean, extra_half_width)
    above = (one.quantile(1 - tail) - one.mean, other.mean - other.quantile(tail), extra_half_width)
    error = float(np.hypot(one.standard_deviation, other.standard_deviation))
    return Estimate(
        centre,
        centre - float(np.sqrt(np.sum(np.square(below)))),
        centre + float(np.sqrt(np.sum(np.square(above)))),
        confidence,
        error,
    )


def mean_reduction(
    model: EnergyModel,
    drivers: pd.DataFrame,
    actual: pd.Series,
    *,
    confidence: float,
    metering_accuracy: float = 0.0,
) -> Answer:
    """Mean over the reporting days of the baseline model's window power less the metered one, kW.

    `model` is fitted to mean kW in the window on eligible days; `drivers` and `actual` hold the
    eligible reporting days only. Days without a reading are left out.
    """
    avoided = avoided_energy(
        model, drivers, actual, confidence=confidence, metering_accuracy=metering_accuracy
    )
    if isinstance(avoided.total, CannotSay):
        return CannotSay("peak_kw", "no day of the peak window has a usable reading")
    return avoided.total.scaled(1.0 / avoided.days)
