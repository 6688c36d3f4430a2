"""What goes into the watch for drift and what comes out."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

import pandas as pd

from mv.base.estimate import Answer

Kind = Literal["step", "slope", "recurring", "gap"]


@dataclass(frozen=True)
class DriftSeries:
    """Daily energy of one meter or zone over the reporting period, with the drivers of each day.

    `energy_kwh`: by naive local midnight, NaN on days that are not usable. `drivers`: same kind of
    index; the columns hours_open, dark_open_hours, sun_open_hours, dark_hours, occupied_hours,
    motion_hours, is_open_day, weekday and is_holiday are used where they are there and known.
    `zones`: ids of the zones it feeds. `outdoor`: burns by the sun rather than by opening hours.
    `hourly_kw`: mean kW by local day and hour (`hourly_kw`), where readings are an hour or shorter;
    `fine_kw`: the same by the meter's own interval, where that is shorter than an hour.
    """

    where: str
    energy_kwh: pd.Series
    drivers: pd.DataFrame
    zones: tuple[str, ...] = ()
    outdoor: bool = False
    measures: str = "lighting"
    hourly_kw: pd.DataFrame | None = None
    fine_kw: pd.DataFrame | None = None


@dataclass(frozen=True)
class DriftFinding:
    """Something that changed: since when, what it costs, what it may be, what to check first.

    `since` is a local date; None where it was so from the start. `kwh_per_month` is positive when
    more is used than before. `kind`: step, slope, recurring or gap. `settings` names the control
    settings seen to have moved. `evidence`: day, actual_kwh, expected_kwh, standardised, cusum;
    None where the finding rests on settings alone. `spells`: first and last day of each time that a
    recurring fault showed. `told`: the last day of the look that first
    showed it; `key`: the name by which notes hold to it.
    """

    where: str
    what: str
    since: date | None
    kwh_per_month: Answer
    cost_per_month: float | None
    likely_causes: tuple[str, ...]
    check_first: tuple[str, ...]
    kind: Kind
    evidence: pd.DataFrame | None = None
    spells: tuple[tuple[date, date], ...] = ()
    zones: tuple[str, ...] = ()
    settings: tuple[str, ...] = ()
    causes: tuple[str, ...] = ()
    until: date | None = None
    details: Mapping[str, float] = field(default_factory=dict)
    told: date | None = None
    key: str = ""
