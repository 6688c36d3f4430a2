"""Savings from two models and a meter: avoided, normalised, at peak, and over all meters."""

from mv.savings.avoided import AvoidedEnergy, PeriodAvoided, avoided_by, avoided_energy
from mv.savings.combine import combine, residual_correlation
from mv.savings.model import EnergyModel
from mv.savings.normalised import NormalisedSavings, mean_reduction, normalised_annual

__all__ = [
    "AvoidedEnergy",
    "EnergyModel",
    "NormalisedSavings",
    "PeriodAvoided",
    "avoided_by",
    "avoided_energy",
    "combine",
    "mean_reduction",
    "normalised_annual",
    "residual_correlation",
]
