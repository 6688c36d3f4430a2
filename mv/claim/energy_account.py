"""The reporting period's energy, meter by meter: measured, modelled and adjusted kWh kept apart."""

from dataclasses import dataclass

import pandas as pd

from mv.base.result_parts import estimate, rows
from mv.claim.material import Json, Material

REPORTING = "reporting"


@dataclass(frozen=True, slots=True)
class MeterAccount:
    """One meter's counted days, kWh: `avoided` = expected - (metered + stand-in + adjusted)."""

    meter: str
    days: int
    metered: float
    stand_in: float
    adjusted: float
    expected: float
    avoided: Json | None


@dataclass(frozen=True, slots=True)
class MonthAccount:
    """One month over all meters, kWh; `days` are meter days that count."""

    month: str
    days: int
    metered: float
    stand_in: float
    adjusted: float
    expected: float
    avoided: Json | None


def counted_days(material: Material, meter: str) -> pd.DataFrame:
    """The meter's reporting days with `counted` and `why_not`: event days and unread days without a model."""
    daily = material.verification.daily
    days = daily[(daily["meter"] == meter) & (daily["period"] == REPORTING)].reset_index(drop=True)
    why = pd.Series("", index=days.index)
    unread = days["actual_kwh"].isna()
    why[unread & days["reporting_model_kwh"].isna()] = "no usable reading and no model"
    for event in material.study.event:
        if event.treatment == "set aside" and (not event.meters or meter in event.meters):
            inside = days["day"].between(pd.Timestamp(event.first), pd.Timestamp(event.last))
            why[inside] = f"set aside: {event.reason}"
    return days.assign(why_not=why, counted=why == "")


def accounts(material: Material) -> tuple[MeterAccount, ...]:
    """Every meter that has an avoided energy."""
    found = []
    for meter, row in material.by_meter.items():
        if estimate(row, "avoided_kwh") is not None:
            found.append(_account(material, meter, row))
    return tuple(found)


def _account(material: Material, meter: str, row: Json) -> MeterAccount:
    days = counted_days(material, meter)
    days = days[days["counted"]]
    metered = float(days["actual_kwh"].sum())
    stand_in = float(days.loc[days["actual_kwh"].isna(), "reporting_model_kwh"].sum())
    return MeterAccount(
        meter=meter,
        days=len(days),
        metered=metered,
        stand_in=stand_in,
        adjusted=float(row["actual_kwh"]) - metered - stand_in,
        expected=float(row["expected_kwh"]),
        avoided=estimate(row, "avoided_kwh"),
    )


def monthly_accounts(material: Material) -> tuple[MonthAccount, ...]:
    """Every month of the result: the days' sums, and what events and usage groups add to them."""
    tables = [counted_days(material, item.meter) for item in accounts(material)]
    days = pd.concat(tables, ignore_index=True) if tables else pd.DataFrame(columns=["day", "counted"])
    counted = days[days["counted"].astype(bool)]
    names = pd.DatetimeIndex(counted["day"]).strftime("%Y-%m")
    months = rows(material.result, "savings", "monthly")
    return tuple(_of_month(row, counted[names == str(row["month"])]) for row in months)


def _of_month(row: Json, days: pd.DataFrame) -> MonthAccount:
    metered, expected = float(days["actual_kwh"].sum()), float(days["expected_kwh"].sum())
    stand_in = float(days.loc[days["actual_kwh"].isna(), "reporting_model_kwh"].sum())
    used = float(row["actual_kwh"]) - (float(row["expected_kwh"]) - expected)
    return MonthAccount(
        month=str(row["month"]),
        days=len(days),
        metered=metered,
        stand_in=stand_in,
        adjusted=used - metered - stand_in,  # with what loggers stand for, where they do
        expected=expected,
        avoided=estimate(row, "avoided_kwh"),
    )
