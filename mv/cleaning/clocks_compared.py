"""The clocks of one study's meters against each other: a remark where one is off, never a shift."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.base.meter_records import Meter
from mv.base.series import MeterSeries
from mv.base.study_records import Study
from mv.cleaning.edges import DAY, day_table, half_level, on_and_off
from mv.cleaning.folded import folded
from mv.cleaning.grid import Cells, Grid
from mv.cleaning.periods import bounds

FEWEST_DAYS = 15  # common days with both edges; no source
AGREE_MINUTES = 20.0  # meters of one timetable switch this near each other; no source
WRONG_MINUTES = 45.0  # both edges off by this, alike, are more than staggered switching; no source
ALIKE_MINUTES = 15.0  # a clock moves both edges alike; no source
STEADY_MINUTES = 20.0  # spread of the daily differences of loads on one timetable; no source
HOUR_MINUTES = 10.0  # of two meters alone, only a whole hour (give or take this) is said; no source
EARLIEST_SHARE = 0.3  # share of days lit at midnight that makes a load of the night; no source


@dataclass(frozen=True)
class Edges:
    """Daily switching on and off of one meter: days since 1970, seconds after a fixed midnight."""

    meter: str
    step: int
    day: NDArray[np.int64]
    on: NDArray[np.float64]
    off: NDArray[np.float64]


def with_clocks_compared(meters: Mapping[str, MeterSeries], study: Study) -> dict[str, MeterSeries]:
    """The meters, with a remark in the ledger of each whose clock looks off against the others'."""
    found: dict[str, list[Remark]] = {}
    for low, high in _spans(study):
        edges = [
            one for meter in study.meter if (one := _edges(meters.get(meter.id), meter, study, low, high))
        ]
        for group in _of_equal_hours(edges, study):
            for meter_id, remark in _odd_ones(group):
                found.setdefault(meter_id, []).append(remark)
    return {
        name: series
        if name not in found
        else replace(
            series, ledger=replace(series.ledger, remarks=folded([*series.ledger.remarks, *found[name]]))
        )
        for name, series in meters.items()
    }


def _spans(study: Study) -> list[tuple[int, int]]:
    if study.periods is None:
        return [(-(2**62), 2**62)]
    return [bounds(span, study.site.timezone) for span in (study.periods.baseline, study.periods.reporting)]


def _edges(series: MeterSeries | None, meter: Meter, study: Study, low: int, high: int) -> Edges | None:
    """The meter's edges within a span; None where it is no lighting on a timetable of days."""
    if series is None or meter.measures != "lighting" or not len(series.energy_kwh):
        return None
    step = round(series.interval_minutes * 60)
    if step > 3600 or DAY % step:
        return None
    start = int(pd.DatetimeIndex(series.energy_kwh.index)[0].timestamp())
    first = min(max(-(-(low - start) // step), 0), len(series.energy_kwh))
    after = min(max((high - start) // step, 0), len(series.energy_kwh))
    kwh = series.energy_kwh.to_numpy(dtype=np.float64)[first:after]
    estimated = series.estimated.to_numpy(dtype=bool)[first:after]
    table = day_table(
        Cells(kwh, estimated, None),
        Grid(start + first * step, step, len(kwh)),
        round(240.0 * study.site.longitude / 3600.0) * 3600,
    )
    level = half_level(kwh)
    if table is None or level is None or len(table.day) < FEWEST_DAYS:
        return None
    on, off = on_and_off(table, level)
    both = np.isfinite(on) & np.isfinite(off)
    if both.sum() < FEWEST_DAYS or float(((on == 0) | (off == DAY))[both].mean()) > EARLIEST_SHARE:
        return None
    return Edges(meter.id, step, table.day[both], on[both], off[both])


def _of_equal_hours(edges: list[Edges], study: Study) -> list[list[Edges]]:
    """Meters whose zones keep the same opening hours, as far as the study says."""
    groups: dict[str, list[Edges]] = {}
    for one in edges:
        hours = [str(study.hours_of(zone)) for zone in study.zones_of(one.meter)]
        groups.setdefault("; ".join(sorted(set(hours))), []).append(one)
    return [group for group in groups.values() if len(group) > 1]


def _odd_ones(group: list[Edges]) -> list[tuple[str, Remark]]:
    """The meters off against those that agree; of two alone, both are named."""
    shifts = {(a.meter, b.meter): _shift(a, b) for a in group for b in group if a.meter != b.meter}
    if len(group) == 2:
        first, second = group
        shift = shifts[first.meter, second.meter]
        if shift is None or abs(shift) < WRONG_MINUTES or abs((shift + 30) % 60 - 30) > HOUR_MINUTES:
            return []
        return [
            (first.meter, _remark(first.meter, [second.meter], shift, alone=True)),
            (second.meter, _remark(second.meter, [first.meter], -shift, alone=True)),
        ]
    found = []
    for one in group:
        others = [other.meter for other in group if other.meter != one.meter]
        agreeing = _largest_agreement(others, shifts)
        own = [shift for other in agreeing if (shift := shifts[one.meter, other]) is not None]
        if len(agreeing) < max(2, len(others) / 2) or len(own) < len(agreeing):
            continue
        if min(abs(shift) for shift in own) >= WRONG_MINUTES:
            found.append((one.meter, _remark(one.meter, agreeing, float(np.median(own)), alone=False)))
    return found


def _largest_agreement(names: list[str], shifts: Mapping[tuple[str, str], float | None]) -> list[str]:
    """The most meters that switch with one of them."""
    groups = [
        [a, *(b for b in names if b != a and (s := shifts[a, b]) is not None and abs(s) <= AGREE_MINUTES)]
        for a in names
    ]
    return max(groups, key=len)


def _shift(a: Edges, b: Edges) -> float | None:
    """Minutes by which both edges of `a` come after those of `b`; None where they do not move alike."""
    _, here, there = np.intersect1d(a.day, b.day, return_indices=True)
    if len(here) < FEWEST_DAYS:
        return None
    late_on, late_off = (a.on[here] - b.on[there]) / 60.0, (a.off[here] - b.off[there]) / 60.0
    on, off = float(np.median(late_on)), float(np.median(late_off))
    spread = max(float(np.median(np.abs(late - m))) for late, m in ((late_on, on), (late_off, off)))
    alike = max(ALIKE_MINUTES, a.step / 60.0, b.step / 60.0)
    if abs(on - off) > alike or spread > STEADY_MINUTES:
        return None
    return (on + off) / 2


def _remark(meter: str, others: list[str], shift: float, *, alone: bool) -> Remark:
    side = "late" if shift > 0 else "early"
    which = "one of the two clocks" if alone else "its clock"
    return Remark(
        "clock-against-meters",
        f"the load goes on and off {abs(shift):.0f} min {side} against {', '.join(others)}: {which} looks "
        f"{abs(shift):.0f} min off, unless the lights keep another timetable",
        remedy=f"Compare the meters' clocks with the right time; then set clock in [[meter]] id = {meter!r}, "
        "or leave it if the timetables differ. Nothing was shifted.",
    )
