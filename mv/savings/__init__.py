"""Savings from two models and a meter: avoided, normalised, at peak, and over all meters."""

from mv.savings.avoided import AvoidedEnergy, PeriodAvoided, avoided_by, avoided_energy
from mv.savings.combine import combine, residual_correlation
from mv.savings.model import EnergyModel
from mv.savings.normalised import NormalisedSavings, mean_reduction, normalised_annual
from mv.savings.population import Carried, PopulationUse, Sample, carried, population_use
from mv.savings.short_metering import AnnualisedUse, annualised_use, in_unseen_months, unseen_season

__all__ = [
    "AnnualisedUse",
    "AvoidedEnergy",
    "Carried",
    "EnergyModel",
    "NormalisedSavings",
    "PeriodAvoided",
    "PopulationUse",
    "Sample",
    "annualised_use",
    "avoided_by",
    "avoided_energy",
    "carried",
    "combine",
    "in_unseen_months",
    "mean_reduction",
    "normalised_annual",
    "population_use",
    "residual_correlation",
    "unseen_season",
]
