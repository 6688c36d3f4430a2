"""Occupancy and motion on the slots of the driver grid."""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.series import MotionLog, OccupancySeries
from mv.base.study_records import Zone

FloatArray = npt.NDArray[np.float64]

MINUTE_NS = 60_000_000_000


def occupied_share(slots: pd.DatetimeIndex, occupancy: OccupancySeries) -> FloatArray:
    """How occupied each slot was, 0..1; NaN where not logged.

    A fraction or a share of motion is taken as it is; of a count, any person makes it occupied.
    """
    value = _at_slots(slots, occupancy)
    if occupancy.measures != "count":
        return np.clip(value, 0.0, 1.0)
    return np.where(np.isnan(value), np.nan, (value > 0).astype(np.float64))


def people(slots: pd.DatetimeIndex, occupancy: OccupancySeries) -> FloatArray | None:
    """Number of people in each slot; None when the log is not a count."""
    return _at_slots(slots, occupancy) if occupancy.measures == "count" else None


def _at_slots(slots: pd.DatetimeIndex, occupancy: OccupancySeries) -> FloatArray:
    """The logged value of the interval in which each slot starts; NaN outside any interval.

    Intervals finer than a slot are first averaged into the slot.
    """
    logged = occupancy.value.dropna()
    if logged.empty or len(slots) == 0:
        return np.full(len(slots), np.nan)
    slot_ns = int((slots[1] - slots[0]).value) if len(slots) > 1 else 5 * MINUTE_NS
    interval_ns = int(occupancy.interval_minutes * MINUTE_NS)
    start = _utc_ns(slots)
    stamp = _utc_ns(pd.DatetimeIndex(logged.index))
    value = logged.to_numpy(dtype=np.float64)
    if interval_ns < slot_ns:
        return _slot_means(start, slot_ns, stamp, value)
    place = np.searchsorted(stamp, start, side="right") - 1
    inside = (place >= 0) & (start < stamp[np.clip(place, 0, None)] + interval_ns)
    return np.where(inside, value[np.clip(place, 0, None)], np.nan)


def _slot_means(
    start: npt.NDArray[np.int64], slot_ns: int, stamp: npt.NDArray[np.int64], value: FloatArray
) -> FloatArray:
    code = (stamp - start[0]) // slot_ns
    inside = (code >= 0) & (code < len(start))
    count = np.bincount(code[inside], minlength=len(start))
    total = np.bincount(code[inside], weights=value[inside], minlength=len(start))
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def motion_share(slots: pd.DatetimeIndex, log: MotionLog) -> FloatArray:
    """Share of each slot with motion; NaN outside the span that the log knows.

    The state is integrated exactly between its changes.
    """
    step = int((slots[1] - slots[0]).value) if len(slots) > 1 else 5 * MINUTE_NS
    edges = np.append(_utc_ns(slots), _utc_ns(slots[-1:]) + step)
    times = _utc_ns(pd.DatetimeIndex(log.state.index))
    state = log.state.to_numpy(dtype=np.float64)
    if len(times) == 0:
        return np.full(len(slots), np.nan)
    grown = np.concatenate([[0.0], np.cumsum(state[:-1] * np.diff(times))])
    place = np.searchsorted(times, edges, side="right") - 1
    held = np.clip(place, 0, None)
    total = np.where(place >= 0, grown[held] + state[held] * (edges - times[held]), 0.0)
    known_from, known_to = _utc_ns(pd.DatetimeIndex([log.known_from, log.known_to]))
    known = (edges[:-1] >= known_from) & (edges[1:] <= known_to)
    return np.where(known, np.diff(total) / step, np.nan)


def mean_motion_share(
    slots: pd.DatetimeIndex, motion: Mapping[str, MotionLog], zones: Sequence[Zone]
) -> FloatArray | None:
    """Motion share over the zones with a log, weighted by connected load; None without logs."""
    chosen = [zone for zone in zones if zone.id in motion]
    if not chosen:
        return None
    loads = [zone.connected_kw_before or zone.connected_kw_after or 0.0 for zone in chosen]
    weights = np.array(loads if all(load > 0 for load in loads) else [1.0] * len(chosen))
    shares = np.stack([motion_share(slots, motion[zone.id]) for zone in chosen])
    return np.asarray(np.average(shares, axis=0, weights=weights), dtype=np.float64)


def _utc_ns(index: pd.DatetimeIndex) -> npt.NDArray[np.int64]:
    return np.asarray(index.tz_convert("UTC").as_unit("ns").asi8, dtype=np.int64)
