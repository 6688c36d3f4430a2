"""Normalised savings: both models at one typical year; and the mean reduction in a window."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.mixture import StudentMixture
from mv.savings.avoided import avoided_on_metered_days
from mv.savings.model import EnergyModel
from mv.savings.short_metering import annualised_use, own_change_kwh


@dataclass(frozen=True, slots=True)
class NormalisedSavings:
    """Savings in a typical year, kWh; and each model's own annual use.

    `extrapolated_share`: by period, the share of its annual use in months of which no day was metered;
    `extrapolation_half_width`: what these months add to the interval of `annual`.
    """

    annual: Estimate
    baseline_annual: Estimate
    reporting_annual: Estimate
    extrapolated_share: Mapping[str, float] = field(default_factory=dict)
    extrapolation_half_width: float = 0.0


def normalised_annual(
    baseline_model: EnergyModel,
    reporting_model: EnergyModel,
    typical_drivers: pd.DataFrame,
    *,
    confidence: float,
    metering_accuracy: float = 0.0,
    metered_days: tuple[pd.DatetimeIndex, pd.DatetimeIndex] | None = None,
) -> NormalisedSavings:
    """The baseline model's annual use less the reporting model's, at the same typical days.

    The interval holds both models' coefficient uncertainty, persistence included; a typical year has
    no departures of its own. The two periods' errors are independent, but for the meter's, which
    acts on the difference. With `metered_days` (of the baseline, of the reporting period), months of
    the year without a metered day widen the interval as `annualised_use` says; a whole building may have
    changed by itself between the periods.
    """
    days = metered_days or (pd.DatetimeIndex(typical_drivers.index),) * 2
    before = annualised_use(baseline_model, days[0], typical_drivers, confidence=confidence)
    after = annualised_use(reporting_model, days[1], typical_drivers, confidence=confidence)
    uses = (before, after)
    beliefs = [
        model.mean_total(typical_drivers).widened((use.extrapolation_half_width / _normal(confidence)) ** 2)
        for model, use in zip((baseline_model, reporting_model), uses, strict=True)
    ]
    metering = metering_accuracy * abs(beliefs[0].mean - beliefs[1].mean)
    own_change = own_change_kwh(baseline_model.kind, beliefs[0].mean)
    beliefs[0] = beliefs[0].widened(own_change**2)
    annual = difference(*beliefs, confidence=confidence, extra_half_width=metering)
    return NormalisedSavings(
        annual=annual,
        baseline_annual=before.annual,
        reporting_annual=after.annual,
        extrapolated_share={"baseline": before.extrapolated_share, "reporting": after.extrapolated_share},
        extrapolation_half_width=math.hypot(*(use.extrapolation_half_width for use in uses)),
    )


def _normal(confidence: float) -> float:
    from scipy.special import ndtri

    return float(ndtri(0.5 + confidence / 2))


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
    total, days = avoided_on_metered_days(
        model, drivers, actual, confidence=confidence, metering_accuracy=metering_accuracy
    )
    if total is None:
        return CannotSay("peak_kw", "no day of the peak window has a usable reading")
    return total.scaled(1.0 / days)
