"""[[meter]] of study.toml: the files or the query that hold a meter's readings, and what they mean."""

import re
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, field_validator, model_validator

from mv.base.meter_accuracy import MeterAccuracy, meter_accuracy
from mv.base.study_fields import Fraction, MismatchError, Name, Names, Positive, Record

FETCHED = "fetched"  # beside study.toml, the rows of queries


def _variable(value: str) -> str:
    if "://" in value or not re.fullmatch(r"[A-Za-z_][A-Za-z0-9_]*", value):
        raise ValueError(
            "must be the name of an environment variable that holds the database's address, such as "
            "METERING_DATABASE; the address itself, with its credentials, does not belong in a study"
        )
    return value


def _select(value: str) -> str:
    if not re.match(r"\s*(select|with)\b", value, re.IGNORECASE):
        raise MismatchError(
            "must be one SELECT statement", value=value, remedy="Begin with SELECT, or WITH ... SELECT."
        )
    return value.strip().rstrip(";")


class Query(Record):
    """[meter.query]: a meter whose readings stand in a database.

    `database` names the environment variable that holds the address, so that no credential stands
    in the study; `sql` is the SELECT that gives the time and the value, in any order of columns.
    """

    database: Annotated[str, AfterValidator(_variable)]
    sql: Annotated[str, AfterValidator(_select)]


class Meter(Record):
    """[[meter]]: what is None is inferred from the file where it is unmistakable.

    `model` fixes the resolution at which the meter's energy is modelled: "hourly" (an hourly model
    summed to days), "daily", "weekly" (from Monday), "monthly" (calendar months), or "bills" (the
    readings themselves, longer than a day). None: bills where most of a period was read by bills, else
    days, with the hourly model's sum among the drivers tried.
    """

    id: Name
    files: Names = ()  # relative to study.toml; of a query, where its rows are kept
    query: Query | None = None
    measures: Literal["lighting", "whole building"] = "lighting"
    quantity: Literal["energy", "power", "register", "current", "on-off", "pulses"] | None = None
    unit: str | None = None
    stamp: Literal["start", "end"] | None = None
    clock: str | None = None  # site | UTC | a fixed offset such as "-06:00" | an IANA zone
    date_order: Literal["day first", "month first", "year first"] | None = None
    time_column: str | None = None
    value_column: str | None = None
    decimal_mark: Literal[".", ","] | None = None  # where "1,234" may be a thousand or one and a bit
    channel: str | None = None  # which register or circuit of a file that holds several
    interval_minutes: Positive | None = None
    multiplier: float = Field(default=1.0, allow_inf_nan=False)
    volts: Positive | None = None  # for current: volts between the conductors of one phase circuit
    power_factor: Annotated[float, Field(gt=0.0, le=1.0)] | None = None
    phases: Literal[1, 3] = 1
    kwh_per_pulse: Positive | None = None
    accuracy: Fraction | None = None  # of reading, two-sided at the study's confidence; None: see own_error
    accuracy_source: str | None = None
    model: Literal["hourly", "daily", "weekly", "monthly", "bills"] | None = None
    zones: Names = ()

    @property
    def own_error(self) -> MeterAccuracy:
        """The accuracy that every interval of this meter counts with."""
        return meter_accuracy(self.accuracy, self.accuracy_source)

    @field_validator("multiplier")
    @classmethod
    def _not_zero(cls, value: float) -> float:
        if value == 0:
            raise MismatchError(
                "must not be zero", value=value, remedy="Write 1.0 where readings are as they are."
            )
        return value

    @model_validator(mode="before")
    @classmethod
    def _kept_rows(cls, value: object) -> object:
        """A query's rows are kept in a file named after the meter."""
        if not isinstance(value, dict) or not isinstance(value.get("query"), dict | Query):
            return value
        kept = f"{FETCHED}/{re.sub(r'[^A-Za-z0-9._-]+', '_', str(value.get('id'))).strip('.')}.csv"
        if value.get("files", (kept,)) not in ((kept,), [kept], kept):
            raise MismatchError(
                "names both files and a query", value=value["files"], remedy="Keep one of them."
            )
        return {**value, "files": (kept,)}

    @model_validator(mode="after")
    def _has_source(self) -> Self:
        if not self.files:
            raise MismatchError("names no files", remedy='Add files = ["..."] or a table [meter.query].')
        return self
