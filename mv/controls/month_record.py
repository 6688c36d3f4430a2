"""What one month of a zone leaves behind."""

from dataclasses import dataclass, field

import numpy as np

from mv.controls.daily import Daily, FloatArray
from mv.controls.hold_time import HoldEvents


@dataclass(frozen=True)
class MonthView:
    """The month's own hold time and its daily statistics by name.

    trim: plateau of lamps wholly on; low: level when vacant in opening hours; night: level when
    vacant outside them; floor: lowest level of the night; night_on: share of vacant closed time
    with lamps on; bright and dark: mean of wholly-on lamps with and without sun.
    `dark_level`: of lamps on without sun, this month or the last one that showed it.
    `together`: whether all lamps go on and off as one; None where it does not show.
    `lags`: minutes by which the load followed the start of motion, one a switching-on;
    `shortest_motion`: minutes of the shortest motion that the log shows.
    """

    month: int
    hold_minutes: float | None
    hold_spread: float
    events: HoldEvents | None
    lag_minutes: float | None
    daily: dict[str, Daily] = field(default_factory=dict)
    base: float | None = None
    dark_level: float | None = None
    together: bool | None = None
    lags: FloatArray = field(default_factory=lambda: np.zeros(0))
    shortest_motion: float = 0.0
