"""Does the clock tell the right time? Asked of the sun for outdoor lights, of the edges for others."""

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.base.study_records import Meter, Study
from mv.cleaning.edges import DAY, DayTable, day_table, half_level, on_and_off
from mv.cleaning.grid import Cells, Grid
from mv.cleaning.periods import bounds
from mv.cleaning.sunset import sunrise_sunset_utc

FIRST_LOOK_DAYS = 60  # evenly taken, to see whether a load burns by night at all
FEWEST_DAYS = 28  # days on which the sun must have been met; common practice, no source
MOVING_MINUTES = 12.0  # spread of the switching times that shows the season; no source
WRONG_MINUTES = 25.0  # a photocell's own delay is less than this on both sides alike; no source
STEP_MINUTES = 40.0  # a weekly median that moves by this has been set, not drifted; no source
DRIFT_MINUTES = 20.0  # over the record; common practice, no source
NIGHT_SECONDS = 9 * 3600  # no load is meant so far from the opening hours, unless it burns at night
FAR_SECONDS = 5400  # a clock this far off is brought near before it is judged
HOURS_MINUTES = 50.0  # both ends off by nearly an hour or more; people are less late than that; no source
STEADY_MINUTES = 20.0  # spread of daily edges of a load that follows a timetable; no source


@dataclass(frozen=True)
class SunOffset:
    """How far the lights' night is shifted against the sun's, minutes, by day since 1970."""

    day: NDArray[np.int64]
    minutes: NDArray[np.float64]


def clock_remarks(cells: Cells, grid: Grid, meter: Meter, study: Study) -> list[Remark]:
    """What sun or timetable say against the clock."""
    if grid.step > 3600 or grid.count * grid.step < FEWEST_DAYS * DAY:
        return []
    found: dict[str, Remark] = {}
    for low, high in _spans(grid, study):
        part = Cells(cells.kwh[low:high], cells.estimated[low:high], None)
        span = Grid(grid.first + low * grid.step, grid.step, high - low)
        if (high - low) * grid.step >= FEWEST_DAYS * DAY:
            for remark in _span_remarks(part, span, meter, study):
                found.setdefault(remark.code, remark)
    return list(found.values())


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
    by_sun = _by_sun(cells, grid, table, level, study)
    if by_sun is not None:
        return _sun_remarks(by_sun, meter, study)
    return _timetable_remarks(cells, grid, level, meter, study)


def _by_sun(cells: Cells, grid: Grid, table: DayTable, level: float, study: Study) -> SunOffset | None:
    """The shift against the sun; a clock many hours off is first brought near by the night's middle."""
    site = study.site
    look = table.thinned(FIRST_LOOK_DAYS)
    if night_shift(look, level, site.latitude, site.longitude) is not None:
        return night_shift(table, level, site.latitude, site.longitude)
    rough = _night_middle(look, level) // grid.step * grid.step
    if abs(rough) < FAR_SECONDS:
        return None
    moved = day_table(cells, Grid(grid.first - rough, grid.step, grid.count), table.offset)
    if (
        moved is None
        or night_shift(moved.thinned(FIRST_LOOK_DAYS), level, site.latitude, site.longitude) is None
    ):
        return None
    found = night_shift(moved, level, site.latitude, site.longitude)
    return None if found is None else SunOffset(found.day, found.minutes + rough / 60.0)


def _night_middle(table: DayTable, level: float) -> int:
    """Seconds from midnight to the middle of the burning hours, -12 h to 12 h."""
    burning = (np.nan_to_num(table.kwh) > level).sum(axis=0)
    angle = 2 * np.pi * (np.arange(len(burning)) + 0.5) / len(burning)
    middle = np.arctan2((burning * np.sin(angle)).sum(), (burning * np.cos(angle)).sum())
    return round(float(middle) / (2 * np.pi) * DAY)


def night_shift(table: DayTable, level: float, latitude: float, longitude: float) -> SunOffset | None:
    """The shift of a dusk-to-dawn load against the sun; None where the load is no such one.

    A photocell switches about as long after sunset as before sunrise, so half the sum of both
    differences is the clock's error and the delays cancel.
    """
    width = table.kwh.shape[1]
    half = width // 2
    noon = table.kwh[:, width * 3 // 8 : width * 5 // 8]
    off_at_noon = ~(noon > level).any(axis=1)
    on_at_midnight = (table.kwh[:, 0] > level) | (table.kwh[:, -1] > level)
    if (off_at_noon & on_at_midnight).mean() < 0.3:
        return None
    above = table.kwh > level
    whole = np.isfinite(table.kwh).all(axis=1)
    good = whole & off_at_noon & on_at_midnight & above[:, :half].any(axis=1) & above[:, half:].any(axis=1)
    if good.sum() < FEWEST_DAYS or good.sum() < 0.7 * whole.sum():
        return None
    nights = above[good]
    on = (half + np.argmax(nights[:, half:], axis=1)) * float(table.step)
    off = (half - np.argmax(nights[:, :half][:, ::-1], axis=1)) * float(table.step)
    if np.std(on) + np.std(off) < 2 * MOVING_MINUTES * 60:
        return None  # a timetable, or too short a span to see the season move
    rise, fall = sunrise_sunset_utc(table.day[good], latitude, longitude)
    midnight = table.day[good] * DAY - table.offset
    late_on, late_off = on + midnight - fall, off + midnight - rise
    known = np.isfinite(late_on) & np.isfinite(late_off)
    if known.sum() < FEWEST_DAYS:
        return None
    if np.std(late_on[known] - late_off[known]) > 0.5 * np.std(on[known] - off[known]):
        return None  # the night's length does not follow the sun's
    return SunOffset(table.day[good][known], (late_off + late_on)[known] / 120.0)


def _sun_remarks(shift: SunOffset, meter: Meter, study: Study) -> list[Remark]:
    weeks = shift.day // 7
    numbers = np.unique(weeks)
    medians = np.array([np.median(shift.minutes[weeks == week]) for week in numbers])
    usual = float(np.median(medians))
    spread = float(np.quantile(medians, 0.95) - np.quantile(medians, 0.05))
    if spread >= STEP_MINUTES:
        return [_step_remark(numbers, medians, meter, study)]
    slope = float(np.polyfit(numbers - numbers[0], medians, 1)[0]) if len(numbers) > 4 else 0.0
    drift = slope * float(numbers[-1] - numbers[0])
    remarks = []
    if abs(drift) >= DRIFT_MINUTES:
        remarks.append(
            Remark(
                "clock-drifts",
                f"against sunrise and sunset the clock drifts by {drift:+.0f} min over the record",
                remedy="Compare the logger's clock with the right time, and correct the stamps before the "
                "retrofit "
                "and after it alike.",
            )
        )
    if abs(usual) >= WRONG_MINUTES and abs(drift) < DRIFT_MINUTES:
        remarks.append(
            Remark(
                "clock-shifted",
                f"the lights switch about sunset and sunrise, but {abs(usual):.0f} min "
                f"{'late' if usual > 0 else 'early'} at both ends: the clock is "
                f"{'ahead' if usual > 0 else 'behind'}",
                remedy=f'Check clock in [[meter]] id = {meter.id!r} (such as clock = "UTC" or a fixed '
                "offset).",
            )
        )
    return remarks


def _step_remark(
    weeks: NDArray[np.int64], medians: NDArray[np.float64], meter: Meter, study: Study
) -> Remark:
    jumps = np.diff(medians)
    at = int(np.argmax(np.abs(jumps)))
    first = pd.Timestamp(int(weeks[at + 1]) * 7 * DAY, unit="s")
    big = [
        pd.Timestamp(int(weeks[n + 1]) * 7 * DAY, unit="s")
        for n in np.flatnonzero(np.abs(jumps) >= STEP_MINUTES / 2)
    ]
    if big and all(_near_clock_change(day, study.site.timezone) for day in big):
        return Remark(
            "clock-ignores-summer-time",
            f"against sunrise and sunset the stamps move by about {abs(jumps[at]):.0f} min where "
            f"{study.site.timezone} "
            "changes its clock: the logger's clock does not follow the change as the study takes it to",
            remedy=f'Set clock in [[meter]] id = {meter.id!r} to a fixed offset such as "-06:00" (or to '
            '"site").',
        )
    return Remark(
        "clock-set",
        f"against sunrise and sunset the stamps move by {jumps[at]:+.0f} min in the week of "
        f"{first:%Y-%m-%d}: the "
        "clock was set, or set wrong, there",
        remedy="Split the file there and give each part its own [[meter]] clock, or correct the stamps.",
    )


def _near_clock_change(day: pd.Timestamp, timezone: str) -> bool:
    """True where the zone changes its offset within ten days of the day."""
    around = pd.date_range(day - pd.Timedelta(days=10), day + pd.Timedelta(days=10), freq="D", tz="UTC")
    local = around.tz_convert(timezone)
    return len({stamp.utcoffset() for stamp in local}) > 1


def _timetable_remarks(cells: Cells, grid: Grid, level: float, meter: Meter, study: Study) -> list[Remark]:
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
    rough = (_night_middle(table, level) - round(middle * 3600) + DAY // 2) % DAY - DAY // 2
    rough = rough // grid.step * grid.step if abs(rough) >= FAR_SECONDS else 0
    outdoor = any(zone.place == "outdoor" for zone in study.zones_of(meter.id))
    if outdoor or abs(rough) > NIGHT_SECONDS:
        return []  # lights that burn at night have no business with the opening hours
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
            remedy=f"Check clock in [[meter]] id = {meter.id!r}, and the opening hours.",
        )
    ]


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
    weeks = range(grid.first, last, 7 * DAY)
    offsets = [offset(week) for week in weeks]
    for week, before, after in zip(weeks, offsets, offsets[1:], strict=False):
        if before != after:
            day = next(d for d in range(week + DAY, week + 8 * DAY, DAY) if offset(d) != before)
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
