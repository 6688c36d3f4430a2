"""Every minute of a site's span, in UTC and on its wall clock, summer time included."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd

from mv.base.clock import local_midnight
from mv.base.opening_hours import Hours
from mv.simulate.arrays import Bools, Ints
from mv.simulate.design import HoursText

DAY = 1440
_STEP = 15  # minutes; no zone of today changes its offset between quarter hours


@dataclass(frozen=True)
class MinuteClock:
    """Minutes 0..n-1 from the local midnight of `first_day` to that after `last_day`.

    `day` counts local days from 0; `minute_of_day` is the wall clock's, so it jumps on the days of
    change; `day_start` holds each local day's first minute and, last, n.
    """

    timezone: str
    first_day: date
    start: pd.Timestamp
    minute_of_day: Ints
    day: Ints
    day_start: Ints
    weekday: Ints
    _jump_minute: Ints
    _jump: Ints

    @property
    def n(self) -> int:
        """Number of minutes."""
        return len(self.day)

    @property
    def days(self) -> int:
        """Number of local days."""
        return len(self.weekday)

    def stamps(self, step_minutes: int = 1) -> pd.DatetimeIndex:
        """UTC interval starts."""
        return pd.date_range(self.start, periods=self.n // step_minutes, freq=f"{step_minutes}min")

    def day_of(self, when: date) -> int:
        """Index of a local date, which may lie outside the span."""
        return (when - self.first_day).days

    def minute_at(self, when: date, minute_of_day: int = 0) -> int:
        """Index of a wall-clock time, held within 0..n."""
        day = self.day_of(when)
        if not 0 <= day < self.days:
            return 0 if day < 0 else self.n
        return int(self.index_of(np.array([day]), np.array([minute_of_day]))[0])

    def span(self, first: date, last: date) -> slice:
        """The minutes of the local dates first to last, both included."""
        return slice(self.minute_at(first), self.minute_at(last + timedelta(days=1)))

    def index_of(self, day: Ints, wall_minute: Ints) -> Ints:
        """Indices of wall-clock minutes; those before 0:00 or past 24:00 belong to other days."""
        wall = np.asarray(wall_minute, dtype=np.int64)
        shifted = np.clip(day + wall // DAY, 0, self.days - 1)
        within = wall - (shifted - day) * DAY
        late = within >= self._jump_minute[shifted]
        found: Ints = self.day_start[shifted] + within - np.where(late, self._jump[shifted], 0)
        return np.clip(found, 0, self.n)

    def flags_of_days(self, dates: tuple[date, ...]) -> Bools:
        """Per local day: is it one of these dates?"""
        flags = np.zeros(self.days, dtype=np.bool_)
        inside = [d for d in (self.day_of(when) for when in dates) if 0 <= d < self.days]
        flags[inside] = True
        return flags


def minute_clock(first: date, last: date, timezone: str) -> MinuteClock:
    """The clock of the local dates first to last, both included."""
    start = local_midnight(first, timezone)
    end = local_midnight(last + timedelta(days=1), timezone)
    quarters = pd.date_range(start, end, freq=f"{_STEP}min", inclusive="left")
    wall = quarters.tz_convert(timezone).tz_localize(None)
    wall_minutes = (wall - pd.Timestamp(first)) // pd.Timedelta(minutes=1)
    coarse = np.asarray(wall_minutes, dtype=np.int64)
    local = (coarse[:, None] + np.arange(_STEP)).ravel()
    day = local // DAY
    days = int(day[-1]) + 1
    day_start = np.append(np.searchsorted(day, np.arange(days)), len(day)).astype(np.int64)
    jump_minute, jump = _jumps(local, day, days)
    weekday = (first.weekday() + np.arange(days)) % 7
    return MinuteClock(timezone, first, start, local % DAY, day, day_start, weekday, jump_minute, jump)


def _jumps(local: Ints, day: Ints, days: int) -> tuple[Ints, Ints]:
    """Wall minute from which a day's clock has jumped, and by how much; (DAY * 2, 0) on plain days."""
    minute, size = np.full(days, 2 * DAY, dtype=np.int64), np.zeros(days, dtype=np.int64)
    after = np.flatnonzero(np.diff(local) != 1) + 1
    for index in after:
        today = int(day[index])
        size[today] = local[index] - local[index - 1] - 1
        forward = size[today] > 0
        minute[today] = local[index] % DAY if forward else local[index - 1] % DAY + 1
    return minute, size


@dataclass(frozen=True)
class Opening:
    """A zone's opening hours on a clock: per minute, and per day first opening and last closing minute.

    A closed day has `opens` = `closes` = -1; closing past midnight exceeds 1440.
    """

    open: Bools
    opens: Ints
    closes: Ints

    @property
    def open_day(self) -> Bools:
        """Per local day: does it open at all?"""
        return self.opens >= 0


def opening(clock: MinuteClock, hours: HoursText, holidays: tuple[date, ...]) -> Opening:
    """Opening hours with holidays closed; a span past midnight belongs to the day it began."""
    week = Hours.model_validate(dict(hours)).week
    table = np.zeros((7, 2 * DAY), dtype=np.bool_)
    first, last = np.full(7, -1), np.full(7, -1)
    for weekday, windows in enumerate(week):
        for begin, end in windows:
            table[weekday, round(begin * 60) : round(end * 60)] = True
        if windows:
            first[weekday] = round(min(begin for begin, _ in windows) * 60)
            last[weekday] = round(max(end for _, end in windows) * 60)
    closed = clock.flags_of_days(holidays)
    opens = np.where(closed, -1, first[clock.weekday])
    closes = np.where(closed, -1, last[clock.weekday])
    today = np.where(closed[:, None], False, table[clock.weekday])
    spill = np.vstack([np.zeros((1, DAY), dtype=np.bool_), today[:-1, DAY:]])
    merged_table = today[:, :DAY] | spill
    return Opening(merged_table[clock.day, clock.minute_of_day], opens, closes)
