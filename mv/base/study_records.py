"""The study as frozen records, one class a table of study.toml.

A key that is not here is an error. Every numeric default names its unit and its source.
"""

from datetime import date
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from typing import Annotated, Literal, Self
from zoneinfo import available_timezones

from pydantic import AfterValidator, Field, field_validator, model_validator

from mv.base.claim_records import Claim
from mv.base.meter_records import Meter
from mv.base.opening_hours import Hours
from mv.base.population_records import Population, logged_kw_of, population_problems
from mv.base.programme_records import Carbon, DemandResponse, Guarantee, Incentive, Peak, Tariff
from mv.base.study_fields import Fraction, MismatchError, Name, Names, NotNegative, Record


@cache  # reading the names from the disk takes longer than all else of a study file
def _timezones() -> set[str]:
    return available_timezones()


def _timezone(value: str) -> str:
    if value not in _timezones():
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
            raise MismatchError(
                f"ends ({self.last}) before it begins ({self.first})",
                value=f"{self.first} to {self.last}",
                remedy="Exchange or mend the two dates.",
            )
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
        raise MismatchError(
            "must be two dates",
            value=value,
            remedy='Write first and last day, such as ["2023-01-01", "2023-12-31"].',
        )

    @model_validator(mode="after")
    def _apart(self) -> Self:
        if self.reporting.first <= self.baseline.last:
            raise MismatchError(
                f"reporting begins {self.reporting.first}, before the baseline ends {self.baseline.last}",
                value=f"{self.reporting.first}",
                remedy="Let reporting begin after the baseline's last day, with the installation between.",
            )
        return self


class Occupancy(Record):
    """[occupancy]"""

    files: Names = ()
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

    files: Names = Field(min_length=1)
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
    motion: Names = ()
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


class Event(Span):
    """[[event]]: a non-routine event, with its evidence."""

    treatment: Literal["set aside", "model", "note only"]
    reason: Name
    meters: tuple[Name, ...] = ()  # empty: every meter


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
    population: tuple[Population, ...] = ()
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
        known = [meter.id for meter in self.meter]
        problems = [
            *_repeated("meter", known),
            *_repeated("zone", [zone.id for zone in self.zone]),
            *_unknown_meters(self),
            *_unknown_zones(self),
            *map(
                MismatchError,
                population_problems(self.population, [m.id for m in self.meter], self._zones_kw()),
            ),
        ]
        if problems:
            raise MismatchError("; ".join(one.what for one in problems), several=tuple(problems))
        return self

    def zones_of(self, meter: str) -> tuple[Zone, ...]:
        """The zones that a meter feeds, by the meter's list or the zone's own `meter`."""
        named = next(entry.zones for entry in self.meter if entry.id == meter)
        return tuple(zone for zone in self.zone if zone.meter == meter or zone.id in named)

    def logged_kw(self, group: Population) -> dict[str, float]:
        """Connected load of each logger of a [[population]] by meter, kW before the retrofit."""
        return {meter: load or 0.0 for meter, load in logged_kw_of(group, self._zones_kw()).items()}

    def _zones_kw(self) -> dict[str, float | None]:
        """Connected load before, of all zones that a meter feeds; None where any is not known."""
        found: dict[str, float | None] = {}
        for meter in (entry.id for entry in self.meter):
            loads = [zone.connected_kw_before for zone in self.zones_of(meter)]
            known = [load for load in loads if load is not None]
            found[meter] = sum(known) if known and len(known) == len(loads) else None
        return found

    def hours_of(self, zone: Zone) -> Hours | None:
        """The zone's opening hours, else the site's."""
        return zone.hours or self.occupancy.hours


def _repeated(kind: str, names: list[str]) -> list[MismatchError]:
    repeated = sorted({name for name in names if names.count(name) > 1})
    return [
        MismatchError(
            f"{kind} id '{name}' is used twice",
            value=name,
            place=f"[[{kind}]] {' and '.join(str(n) for n, own in enumerate(names, 1) if own == name)}, id",
            remedy="Give each an id of its own.",
        )
        for name in repeated
    ]


def _unknown_meters(study: Study) -> list[MismatchError]:
    known = [meter.id for meter in study.meter]
    named = [
        (f"zone '{z.id}'", f"[[zone]] {n}, meter", z.meter) for n, z in enumerate(study.zone, 1) if z.meter
    ]
    named += [
        (f"event from {event.first}", f"[[event]] {n}, meters", meter)
        for n, event in enumerate(study.event, 1)
        for meter in event.meters
    ]
    return [
        MismatchError(
            f"{who} names meter '{meter}', which is not there",
            value=meter,
            place=place,
            remedy=_one_of("meter", meter, known),
        )
        for who, place, meter in named
        if meter not in known
    ]


def _one_of(kind: str, name: str, known: list[str]) -> str:
    near = get_close_matches(name, known, n=1)
    return f"Did you mean '{near[0]}'?" if near else f"The study has the {kind}s {', '.join(known)}."


def _unknown_zones(study: Study) -> list[MismatchError]:
    """A name a meter feeds that looks like a misspelt zone; one without a table is only undescribed."""
    known = {zone.id for zone in study.zone}
    fed = {zone for meter in study.meter for zone in meter.zones} | {z.id for z in study.zone if z.meter}
    problems = []
    for number, meter in enumerate(study.meter, 1):
        for zone in sorted(set(meter.zones) - known):
            near = get_close_matches(zone, sorted(known - fed), n=1)
            if near:
                problems.append(
                    MismatchError(
                        f"meter '{meter.id}' names zone '{zone}', which is not described",
                        value=zone,
                        place=f"[[meter]] {number}, zones",
                        remedy=f"Did you mean '{near[0]}'?",
                    )
                )
    return problems
