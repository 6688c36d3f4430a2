"""What one month of a zone leaves behind."""

from dataclasses import dataclass, field

from mv.controls.daily import Daily
from mv.controls.hold_time import HoldEvents


@dataclass(frozen=True)
class MonthView:
    """The month's own hold time and its daily statistics by name.

    trim: plateau of lamps wholly on; low: level when vacant in opening hours; night: level when
    vacant outside them; floor: lowest level of the night; night_on: share of vacant closed time
    with lamps on; bright and dark: mean of wholly-on lamps with and without sun.
    `dark_level`: of lamps on without sun, this month or the last one that showed it.
    `together`: whether all lamps go on and off as one; None where it does not show.
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
