"""What the setup page asks of a study, table by table."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from dashboards.setup.price_lines import HINT as PRICE_HINT
from dashboards.setup.seldom_questions import CLAIM, DEMAND_RESPONSE, population_fields, query_fields
from dashboards.setup.setup_fields import NEW, Field
from mv.study_file.toml_text import Place

PATHS = "paths in the folder; commas between"
EDGES = ("start", "end")
ORDERS = ("day first", "month first", "year first")
CLOCKS = ("site", "UTC")
RARE = (
    "time_column",
    "value_column",
    "channel",
    "multiplier",
    "interval_minutes",
    "volts",
    "power_factor",
    "phases",
    "kwh_per_pulse",
    "zones",
    "place",
    "database",
    "sql",
)
CLOCK_HINT = "site, UTC, -06:00 or an IANA zone"


@dataclass(frozen=True, slots=True)
class Group:
    """Questions that stand together under one title."""

    title: str
    fields: tuple[Field, ...]
    opened: bool = False

    @property
    def common(self) -> tuple[Field, ...]:
        """Those that most studies answer."""
        return tuple(field for field in self.fields if field.key not in RARE)

    @property
    def rare(self) -> tuple[Field, ...]:
        """Those that few files or buildings need."""
        return tuple(field for field in self.fields if field.key in RARE)


SITE = (
    Field(("study",), "title", "Title of the study"),
    Field(("site",), "name", "Name of the site"),
    Field(("site",), "latitude", "Latitude", "number", "degrees, north positive, such as 44.52"),
    Field(("site",), "longitude", "Longitude", "number", "degrees, east positive, such as -89.57"),
    Field(("site",), "timezone", "Time zone", "zone", "IANA name, such as America/Chicago"),
    Field(("study",), "confidence", "Confidence of every interval", "number", "two-sided; 0.9 unless stated"),
)
PERIODS = (
    Field(
        ("periods",), "baseline", "Before the retrofit", "span", "first to last day: 2023-01-01 to 2023-12-31"
    ),
    Field(
        ("periods",), "reporting", "After it", "span", "what lies between the two is installation, set aside"
    ),
)
PROMISE = (
    Field(("predicted",), "annual_kwh", "Saving promised, kWh a year", "number"),
    Field(("predicted",), "peak_kw", "Peak reduction promised, kW", "number"),
    Field(("predicted",), "inventory", "Or the inventory they follow from", hint="a CSV in the folder"),
)
USE = (
    Field(
        ("occupancy",),
        "hours",
        "Opening hours",
        "hours",
        "a line a day or span of days: mon-fri 08:00-18:00",
    ),
    Field(("occupancy",), "holidays", "Days treated as closed", "days", "such as 2023-07-04; commas between"),
)
OCCUPANCY = (
    Field(("occupancy",), "files", "Occupancy files", "texts", PATHS),
    Field(
        ("occupancy",), "measures", "Occupancy: what the file holds", offered=("fraction", "count", "motion")
    ),
    Field(("occupancy",), "time_column", "Occupancy: time column"),
    Field(("occupancy",), "value_column", "Occupancy: value column"),
    Field(("occupancy",), "clock", "Occupancy: clock of the file", hint=CLOCK_HINT, offered=CLOCKS),
    Field(("occupancy",), "stamp", "Occupancy: stamp stands at the interval's", offered=EDGES),
    Field(("occupancy",), "date_order", "Occupancy: order of dates", offered=ORDERS),
)
WEATHER = (
    Field(("weather",), "files", "Outdoor temperature files", "texts", f"for whole-building meters; {PATHS}"),
    Field(("weather",), "unit", "Temperature: unit", offered=("C", "F", "K")),
    Field(("weather",), "time_column", "Temperature: time column"),
    Field(("weather",), "value_column", "Temperature: value column"),
    Field(("weather",), "clock", "Temperature: clock of the file", hint=CLOCK_HINT, offered=CLOCKS),
    Field(("weather",), "stamp", "Temperature: stamp stands at the interval's", offered=EDGES),
    Field(("weather",), "date_order", "Temperature: order of dates", offered=ORDERS),
)
PEAK = (
    Field(("peak",), "months", "Months of the peak window", "numbers", "such as 6, 7, 8 or 6-8"),
    Field(("peak",), "hours", "Hours of the peak window", "hour-span", "local clock, such as 14 to 18"),
    Field(
        ("peak",),
        "hour_labels",
        "The programme names an hour by its",
        hint="ending: its hours 15 to 18 are 14:00 to 18:00",
        offered=("starting", "ending"),
    ),
    Field(("peak",), "weekdays_only", "Peak on weekdays only", "yes-no"),
    Field(
        ("peak",),
        "rule",
        "Days that count",
        hint="every day unless stated",
        offered=("every day", "hottest days"),
    ),
    Field(("peak",), "source", "Where the window is written"),
)
TARIFF = (
    Field(("tariff",), "currency", "Currency", hint="such as USD"),
    Field(("tariff",), "energy_per_kwh", "Price of one kWh less", "prices", PRICE_HINT),
    Field(("tariff",), "demand_per_kw_month", "Price of one kW of demand, a month", "number"),
    Field(
        ("tariff",),
        "demand_coincidence",
        "Share of the lighting's reduction that falls with the billing peak",
        "number",
        "0 to 1; a lighting meter cannot show it",
    ),
    Field(("tariff",), "blended_per_kwh", "The whole bill over its kWh", "number", "shown beside the rest"),
    Field(("tariff",), "source", "Where the prices are written"),
)
INCENTIVE = (
    Field(("incentive",), "per_kwh", "Incentive for a kWh of the first year", "number"),
    Field(("incentive",), "per_kw", "Incentive for a kW of peak reduction", "number"),
    Field(("incentive",), "cap_fraction_of_cost", "Capped at this share of the cost", "number", "0 to 1"),
    Field(("incentive",), "cap_amount", "Capped at this amount", "number"),
    Field(("incentive",), "project_cost", "Cost of the project", "number"),
    Field(("incentive",), "source", "Where the incentive's terms are written"),
)
CONTRACT = (
    Field(("guarantee",), "annual_kwh", "Saving guaranteed, kWh a year", "number"),
    Field(("guarantee",), "source", "Where the guarantee is written"),
    Field(("carbon",), "kg_per_kwh", "Emissions of a kWh, kg CO2e", "number"),
    Field(("carbon",), "source", "Where the emissions are written"),
)
FIRST = (
    Group("Site", SITE, True),
    Group("Periods, local days, both included", PERIODS, True),
    Group("What was promised", PROMISE, True),
)
LATER = (
    Group("Opening hours and closed days", USE),
    Group("Occupancy files", OCCUPANCY),
    Group("Outdoor temperature", WEATHER),
    Group("Peak window of the programme", PEAK),
    Group("Tariff", TARIFF),
    Group("Incentive", INCENTIVE),
    Group("Guarantee and emissions", CONTRACT),
    Group("Calls for load drop", DEMAND_RESPONSE),
    Group("The claim and its papers", CLAIM),
)


def meter_fields(number: int | str) -> tuple[Field, ...]:
    """The keys by which a meter's files are read; the name of a new one."""
    at: Place = ("meter", number)
    name = (Field(at, "id", "Name of the meter"),) if number == NEW else ()
    return (
        *name,
        Field(at, "files", "Files", "texts", "paths in the folder; * stands for any text; commas between"),
        Field(at, "measures", "Feeds", "choice", offered=("lighting", "whole building")),
        Field(at, "quantity", "Quantity", offered=QUANTITIES),
        Field(at, "unit", "Unit", hint="such as kWh, W or A"),
        Field(at, "stamp", "Stamp stands at the interval's", offered=EDGES),
        Field(at, "clock", "Clock of the file", hint=CLOCK_HINT, offered=CLOCKS),
        Field(at, "date_order", "Order of dates", offered=ORDERS),
        Field(at, "time_column", "Time column"),
        Field(at, "value_column", "Value column"),
        Field(at, "channel", "Channel"),
        Field(at, "multiplier", "Multiplier", "number", "of the transformers, where the file leaves it out"),
        Field(at, "interval_minutes", "Interval, minutes", "number"),
        Field(at, "volts", "Volts", "number", "for a file in A: between the conductors of one phase"),
        Field(at, "power_factor", "Power factor", "number", "for a file in A: 0 to 1"),
        Field(at, "phases", "Phases", "number", "for a file in A: 1 or 3"),
        Field(at, "kwh_per_pulse", "kWh of a pulse", "number", "for a file of pulses"),
        Field(at, "zones", "Zones that it feeds", "texts", "names of zones; commas between"),
        *query_fields(number),
    )


QUANTITIES = ("energy", "power", "register", "current", "on-off", "pulses")


def zone_fields(number: int | str) -> tuple[Field, ...]:
    """A zone and what was agreed for it at hand-over."""
    at: Place = ("zone", number)
    agreed: Place = ("zone", number, "commissioned")
    return (
        Field(at, "id", "Name of the zone"),
        Field(at, "meter", "Its meter"),
        Field(at, "fixtures", "Fixtures", "number"),
        Field(at, "watts_before", "Watts of one fixture before", "number", "input power"),
        Field(at, "watts_after", "Watts of one fixture after", "number", "input power"),
        Field(at, "motion", "Motion logs", "texts", PATHS),
        Field(at, "place", "Indoors or outdoors", offered=("indoor", "outdoor")),
        Field(at, "hours", "Its own opening hours", "hours", "only where they differ from the site's"),
        Field(agreed, "high_trim", "Agreed: full-on level", "number", "share of connected load, 0 to 1"),
        Field(agreed, "low_level", "Agreed: level when vacant", "number", "0 to 1; 0 is off"),
        Field(agreed, "hold_minutes", "Agreed: minutes after the last motion", "number"),
        Field(agreed, "daylight_dimming", "Agreed: dims with daylight", "yes-no"),
        Field(agreed, "scheduled_off", "Agreed: off outside opening hours when vacant", "yes-no"),
        Field(agreed, "standby_watts", "Agreed: watts of one fixture when off", "number"),
    )


def fields_of(data: Mapping[str, Any]) -> list[Field]:
    """Every question about what the file holds."""
    asked = [field for group in (*FIRST, *LATER) for field in group.fields]
    for number in range(len(data.get("meter") or ())):
        asked += meter_fields(number)
    for number in range(len(data.get("zone") or ())):
        asked += zone_fields(number)
    for number in range(len(data.get("population") or ())):
        asked += population_fields(number)
    return asked
