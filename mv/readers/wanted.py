"""What the study says about a file, in one record for every kind of file."""

from dataclasses import dataclass
from typing import Literal

from mv.base.meter_records import Meter
from mv.base.study_records import Occupancy, Weather, Zone

Purpose = Literal["meter", "occupancy", "weather", "motion"]


@dataclass(frozen=True)
class Wanted:
    """The stated keys (None: to be inferred) and `table`, which names the study's table in messages."""

    table: str
    purpose: Purpose
    site_timezone: str
    measures: str = ""
    quantity: str | None = None
    unit: str | None = None
    stamp: str | None = None
    clock: str | None = None
    date_order: str | None = None
    decimal_mark: str | None = None
    time_column: str | None = None
    value_column: str | None = None
    channel: str | None = None
    interval_minutes: float | None = None
    multiplier: float | None = None

    @classmethod
    def of_meter(cls, meter: Meter, site_timezone: str) -> "Wanted":
        """What [[meter]] states."""
        return cls(
            table=f"[[meter]] id = {meter.id!r}",
            purpose="meter",
            site_timezone=site_timezone,
            measures=meter.measures,
            quantity=meter.quantity,
            unit=meter.unit,
            stamp=meter.stamp,
            clock=meter.clock,
            date_order=meter.date_order,
            decimal_mark=meter.decimal_mark,
            time_column=meter.time_column,
            value_column=meter.value_column,
            channel=meter.channel,
            interval_minutes=meter.interval_minutes,
            multiplier=meter.multiplier if "multiplier" in meter.model_fields_set else None,
        )

    @classmethod
    def of_occupancy(cls, occupancy: Occupancy, site_timezone: str) -> "Wanted":
        """What [occupancy] states."""
        return cls(
            table="[occupancy]",
            purpose="occupancy",
            site_timezone=site_timezone,
            quantity=occupancy.measures,
            stamp=occupancy.stamp,
            clock=occupancy.clock,
            date_order=occupancy.date_order,
            time_column=occupancy.time_column,
            value_column=occupancy.value_column,
        )

    @classmethod
    def of_weather(cls, weather: Weather, site_timezone: str) -> "Wanted":
        """What [weather] states."""
        return cls(
            table="[weather]",
            purpose="weather",
            site_timezone=site_timezone,
            unit=weather.unit,
            stamp=weather.stamp,
            clock=weather.clock,
            date_order=weather.date_order,
            time_column=weather.time_column,
            value_column=weather.value_column,
        )

    @classmethod
    def of_motion(cls, zone: Zone, site_timezone: str) -> "Wanted":
        """What [[zone]] states of its motion log."""
        return cls(
            table=f"[[zone]] id = {zone.id!r}",
            purpose="motion",
            site_timezone=site_timezone,
            clock=zone.motion_clock,
        )
