"""The vacant level of a zone that was seldom seen open, vacant and dark."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from mv.bridge.levels import FEWEST_VACANT_DAYS, Levels

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

FEWEST_HOURS = 1.0
"""Vacant and open hours, at any height of the sun, that show the level. Common practice, no source."""
UNDIMMED_QUANTILE = 0.75
"""Daylight can only lower the vacant power, so a high quantile is the level itself. No source."""
DIMMED_ERROR = 0.3
"""Standard error of a vacant level seen only under daylight that dims, share of it. No source."""
AGREED_ERROR = 0.25
"""Standard error of a level that was agreed and never seen, share of it. No source."""


@dataclass(frozen=True)
class VacantLevel:
    """Rise of a vacant zone's power above the closed one, kW, and its standard error."""

    rise_kw: float
    error: float


def seen_by_day(
    power_kw: Floats,
    held: Floats,
    is_open: Bools,
    levels: Levels,
    *,
    zone: int,
    day: npt.NDArray[np.int64],
    hours: float,
) -> VacantLevel | None:
    """From all intervals in which the zone is open and vacant, the other zones taken off.

    Where daylight dims the zone it may have dimmed the vacant lamps too: see `where_dimmed`.
    """
    mask = (held[:, zone] <= 0.0) & is_open[:, zone]
    if float(mask.sum()) * hours < FEWEST_HOURS or len(np.unique(day[mask])) < FEWEST_VACANT_DAYS:
        return None
    others = np.arange(held.shape[1]) != zone
    vacant = (1.0 - held[mask]) * is_open[mask]
    known = levels.floor + held[mask][:, others] @ levels.held[others]
    known = known + vacant[:, others] @ levels.vacant[others]
    rises = power_kw[mask] - known
    level = float(np.quantile(rises, UNDIMMED_QUANTILE))
    spread = float(np.quantile(rises, 0.9) - np.quantile(rises, 0.5)) / 2.0
    return VacantLevel(max(0.0, level), max(spread, 0.02 * abs(level)))


def where_dimmed(seen: VacantLevel | None, told: VacantLevel | None) -> VacantLevel | None:
    """A level seen by day in a zone that dims: a lower bound, which gives way to a higher told one."""
    if seen is None or (told is not None and told.rise_kw >= seen.rise_kw):
        return None
    return VacantLevel(seen.rise_kw, max(seen.error, DIMMED_ERROR * seen.rise_kw))


def fitted_vacant(levels: Levels, zone: int) -> VacantLevel:
    """The zone's vacant level as the fit has it."""
    place = 1 + len(levels.held) + zone
    return VacantLevel(float(levels.vacant[zone]), float(np.sqrt(max(0.0, levels.covariance[place, place]))))


def with_vacant(levels: Levels, zone: int, found: VacantLevel) -> Levels:
    """The levels with that zone's vacant level put in."""
    if found == fitted_vacant(levels, zone) and zone not in levels.unseen:
        return levels
    vacant, covariance = levels.vacant.copy(), levels.covariance.copy()
    place = 1 + len(levels.held) + zone
    vacant[zone] = found.rise_kw
    covariance[place, :] = covariance[:, place] = 0.0
    covariance[place, place] = found.error**2
    unseen = tuple(other for other in levels.unseen if other != zone)
    return replace(levels, vacant=vacant, covariance=covariance, unseen=unseen)
