"""What the programme, the tariff and the contract say: peak window, prices, rates, guarantee, carbon.

Every price, rate and factor is the user's, each with a field for its source.
"""

from datetime import date, datetime
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from mv.base.study_fields import Fraction, MismatchError, Name, NotNegative, Positive, Record

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
                raise MismatchError(
                    "hours must run from the first to the later one",
                    value=[first, last],
                    remedy="Write the earlier first, such as [14, 18]; split a window that passes midnight.",
                )
            if first < 1 and self.hour_labels == "ending":
                raise ValueError("hours that are labelled by their end run from 1 to 24")
        if self.rule == "single hour" and not self.at:
            raise MismatchError(
                'rule = "single hour" needs the hour itself', remedy="Add at = [2024-07-16T17:00:00]."
            )
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
            raise MismatchError(
                f"tier '{self.tier}' is not among the tiers", value=self.tier, remedy=f"Given: {given}."
            )
        if self.tiers and self.tier is None:
            raise MismatchError("state which tier applies", remedy=f"Add tier = one of {', '.join(names)}.")
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
            raise MismatchError(
                f"ends ({self.last}) before it begins ({self.first})",
                value=f"{self.first} to {self.last}",
                remedy="Exchange or mend the two times.",
            )
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
