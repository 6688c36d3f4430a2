"""The load that the study says a meter feeds, before and after the retrofit."""

import math

import numpy as np
from numpy.typing import NDArray

from mv.base.study_records import Meter, Study
from mv.cleaning.periods import bounds
from mv.cleaning.readings import Readings

LOAD_MARGIN = 1.25  # readings beyond this times the connected load cannot be the lighting; practice is 1.1


def connected_loads(meter: Meter, study: Study) -> tuple[float | None, float | None]:
    """Connected kW before and after; None where a zone does not say or zones are not described."""
    zones = study.zones_of(meter.id)
    if not zones or set(meter.zones) - {zone.id for zone in zones}:
        return None, None
    before = [zone.connected_kw_before for zone in zones]
    after = [zone.connected_kw_after for zone in zones]
    return _total(before), _total(after)


def _total(loads: list[float | None]) -> float | None:
    if any(load is None for load in loads):
        return None
    return math.fsum(load for load in loads if load is not None) or None


def connected_kw_of(table: Readings, meter: Meter, study: Study) -> NDArray[np.float64] | float | None:
    """The connected load at each reading, kW: the new one from the reporting period on."""
    before, after = connected_loads(meter, study)
    if before is None or after is None or study.periods is None:
        known = [load for load in (before, after) if load is not None]
        return max(known) if len(known) == 2 else None
    begin, _ = bounds(study.periods.reporting, study.site.timezone)
    return np.where(table.start >= begin, after, before)
