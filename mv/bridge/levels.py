"""Full and vacant level of each zone of a meter, kW, from its power in the dark and its motion."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

DARK_BELOW_DEG = -3.0
"""Sun elevation below which daylight dims no lamp. Common practice, no source."""
FEWEST_VACANT_HOURS = 1.5
"""Hours wholly vacant and open that show a vacant level. Common practice, no source."""
FEWEST_VACANT_DAYS = 3
"""Days with such hours: one odd day shows no level. Common practice, no source."""
FEWEST_HELD_HOURS = 6.0
"""Hours held (and as many not held) that a fit needs. Common practice, no source."""


@dataclass(frozen=True)
class Levels:
    """Levels of one spell, kW: `floor` when closed and vacant; each zone's rise above it.

    `held` is the rise while held as occupied, `vacant` while vacant in opening hours.
    `covariance` is of (floor, held of each zone, vacant of each zone). `unseen` are the zones
    whose vacant level the fit could not see; theirs is 0 until another source gives it.
    """

    floor: float
    held: Floats
    vacant: Floats
    covariance: Floats
    misfit_fraction: float
    unseen: tuple[int, ...] = ()

    @property
    def vector(self) -> Floats:
        """(floor, held of each zone, vacant of each zone)."""
        return np.concatenate([[self.floor], self.held, self.vacant])


def fit_levels(
    power_kw: Floats, held: Floats, is_open: Bools, *, day: npt.NDArray[np.int64], hours: float
) -> Levels | None:
    """Least squares of power on held share and vacant-and-open share of each zone.

    `held` and `is_open` are (intervals, zones) of the intervals to be used; `hours` is the length
    of one. The covariance is clustered by day (White's sandwich with the scores summed over each
    day; Cameron and Miller 2015, Journal of Human Resources 50(2), from memory). None where a
    zone was too seldom held or too seldom not.
    """
    zones = held.shape[1]
    if any(not _enough(held[:, z], hours) for z in range(zones)):
        return None
    vacant = (1.0 - held) * is_open
    wholly = (held <= 0.0) & is_open
    rises = (wholly.sum(axis=0) * hours >= FEWEST_VACANT_HOURS) & (
        vacant.sum(axis=0) * hours >= FEWEST_VACANT_HOURS
    )
    days = np.array([len(np.unique(day[wholly[:, z]])) for z in range(zones)])
    rises &= days >= FEWEST_VACANT_DAYS
    design = np.column_stack([np.ones(len(power_kw)), held, vacant[:, rises]])
    gram = design.T @ design
    if np.linalg.cond(gram) > 1e12:
        return None
    theta = np.linalg.solve(gram, design.T @ power_kw)
    residual = power_kw - design @ theta
    spread = _clustered(design, residual, np.linalg.inv(gram), day)
    keep = np.concatenate([np.ones(1 + zones, dtype=bool), rises])
    full, covariance = np.zeros(1 + 2 * zones), np.zeros((1 + 2 * zones, 1 + 2 * zones))
    full[keep] = theta
    covariance[np.ix_(keep, keep)] = spread
    misfit = float(np.abs(residual).sum() / max(np.abs(power_kw).sum(), 1e-9))
    unseen = tuple(int(z) for z in np.flatnonzero(~rises))
    return Levels(float(full[0]), full[1 : 1 + zones], full[1 + zones :], covariance, misfit, unseen)


def squared_misfit(power_kw: Floats, held: Floats, is_open: Bools) -> float:
    """Sum of squared residuals of the same fit, for comparing hold times."""
    vacant = (1.0 - held) * is_open
    design = np.column_stack([np.ones(len(power_kw)), held, vacant])
    theta, *_ = np.linalg.lstsq(design, power_kw, rcond=None)
    residual = power_kw - design @ theta
    return float(residual @ residual)


def _enough(held: Floats, hours: float) -> bool:
    on = float(held.sum()) * hours
    off = float((1.0 - held).sum()) * hours
    return on >= FEWEST_HELD_HOURS and off >= FEWEST_HELD_HOURS


def _clustered(design: Floats, residual: Floats, inverse: Floats, day: npt.NDArray[np.int64]) -> Floats:
    scores = design * residual[:, None]
    _, code = np.unique(day, return_inverse=True)
    sums = np.zeros((int(code.max()) + 1, design.shape[1]))
    np.add.at(sums, code, scores)
    days, columns = sums.shape
    inflate = days / max(1.0, days - columns)
    return np.asarray(inflate * inverse @ (sums.T @ sums) @ inverse)
