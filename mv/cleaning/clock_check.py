"""Does the clock tell the right time? Asked of the sun for outdoor lights, of the edges for others."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from mv.base.ledger import Remark
from mv.base.meter_records import Meter
from mv.base.study_records import Study
from mv.cleaning.edges import DAY, day_table, half_level
from mv.cleaning.grid import Cells, Grid
from mv.cleaning.periods import bounds
from mv.cleaning.sun_check import FEWEST_DAYS, shift_by_sun, sun_remarks
from mv.cleaning.timetable_check import timetable_remarks


def clock_remarks(cells: Cells, grid: Grid, meter: Meter, study: Study) -> list[Remark]:
    """What sun or timetable say against the clock."""
    if grid.step > 3600 or grid.count * grid.step < FEWEST_DAYS * DAY:
        return []
    found: list[dict[str, Remark]] = []
    for low, high in _spans(grid, study):
        part = Cells(cells.kwh[low:high], cells.estimated[low:high], None)
        span = Grid(grid.first + low * grid.step, grid.step, high - low)
        if (high - low) * grid.step >= FEWEST_DAYS * DAY:
            found.append({remark.code: remark for remark in _span_remarks(part, span, meter, study)})
    return _over_periods(found)


def _over_periods(found: Sequence[Mapping[str, Remark]]) -> list[Remark]:
    """Each remark once, as the first period has it; it lasts where both periods have it."""
    first: dict[str, Remark] = {}
    for of_period in found:
        first = {**of_period, **first}
    both = len(found) > 1
    return [replace(r, lasting=both and all(code in one for one in found)) for code, r in first.items()]


def _spans(grid: Grid, study: Study) -> list[tuple[int, int]]:
    """The cells of each period, since the load's level and perhaps the logger differ; else all."""
    if study.periods is None:
        return [(0, grid.count)]
    edges = [bounds(span, study.site.timezone) for span in (study.periods.baseline, study.periods.reporting)]
    return [
        (
            min(max((low - grid.first) // grid.step, 0), grid.count),
            min(max((high - grid.first) // grid.step, 0), grid.count),
        )
        for low, high in edges
    ]


def _span_remarks(cells: Cells, grid: Grid, meter: Meter, study: Study) -> list[Remark]:
    offset = round(240.0 * study.site.longitude / grid.step) * grid.step  # local solar time
    table = day_table(cells, grid, offset)
    level = half_level(cells.kwh)
    if table is None or level is None:
        return []
    by_sun = shift_by_sun(cells, grid, table, level, study)
    if by_sun is not None:
        return sun_remarks(by_sun, meter, study)
    return timetable_remarks(cells, grid, level, meter, study)
