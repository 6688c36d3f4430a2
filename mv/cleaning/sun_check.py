"""A dusk-to-dawn load judged by sunrise and sunset."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mv.base.ledger import Remark
from mv.base.meter_records import Meter
from mv.base.study_records import Study
from mv.cleaning.edges import DAY, DayTable, day_table
from mv.cleaning.grid import Cells, Grid
from mv.cleaning.sunset import sunrise_sunset_utc

FIRST_LOOK_DAYS = 60  # evenly taken, to see whether a load burns by night at all


FEWEST_DAYS = 28  # days on which the sun must have been met; common practice, no source


MOVING_MINUTES = 12.0  # spread of the switching times that shows the season; no source


WRONG_MINUTES = 25.0  # a photocell's own delay is less than this on both sides alike; no source


STEP_MINUTES = 40.0  # a weekly median that moves by this has been set, not drifted; no source


DRIFT_MINUTES = 20.0  # over the record; common practice, no source


FAR_SECONDS = 5400  # a clock this far off is brought near before it is judged


@dataclass(frozen=True)
class SunOffset:
    """How far the lights' night is shifted against the sun's, minutes, by day since 1970."""

    day: NDArray[np.int64]
    minutes: NDArray[np.float64]


def shift_by_sun(cells: Cells, grid: Grid, table: DayTable, level: float, study: Study) -> SunOffset | None:
    """The shift against the sun; a clock many hours off is first brought near by the night's middle."""
    site = study.site
    look = table.thinned(FIRST_LOOK_DAYS)
    if night_shift(look, level, site.latitude, site.longitude) is not None:
        return night_shift(table, level, site.latitude, site.longitude)
    rough = night_middle(look, level) // grid.step * grid.step
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


def night_middle(table: DayTable, level: float) -> int:
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


def sun_remarks(shift: SunOffset, meter: Meter, study: Study) -> list[Remark]:
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
