"""What a typical year would save: the mean over many years of other people and other skies."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from mv.simulate.design import SiteDesign
from mv.simulate.site import simulate_site


@dataclass(frozen=True)
class ExpectedSavings:
    """Mean avoided kWh of the reporting period, its standard error, and its spread from year to year."""

    kwh: float
    standard_error: float
    spread: float
    per_year_kwh: float


def expected_savings(design: SiteDesign, seeds: Iterable[int]) -> ExpectedSavings:
    """Simulate the same design with each seed; people and weather differ, settings and changes do not."""
    saved = np.array([simulate_site(design, seed).avoided_kwh for seed in seeds])
    if len(saved) < 2:
        raise ValueError("expected savings need at least two seeds")
    spread = float(saved.std(ddof=1))
    days = (design.reporting[1] - design.reporting[0]).days + 1
    mean = float(saved.mean())
    return ExpectedSavings(mean, spread / float(np.sqrt(len(saved))), spread, mean * 365.25 / days)
