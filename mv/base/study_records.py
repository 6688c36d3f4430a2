"""The study as frozen records, one class a table of study.toml.

A key that is not here is an error. Every numeric default names its unit and its source.
"""

import re
from datetime import date, datetime
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Literal, Self
from zoneinfo import available_timezones

from pydantic import AfterValidator, Field, field_validator, model_validator

from mv.base.claim_records import Claim
from mv.base.study_fields import FileNames, Fraction, Name, NotNegative, Positive, Record

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_WINDOW = re.compile(r"^([01]?\d|2[0-4]):([0-5]\d)\s*-\s*([01]?\d|2[0-4]):([0-5]\d)$")


def _timezone(value: str) -> str:
    if value not in available_timezones():
        raise ValueError("is not an IANA time zone such as 'America/Chicago'")
    return value


class StudyHead(Record):
    """[study]"""

    title: Name = "Lighting retrofit"
    confidence: float = Field(default=0.90, ge=0.5, le=0.999)  # two-sided; IPMVP's usual 90 % (from memory)


class Site(Record):
    """[site]"""

    name: Name = "Site"
    latitude: float = Field(ge=-90.0, le=90.0)  # degrees, north positive
    longitude: float = Field(ge=-180.0, le=180.0)  # degrees, east positive
    timezone: Annotated[str, AfterValidator(_timezone)]


class Span(Record):
    """Local dates, both included."""

    first: date
    last: date

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.last < self.first:
            raise ValueError(f"ends ({self.last}) before it begins ({self.first})")
        return self

    @property
    def days(self) -> int:
        """Number of local days."""
        return (self.last - self.first).days + 1


class Periods(Record):
    """[periods]: what lies between them is the installation."""

    baseline: Span
    reporting: Span

    @field_validator("baseline", "reporting", mode="before")
    @classmethod
    def _from_pair(cls, value: object) -> object:
        if isinstance(value, list | tuple) and len(value) == 2:
            return {"first": value[0], "last": value[1]}
        if isinstance(value, Span | dict):
            return value
        raise ValueError('must be two dates, such as ["2023-01-01", "2023-12-31"]')

    @model_validator(mode="after")
    def _apart(self) -> Self:
        if self.reporting.first <= self.baseline.last:
            raise ValueError(
                f"reporting begins {self.reporting.first}, before the baseline ends {self.baseline.last}"
            )
        return self


class Meter(Record):
    """[[meter]]: what is None is inferred from the file where it is unmistakable."""

    id: Name
    files: FileNames = Field(min_length=1)
    measures: Literal["lighting", "whole building"] = "lighting"
    quantity: Literal["energy", "power", "register", "current", "on-off", "pulses"] | None = None
    unit: str | None = None
    stamp: Literal["start", "end"] | None = None
    clock: str | None = None  # site | UTC | a fixed offset such as "-06:00" | an IANA zone
    date_order: Literal["day first", "month first", "year first"] | None = None
    time_column: str | None = None
    value_column: str | None = None
    channel: str | None = None  # which register or circuit of a file that holds several
    interval_minutes: Positive | None = None
    multiplier: float = Field(default=1.0, allow_inf_nan=False)
    volts: Positive | None = None  # for current: volts between the conductors of one phase circuit
    power_factor: Annotated[float, Field(gt=0.0, le=1.0)] | None = None
    phases: Literal[1, 3] = 1
    kwh_per_pulse: Positive | None = None
    accuracy: Fraction | None = None  # of reading, two-sided at the study's confidence; with its source
    accuracy_source: str | None = None
    zones: FileNames = ()

    @field_validator("multiplier")
    @classmethod
    def _not_zero(cls, value: float) -> float:
        if value == 0:
            raise ValueError("must not be zero")
        return value


class Hours(Record):
    """Opening hours: seven tuples of (start, end) in hours after local midnight, Monday first."""

    week: tuple[tuple[tuple[float, float], ...], ...]

    @model_validator(mode="before")
    @classmethod
    def _from_table(cls, table: object) -> object:
        if not isinstance(table, dict) or set(table) == {"week"}:
            return table
        week: list[tuple[tuple[float, float], ...]] = [()] * 7
        for key, text in table.items():
            for day in _days_named(str(key)):
                week[day] = week[day] + _windows(str(key), text)
        return {"week": tuple(week)}


def _days_named(key: str) -> list[int]:
    first, _, last = key.lower().partition("-")
    if first not in DAYS or (last and last not in DAYS):
        raise ValueError(f"'{key}' is not a day or a span of days such as mon, sat or mon-fri")
    start, end = DAYS.index(first), DAYS.index(last or first)
    return [day % 7 for day in range(start, end + 1 if end >= start else end + 8)]


def _windows(key: str, value: object) -> tuple[tuple[float, float], ...]:
    texts = value if isinstance(value, list) else [value]
    windows = []
    for text in texts:
        match = _WINDOW.match(str(text).strip())
        if not match:
            raise ValueError(f"{key} = {text!r} is not a span of hours such as '06:30-22:00'")
        h1, m1, h2, m2 = (int(part) for part in match.groups())
        start, end = h1 + m1 / 60, h2 + m2 / 60
        if max(start, end) > 24:
            raise ValueError(f"{key} = {text!r} goes past 24:00")
        windows.append((start, end if end > start else end + 24))  # past midnight: into the next day
    return tuple(windows)


class Occupancy(Record):
    """[occupancy]"""

    files: FileNames = ()
    measures: Literal["fraction", "count", "motion"] | None = None
    time_column: str | None = None
    value_column: str | None = None
    clock: str | None = None
    stamp: Literal["start", "end"] | None = None
    date_order: Literal["day first", "month first", "year first"] | None = None
    holidays: tuple[date, ...] = ()  # treated as closed
    hours: Hours | None = None


class Weather(Record):
    """[weather]: outdoor dry-bulb temperature."""

    files: FileNames = Field(min_length=1)
    unit: Literal["C", "F", "K"] | None = None
    time_column: str | None = None
    value_column: str | None = None
    clock: str | None = None
    stamp: Literal["start", "end"] | None = None
    date_order: Literal["day first", "month first", "year first"] | None = None


class Predicted(Record):
    """[predicted]: the two numbers, or the inventory they follow from."""

    annual_kwh: float | None = None
    peak_kw: float | None = None
    inventory: Name | None = None


class Commissioned(Record):
    """[zone.commissioned]: what was agreed at hand-over; None = not agreed."""

    high_trim: Fraction | None = None  # full-on level, fraction of connected load
    low_level: Fraction | None = None  # level when vacant in opening hours; 0 = off
    hold_minutes: NotNegative | None = None  # time delay after the last motion
    daylight_dimming: bool | None = None
    scheduled_off: bool | None = None  # off outside opening hours when vacant
    standby_watts: NotNegative | None = None  # per fixture, lights off


class Zone(Record):
    """[[zone]]"""

    id: Name
    meter: Name | None = None
    fixtures: NotNegative | None = None
    watts_before: NotNegative | None = None  # per fixture, input power
    watts_after: NotNegative | None = None
    place: Literal["indoor", "outdoor"] | None = None  # None: told from the meter where unmistakable
    motion: FileNames = ()
    motion_clock: str | None = None
    hours: Hours | None = None  # None: the site's opening hours
    commissioned: Commissioned = Commissioned()

    @property
    def connected_kw_before(self) -> float | None:
        """Connected load before the retrofit, kW."""
        return _connected_kw(self.fixtures, self.watts_before)

    @property
    def connected_kw_after(self) -> float | None:
        """Connected load after the retrofit, kW."""
        return _connected_kw(self.fixtures, self.watts_after)


def _connected_kw(fixtures: float | None, watts: float | None) -> float | None:
    return None if fixtures is None or watts is None else fixtures * watts / 1000.0


Hour = Annotated[float, Field(ge=0, le=24)]
Months = Annotated[tuple[Annotated[int, Field(ge=1, le=12)], ...], Field(min_length=1)]
EVERY_MONTH = tuple(range(1, 13))


class Peak(Record):
    """[peak]: the programme's own definition of its peak window.

    `rule`: "every day" takes the mean over all eligible days; "hottest days" over the `days`
    hottest (by outdoor temperature; `consecutive` ones as one heat wave); "single hour" over the
    local hours named in `at`. `hour_labels` says how the programme names its hours: with "ending"
    the hours [15, 18] are 14:00 to 18:00.
    """

    months: Months
    hours: tuple[Hour, Hour]
    also_hours: tuple[tuple[Hour, Hour], ...] = ()  # further windows of the same days
    hour_labels: Literal["starting", "ending"] = "starting"
    weekdays_only: bool = True
    holidays_excluded: bool = True
    holidays: tuple[date, ...] | None = None  # the programme's own; None: the site's
    rule: Literal["every day", "hottest days", "single hour"] = "every day"
    # three hottest days: DEER's heat wave (cedars.sound-data.com, DEER 2023)
    days: int = Field(default=3, ge=1)
    consecutive: bool = False
    at: tuple[datetime, ...] = ()  # local clock, the hour's start; for "single hour"
    source: str | None = None

    @model_validator(mode="after")
    def _window(self) -> Self:
        for first, last in (self.hours, *self.also_hours):
            if last < first or (last == first and self.hour_labels == "starting"):
                raise ValueError("hours must run from the first to the later one, such as [14, 18]")
            if first < 1 and self.hour_labels == "ending":
                raise ValueError("hours that are labelled by their end run from 1 to 24")
        if self.rule == "single hour" and not self.at:
            raise ValueError('rule = "single hour" needs at = [2024-07-16T17:00:00], the hour itself')
        return self

    @property
    def windows(self) -> tuple[tuple[float, float], ...]:
        """The windows in hours after local midnight, half-open, whatever the labels."""
        shift = 1.0 if self.hour_labels == "ending" else 0.0
        return tuple((first - shift, last) for first, last in (self.hours, *self.also_hours))


class PricePeriod(Record):
    """One row of a time-of-use table: the first that matches an hour sets its price."""

    name: Name
    per_kwh: float
    months: tuple[Annotated[int, Field(ge=1, le=12)], ...] = EVERY_MONTH
    hours: tuple[Hour, Hour] = (0, 24)
    weekdays_only: bool = False  # holidays count as weekend days


class DemandPrice(Record):
    """A demand charge for some months of the year."""

    per_kw_month: float
    months: Months = EVERY_MONTH


class Tariff(Record):
    """[tariff]: every price is the user's.

    `energy_per_kwh` is the marginal price, what one kWh less takes off the bill;
    `blended_per_kwh` the whole bill over its kWh, shown beside it. `demand_ratchet_fraction` is
    the share of the highest demand of the last `demand_ratchet_months` below which the billed
    demand does not fall. `demand_coincidence` is the share of the lighting's own peak reduction
    that falls together with the building's billing peak; a lighting meter cannot show it.
    """

    currency: Name = "USD"
    energy_per_kwh: float | tuple[PricePeriod, ...] | None = None
    blended_per_kwh: float | None = None
    demand_per_kw_month: float | tuple[DemandPrice, ...] | None = None
    demand_ratchet_fraction: Fraction | None = None
    demand_ratchet_months: int = Field(default=11, ge=1)  # common practice, no source
    demand_interval_minutes: Positive = 15.0  # 15 or 30 min is common practice, no source
    demand_coincidence: Fraction | None = None
    source: str | None = None


class IncentiveTier(Record):
    """The rates for one capability of the control system; the name is the user's own."""

    name: Name
    per_kwh: float | None = None
    per_kw: float | None = None
    source: str | None = None


class Incentive(Record):
    """[incentive]: every rate is the user's; `tier` picks one of `tiers`, stated by the user."""

    per_kwh: float | None = None
    per_kw: float | None = None
    tier: Name | None = None
    tiers: tuple[IncentiveTier, ...] = ()
    cap_fraction_of_cost: Fraction | None = None
    cap_amount: NotNegative | None = None
    project_cost: NotNegative | None = None
    source: str | None = None

    @model_validator(mode="after")
    def _tier_is_there(self) -> Self:
        names = [tier.name for tier in self.tiers]
        if self.tier is not None and self.tier not in names:
            given = ", ".join(names) or "none given"
            raise ValueError(f"tier '{self.tier}' is not among the tiers ({given})")
        if self.tiers and self.tier is None:
            raise ValueError(f"state which tier applies: tier = one of {', '.join(names)}")
        return self


class Guarantee(Record):
    """[guarantee]: the saving a contractor has promised to make good."""

    annual_kwh: NotNegative | None = None
    annual_amount: NotNegative | None = None  # money, in the tariff's currency
    price_per_kwh: float | None = None  # the agreed one; None: the tariff's marginal price
    source: str | None = None


class CarbonPeriod(Record):
    """Emissions of grid electricity for some months and hours; the first that matches counts."""

    name: Name
    kg_per_kwh: NotNegative
    months: tuple[Annotated[int, Field(ge=1, le=12)], ...] = EVERY_MONTH
    hours: tuple[Hour, Hour] = (0, 24)
    weekdays_only: bool = False


class Carbon(Record):
    """[carbon]: emissions of grid electricity, kg CO2e per kWh; annual or by month and hour."""

    kg_per_kwh: NotNegative | tuple[CarbonPeriod, ...] | None = None
    source: str | None = None


class DemandEvent(Record):
    """One demand-response call: local clock, half-open."""

    first: datetime
    last: datetime

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.last <= self.first:
            raise ValueError(f"ends ({self.last}) before it begins ({self.first})")
        return self


class DemandResponse(Record):
    """[demand_response]: load drop against a stated baseline: the mean of the same hours on the
    `days_kept` highest of the last `days_back` eligible days, moved by the load in the hours
    before the call, within `adjustment_cap`. The rule is the programme's; the defaults are
    common practice, no source."""

    events: tuple[DemandEvent, ...] = ()
    days_back: int = Field(default=10, ge=1)
    days_kept: int = Field(default=5, ge=1)
    adjustment_hours: NotNegative = 0.0  # 0: none
    adjustment_gap_hours: NotNegative = 0.0
    adjustment_cap: Fraction = 0.2
    source: str | None = None

    @model_validator(mode="after")
    def _kept_of_back(self) -> Self:
        if self.days_kept > self.days_back:
            raise ValueError(f"days_kept ({self.days_kept}) is more than days_back ({self.days_back})")
        return self


class Event(Record):
    """[[event]]: a non-routine event, with its evidence."""

    first: date
    last: date
    treatment: Literal["set aside", "model", "note only"]
    reason: Name
    meters: tuple[Name, ...] = ()  # empty: every meter

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.last < self.first:
            raise ValueError(f"ends ({self.last}) before it begins ({self.first})")
        return self


class Study(Record):
    """The whole of study.toml; `folder` is where it stands and what its paths are relative to."""

    format: Literal[1]
    study: StudyHead = StudyHead()
    site: Site
    periods: Periods | None = None
    meter: tuple[Meter, ...] = Field(min_length=1)
    occupancy: Occupancy = Occupancy()
    weather: Weather | None = None
    predicted: Predicted = Predicted()
    zone: tuple[Zone, ...] = ()
    peak: Peak | None = None
    tariff: Tariff = Tariff()
    incentive: Incentive = Incentive()
    guarantee: Guarantee = Guarantee()
    carbon: Carbon = Carbon()
    demand_response: DemandResponse = DemandResponse()
    event: tuple[Event, ...] = ()
    claim: Claim = Claim()
    folder: Path = Field(default=Path(), exclude=True)

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        problems = [
            *_repeated("meter", [meter.id for meter in self.meter]),
            *_repeated("zone", [zone.id for zone in self.zone]),
            *_unknown_meters(self),
            *_unknown_zones(self),
        ]
        if problems:
            raise ValueError("; ".join(problems))
        return self

    def zones_of(self, meter: str) -> tuple[Zone, ...]:
        """The zones that a meter feeds, by the meter's list or the zone's own `meter`."""
        named = next(entry.zones for entry in self.meter if entry.id == meter)
        return tuple(zone for zone in self.zone if zone.meter == meter or zone.id in named)

    def hours_of(self, zone: Zone) -> Hours | None:
        """The zone's opening hours, else the site's."""
        return zone.hours or self.occupancy.hours


def _repeated(kind: str, names: list[str]) -> list[str]:
    return [f"{kind} id '{name}' is used twice" for name in sorted({n for n in names if names.count(n) > 1})]


def _unknown_meters(study: Study) -> list[str]:
    known = {meter.id for meter in study.meter}
    named = [(f"zone '{zone.id}'", zone.meter) for zone in study.zone if zone.meter]
    named += [(f"event from {event.first}", meter) for event in study.event for meter in event.meters]
    return [f"{who} names meter '{meter}', which is not there" for who, meter in named if meter not in known]


def _unknown_zones(study: Study) -> list[str]:
    """A name a meter feeds that looks like a misspelt zone; one without a table is only undescribed."""
    known = {zone.id for zone in study.zone}
    fed = {zone for meter in study.meter for zone in meter.zones} | {z.id for z in study.zone if z.meter}
    problems = []
    for meter in study.meter:
        for zone in set(meter.zones) - known:
            near = get_close_matches(zone, sorted(known - fed), n=1)
            if near:
                problems.append(f"meter '{meter.id}' names zone '{zone}'; did you mean '{near[0]}'?")
    return problems
