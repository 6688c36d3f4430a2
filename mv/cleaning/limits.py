"""The load that the study says a meter feeds, before and after the retrofit."""

import math

import numpy as np
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.base.meter_records import Meter
from mv.base.study_records import Study
from mv.cleaning.periods import bounds
from mv.cleaning.readings import Readings, power_of

LOAD_MARGIN = 1.25  # readings beyond this times the connected load cannot be the lighting; practice is 1.1
RARE_SHARE = 0.005  # faults are rare; what more readings share is how the meter reads; no source
FEWEST_TO_DOUBT = 8  # so many readings beyond the load before the load itself is doubted; no source


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


def trusted_kw_of(table: Readings, meter: Meter, study: Study) -> NDArray[np.float64] | float | None:
    """The connected load that readings may be judged by, kW; infinite where the readings refute it.

    Faults are rare. Where more than RARE_SHARE of a period's readings that follow no silence stand
    beyond the load, it is the load that is wrong (or the unit), and it judges no reading.
    """
    if meter.measures != "lighting":
        return None
    load = connected_kw_of(table, meter, study)
    if load is None:
        return None
    loads = np.broadcast_to(np.asarray(load, dtype=np.float64), table.start.shape)
    power, used = power_of(table), table.used & (table.seconds > 0)
    if not bool((power > LOAD_MARGIN * loads).any()):
        return load
    follows = np.ones(len(table.start), bool)
    follows[1:] = table.start[1:] <= table.start[:-1] + table.seconds[:-1]
    trusted = loads.copy()
    for level in np.unique(loads):
        own = used & (loads == level)
        beyond = own & follows & (power > LOAD_MARGIN * level)
        if int(beyond.sum()) > max(RARE_SHARE * int(own.sum()), FEWEST_TO_DOUBT):
            trusted[loads == level] = np.inf
            _doubt(table, beyond, int(own.sum()), float(level))
    return trusted


def _doubt(table: Readings, beyond: NDArray[np.bool_], count: int, load_kw: float) -> None:
    """Say once that a connected load is refuted by the readings."""
    if any(remark.code == "above-load" and f"{load_kw:g} kW" in remark.what for remark in table.remarks):
        return
    table.remarks.append(
        Remark(
            "above-load",
            f"{beyond.sum() / count:.1%} of the readings are beyond {LOAD_MARGIN:g} times the connected load "
            f"of {load_kw:g} kW; so many cannot be faults, so that load judges no reading: none was set "
            "aside, and no lump is told by it",
            lines=table.lines_text(beyond),
            remedy="Check fixtures and watts of the zones, the meter's unit, multiplier and interval, and "
            "what else it feeds.",
        )
    )
