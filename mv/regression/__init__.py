"""Models of energy on its drivers, and what they know of other days."""

from mv.regression.bills import fit_bills
from mv.regression.change_points import TwoLines, switching_elevation_deg, two_lines
from mv.regression.darkness import follows_darkness
from mv.regression.events import EventCandidate, event_candidates, level_changes
from mv.regression.findings import Finding
from mv.regression.fit import fit
from mv.regression.fitted import Criterion, FittedModel, Term
from mv.regression.forms import HOURLY_SUM, Form, Kind
from mv.regression.hourly import expected_by_hour
from mv.regression.least_squares import LeastSquares, least_squares
from mv.regression.noise import NoiseGrid, noise_grid
from mv.regression.posterior import Posterior, posterior
from mv.regression.selection import Alternative
from mv.regression.statistics import (
    cv_rmse,
    durbin_watson,
    lag1_autocorrelation,
    net_bias,
    nmbe,
    r_squared,
)
from mv.regression.terms import label

__all__ = [
    "HOURLY_SUM",
    "Alternative",
    "Criterion",
    "EventCandidate",
    "Finding",
    "FittedModel",
    "Form",
    "Kind",
    "LeastSquares",
    "NoiseGrid",
    "Posterior",
    "Term",
    "TwoLines",
    "cv_rmse",
    "durbin_watson",
    "event_candidates",
    "expected_by_hour",
    "fit",
    "fit_bills",
    "follows_darkness",
    "label",
    "lag1_autocorrelation",
    "least_squares",
    "level_changes",
    "net_bias",
    "nmbe",
    "noise_grid",
    "posterior",
    "r_squared",
    "switching_elevation_deg",
    "two_lines",
]
