"""The time series that pass between stages, all on the one inner clock.

Every index is a tz-aware UTC DatetimeIndex labelled by the interval's start; intervals are half-open.
"""

from dataclasses import dataclass

import pandas as pd

from mv.base.ledger import Ledger


@dataclass(frozen=True, slots=True)
class NativeSpan:
    """A span of readings of one native interval, half-open UTC."""

    first: pd.Timestamp
    after: pd.Timestamp
    interval_minutes: float


@dataclass(frozen=True, slots=True)
class Bill:
    """One reading longer than a day, half-open UTC, as it was read; `estimated` by the utility."""

    first: pd.Timestamp
    after: pd.Timestamp
    energy_kwh: float
    estimated: bool


@dataclass(frozen=True)
class MeterSeries:
    """One meter's cleaned energy on a regular grid, with the account of how it came about.

    `energy_kwh`: float64, NaN where nothing usable was read.
    `estimated`: bool, same index; True where the reading is the utility's estimate or was filled here.
    Estimated intervals count towards metered totals and are kept out of fits.
    `spread`: bool, same index; True where a coarser reading was spread evenly over finer intervals
    (their total is measured, their shape is not). None: nowhere.
    `native_spans`: which interval the readings really had, and when.
    `bills`: the used readings longer than a day (weeks, months, billing periods), in time order.
    `faults`: int8, same index; 0 where the interval was read as it stands, else 1 + the place in
    `fault_names` of what befell it (a gap, a reading set aside, an estimate). None: not told.
    """

    meter: str
    interval_minutes: float
    energy_kwh: pd.Series
    estimated: pd.Series
    ledger: Ledger
    spread: pd.Series | None = None
    native_spans: tuple[NativeSpan, ...] = ()
    bills: tuple[Bill, ...] = ()
    faults: pd.Series | None = None
    fault_names: tuple[str, ...] = ()

    @property
    def power_kw(self) -> pd.Series:
        """Mean power of each interval, kW."""
        return self.energy_kwh * (60.0 / self.interval_minutes)


@dataclass(frozen=True)
class MotionLog:
    """Motion changes of one zone: 1 when motion starts, 0 when it ends.

    `state`: int8 Series on the UTC times of change (irregular). The state holds until the next
    change; nothing is known before `known_from` and after `known_to`.
    """

    zone: str
    state: pd.Series
    known_from: pd.Timestamp
    known_to: pd.Timestamp
    ledger: Ledger


@dataclass(frozen=True)
class OccupancySeries:
    """How occupied the site was, per interval.

    `value`: float64, NaN where not logged. `measures` says what it is: "fraction" (0..1),
    "count" (people) or "motion" (fraction of the interval with motion).
    """

    measures: str
    interval_minutes: float
    value: pd.Series
    ledger: Ledger


@dataclass(frozen=True)
class WeatherSeries:
    """Outdoor dry-bulb temperature, degrees Celsius, per interval; NaN where not logged."""

    interval_minutes: float
    temperature_c: pd.Series
    ledger: Ledger
