"""A load on a timetable judged by clock changes and opening hours."""

from collections.abc import Sequence
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from mv.base.ledger import Remark
from mv.base.meter_records import Meter
from mv.base.study_records import Study
from mv.cleaning.edges import DAY, day_table, on_and_off
from mv.cleaning.grid import Cells, Grid
from mv.cleaning.sun_check import FAR_SECONDS, FEWEST_DAYS, night_middle

NIGHT_SECONDS = 9 * 3600  # so far from the opening hours a load may be meant for the night


KEEPS_DAYS = 0.8  # of open days lit and of closed days dark: holidays and odd days are fewer; no source


HOURS_MINUTES = 50.0  # both ends off by nearly an hour or more; people are less late than that; no source


LOOK_DAYS = 14  # no zone changes its clock and back again within this


STEADY_MINUTES = 20.0  # spread of daily edges of a load that follows a timetable; no source


def timetable_remarks(cells: Cells, grid: Grid, level: float, meter: Meter, study: Study) -> list[Remark]:
    """A load on a timetable keeps its hours through the site's clock changes; one that moves by an
    hour at each has a clock that does not follow them."""
    moves = timetable_moves(cells, grid, level, study.site.timezone)
    if len(moves) >= 2 and all(abs(abs(move) - 60.0) <= 15.0 for _, move, _ in moves):
        signs = {np.sign(move) == np.sign(change) for _, move, change in moves}
        if len(signs) == 1:
            return [
                Remark(
                    "clock-ignores-summer-time",
                    f"the load goes on and off an hour {'later' if signs.pop() else 'earlier'} by the "
                    "site's clock after "
                    f"spring, and back in autumn ({', '.join(f'{day:%Y-%m-%d}' for day, *_ in moves[:4])})",
                    remedy="If people keep the site's time there, set clock in [[meter]] id = "
                    f"{meter.id!r} to a fixed "
                    'offset such as "-06:00".',
                )
            ]
    return _hours_remarks(cells, grid, level, meter, study)


def _hours_remarks(cells: Cells, grid: Grid, level: float, meter: Meter, study: Study) -> list[Remark]:
    """A load that goes on and off alike late (or early) against the opening hours, by an hour or more,
    runs by another clock; a load that is merely long or short does not move both ends alike."""
    hours = next(
        (h for zone in study.zones_of(meter.id) if (h := study.hours_of(zone))), study.occupancy.hours
    )
    if hours is None:
        return []
    windows = {day: hours.week[day] for day in range(5) if len(hours.week[day]) == 1}
    if not windows:
        return []
    wall = _wall_cells(cells, grid, study.site.timezone)
    table = None if wall is None else day_table(wall[0], wall[1], 0)
    if wall is None or table is None:
        return []
    middle = float(np.mean([(spans[0][0] + spans[0][1]) / 2 for spans in windows.values()]))
    rough = (night_middle(table, level) - round(middle * 3600) + DAY // 2) % DAY - DAY // 2
    rough = rough // grid.step * grid.step if abs(rough) >= FAR_SECONDS else 0
    outdoor = any(zone.place == "outdoor" for zone in study.zones_of(meter.id))
    if outdoor:
        return []  # lights that burn at night have no business with the opening hours
    if abs(rough) > NIGHT_SECONDS:
        by_week = _shift_by_week(wall, level, hours.week, rough)
        if by_week is None:
            return []
        rough = by_week
    if rough:
        table = day_table(wall[0], Grid(wall[1].first - rough, grid.step, wall[1].count), 0) or table
    on, off = on_and_off(table, level)
    weekday = (table.day + 3) % 7
    late_on = [on[weekday == day] - spans[0][0] * 3600 for day, spans in windows.items()]
    late_off = [off[weekday == day] - spans[0][1] * 3600 for day, spans in windows.items()]
    first, last = (np.concatenate(parts) for parts in (late_on, late_off))
    first, last = first[np.isfinite(first)], last[np.isfinite(last)]
    if len(first) < FEWEST_DAYS // 2:
        return []
    starts, ends = (float(np.median(edge) + rough) / 60.0 for edge in (first, last))
    shift = (starts + ends) / 2
    if abs(shift) < HOURS_MINUTES or abs(starts - ends) > STEADY_MINUTES or starts * ends <= 0:
        return []
    return [
        Remark(
            "clock-against-hours",
            f"the load goes on {_late(starts)} and off {_late(ends)} against the opening hours: the clock "
            "may be "
            f"{abs(shift):.0f} min {'ahead' if shift > 0 else 'behind'}",
            remedy=f"Check clock in [[meter]] id = {meter.id!r}, timezone in [site], and the opening hours.",
        )
    ]


def _shift_by_week(
    wall: tuple[Cells, Grid], level: float, week: Sequence[Sequence[object]], rough: int
) -> int | None:
    """The shift, or the same a day on, under which the load keeps the open and the closed days.

    Lights meant for the night burn on closed days too; a load that does not, and is half a day off
    the hours, runs by a wrong clock. None where it keeps neither, or no day is closed.
    """
    cells, grid = wall
    closed = [day for day in range(7) if not week[day]]
    if not 0 < len(closed) < 7:
        return None
    for shift in (rough, rough - DAY if rough > 0 else rough + DAY):
        table = day_table(cells, Grid(grid.first - shift, grid.step, grid.count), 0)
        if table is None:
            continue
        whole = np.flatnonzero(np.isfinite(table.kwh).all(axis=1))
        burning = np.asarray((table.kwh[whole] > level).any(axis=1))
        resting = np.isin(np.asarray((table.day[whole] + 3) % 7), np.asarray(closed))
        if not resting.any() or resting.all():
            continue
        if burning[~resting].mean() >= KEEPS_DAYS and burning[resting].mean() <= 1 - KEEPS_DAYS:
            return shift
    return None


def _late(minutes: float) -> str:
    return f"{abs(minutes):.0f} min {'late' if minutes > 0 else 'early'}"


def _wall_cells(cells: Cells, grid: Grid, timezone: str) -> tuple[Cells, Grid] | None:
    """The series by the site's clock, as if that were UTC; the skipped hour stays unknown."""
    if 3600 % grid.step and grid.step != 3600:
        return None
    stamps = pd.to_datetime(grid.starts, unit="s", utc=True).tz_convert(timezone).tz_localize(None)
    wall = stamps.to_numpy().astype("datetime64[s]").astype(np.int64)
    first = int(wall.min())
    place = (wall - first) // grid.step
    count = int(place.max()) + 1
    kwh, estimated = np.full(count, np.nan), np.zeros(count, bool)
    kwh[place], estimated[place] = cells.kwh, cells.estimated
    return Cells(kwh, estimated, None), Grid(first, grid.step, count)


def timetable_moves(
    cells: Cells, grid: Grid, level: float, timezone: str
) -> list[tuple[pd.Timestamp, float, float]]:
    """At each clock change: how far the median on and off move by the site's clock, minutes, and the
    change itself. Only where both edges are steady on the weekdays of three weeks before and after."""
    moves = []
    for moment, before, after in _clock_changes(grid, timezone):
        change = moment // DAY * DAY
        edges = [
            _median_edges(cells, grid, level, change + a * DAY, change + b * DAY, offset)
            for a, b, offset in ((-22, -1, before), (2, 23, after))
        ]
        if edges[0] is None or edges[1] is None:
            continue
        on, off = (edges[1][n] - edges[0][n] for n in (0, 1))
        if abs(on - off) <= 15.0 * 60:
            moves.append(
                (pd.Timestamp(change, unit="s", tz="UTC"), (on + off) / 120.0, (after - before) / 60.0)
            )
    return moves


def _clock_changes(grid: Grid, timezone: str) -> list[tuple[int, int, int]]:
    """The zone's clock changes within the grid, to a day: UTC seconds, offset before and after."""
    zone = ZoneInfo(timezone)

    def offset(moment: int) -> int:
        shift = datetime.fromtimestamp(moment, UTC).astimezone(zone).utcoffset()
        return 0 if shift is None else round(shift.total_seconds())

    found = []
    last = grid.first + grid.count * grid.step
    weeks = range(grid.first, last, LOOK_DAYS * DAY)
    offsets = [offset(week) for week in weeks]
    for week, before, after in zip(weeks, offsets, offsets[1:], strict=False):
        if before != after:
            day = next(d for d in range(week + DAY, week + (LOOK_DAYS + 1) * DAY, DAY) if offset(d) != before)
            found.append((day, before, after))
    return found


def _median_edges(
    cells: Cells, grid: Grid, level: float, first: int, after: int, offset: int
) -> tuple[float, float] | None:
    low, high = ((moment - grid.first) // grid.step for moment in (first, after))
    if low < 0 or high > grid.count:
        return None
    part = Cells(cells.kwh[low:high], cells.estimated[low:high], None)
    table = day_table(part, Grid(grid.first + low * grid.step, grid.step, high - low), offset)
    if table is None:
        return None
    on, off = on_and_off(table, level)
    weekday = (table.day + 3) % 7 < 5
    on, off = on[weekday & np.isfinite(on)], off[weekday & np.isfinite(off)]
    if len(on) < 8:
        return None
    on.sort()
    off.sort()
    quarter, middle = len(on) // 4, len(on) // 2
    if max(on[-1 - quarter] - on[quarter], off[-1 - quarter] - off[quarter]) > STEADY_MINUTES * 60:
        return None
    return float(on[middle]), float(off[middle])
