"""One month of a verification: what was used, what was expected, what was lost to changes."""

import calendar
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from mv.base.errors import InputError
from mv.base.result_parts import estimate, part, rows
from mv.base.study_records import Span
from mv.base.verification import Verification

DAYS_A_MONTH = 30.4375  # 365.25 / 12: the month that a finding's kWh a month is meant for
DAYS_A_YEAR = 365.0  # the typical year of the savings
Json = Mapping[str, Any]


@dataclass(frozen=True)
class ActiveFinding:
    """A `drift` entry that was so during some of the month, and its share of kWh and money in it."""

    finding: Json
    key: str
    days: int
    kwh: float | None
    low: float | None
    high: float | None
    cost: float | None


@dataclass(frozen=True)
class ZoneLoss:
    """A zone's findings added up over the month; more used and less used apart, never netted."""

    zone: str
    meter: str
    metered_kwh: float | None  # None where the meter feeds other zones too
    lost_kwh: float
    less_kwh: float
    cost: float | None
    findings: int
    untold: int  # findings whose kWh cannot be told


@dataclass(frozen=True)
class MonthFacts:
    """What the page says. `span`: the month's days within the reporting period.

    Metered, stand-in and adjusted kWh add up to the month's `actual_kwh` and stay apart.
    """

    month: str
    span: Span
    calendar_days: int
    entry: Json
    metered_kwh: float  # of the days that count
    stand_in_kwh: float  # the new lighting's model on counted days without a usable reading
    adjusted_kwh: float  # non-routine effects taken out of the reading
    set_aside: tuple[str, ...]  # events whose days do not count, in words
    expected_kwh: float
    avoided: Json | None
    promised_kwh: float | None
    saved_so_far: Json | None  # avoided energy from hand-over to the month's end, with its interval
    promised_so_far: float | None
    findings: tuple[ActiveFinding, ...]
    zones: tuple[ZoneLoss, ...]

    @property
    def whole(self) -> bool:
        """Whether the reporting period holds every day of the month."""
        return self.span.days == self.calendar_days


def month_named(verification: Verification, month: str | None) -> str:
    """The month asked for, else the last whole one of the reporting period that has data.

    Raises InputError where the month is not one, or has no data.
    """
    known = [str(row["month"]) for row in rows(verification.result, "savings", "monthly")]
    if month is None:
        whole = [name for name in known if _within(verification, name).days == _days_in(name)]
        if whole or known:
            return (whole or known)[-1]
    elif not re.fullmatch(r"\d{4}-(0[1-9]|1[0-2])", month):
        raise InputError("is not a month", place="--month", value=month, remedy="Write it as YYYY-MM.")
    elif month in known:
        return month
    told = f"Months with data: {known[0]} to {known[-1]}." if known else "No month has an avoided energy."
    raise InputError(
        "the reporting period has no data in this month", place="--month", value=month, remedy=told
    )


def month_facts(verification: Verification, month: str, keys: Mapping[int, str]) -> MonthFacts:
    """The month's numbers; `keys` names each entry of the result's `drift` by its place in the list."""
    result = verification.result
    months = [row for row in rows(result, "savings", "monthly") if str(row["month"]) <= month]
    entry, span = months[-1], _within(verification, month)
    findings = _active(result, span, keys)
    promised = part(result, "predicted", "annual_kwh")
    elapsed = (span.last - _reporting(verification).first).days + 1
    metered, stand_in = _counted(verification, span)
    return MonthFacts(
        month=month,
        span=span,
        calendar_days=_days_in(month),
        entry=entry,
        metered_kwh=metered,
        stand_in_kwh=stand_in,
        adjusted_kwh=float(entry["actual_kwh"]) - metered - stand_in,
        set_aside=_events_aside(verification, span),
        expected_kwh=float(entry["expected_kwh"]),
        avoided=estimate(entry, "avoided_kwh"),
        promised_kwh=None if promised is None else promised * span.days / DAYS_A_YEAR,
        saved_so_far=estimate(entry, "avoided_to_date_kwh"),
        promised_so_far=None if promised is None else promised * elapsed / DAYS_A_YEAR,
        findings=findings,
        zones=_zones(verification, span, findings),
    )  # fmt: skip


def daily_totals(verification: Verification, span: Span) -> pd.DataFrame:
    """The days of the span over all meters: actual_kwh (NaN where no meter was read), meters read
    and meters in all, whether any zone was open."""
    daily = verification.daily
    days = daily[daily["day"].between(pd.Timestamp(span.first), pd.Timestamp(span.last))]
    by_day = days.groupby("day")
    return pd.DataFrame(
        {
            "actual_kwh": by_day["actual_kwh"].sum(min_count=1),
            "read": by_day["actual_kwh"].count(),
            "meters": by_day["meter"].count(),
            "open": by_day["is_open_day"].any() if "is_open_day" in days else True,
        }
    ).reindex(pd.date_range(span.first, span.last, freq="D"))


def _reporting(verification: Verification) -> Span:
    assert verification.study.periods is not None
    return verification.study.periods.reporting


def _days_in(month: str) -> int:
    return calendar.monthrange(int(month[:4]), int(month[5:]))[1]


def _within(verification: Verification, month: str) -> Span:
    reporting = _reporting(verification)
    year, number = int(month[:4]), int(month[5:])
    first, last = date(year, number, 1), date(year, number, _days_in(month))
    return Span(first=max(first, reporting.first), last=min(last, reporting.last))


def _counted(verification: Verification, span: Span) -> tuple[float, float]:
    """Metered and stand-in kWh of the days that count, over the meters that have an avoided energy."""
    daily, study = verification.daily, verification.study
    days = daily[daily["day"].between(pd.Timestamp(span.first), pd.Timestamp(span.last))]
    metered, stand_in = 0.0, 0.0
    for meter, own in days.groupby("meter"):
        if estimate(verification.result, "savings", "by_meter", str(meter), "avoided_kwh") is None:
            continue
        for event in study.event:
            if event.treatment == "set aside" and (not event.meters or meter in event.meters):
                own = own[~own["day"].between(pd.Timestamp(event.first), pd.Timestamp(event.last))]
        metered += float(own["actual_kwh"].sum())
        stand_in += float(own.loc[own["actual_kwh"].isna(), "reporting_model_kwh"].sum())
    return metered, stand_in


def _events_aside(verification: Verification, span: Span) -> tuple[str, ...]:
    return tuple(
        f"{event.first} to {event.last}, {', '.join(event.meters) or 'every meter'}: {event.reason}"
        for event in verification.study.event
        if event.treatment == "set aside" and event.first <= span.last and event.last >= span.first
    )


def _active(result: Json, span: Span, keys: Mapping[int, str]) -> tuple[ActiveFinding, ...]:
    found = []
    for place, finding in enumerate(rows(result, "drift")):
        days = _days_active(finding, span)
        if days:
            found.append(_share(finding, keys[place], days))
    return tuple(sorted(found, key=lambda item: -(item.kwh if item.kwh is not None else -1e9)))


def _days_active(finding: Json, span: Span) -> int:
    since = date.fromisoformat(finding["since"]) if finding.get("since") else span.first
    until = date.fromisoformat(finding["until"]) if finding.get("until") else span.last
    return max(0, (min(until, span.last) - max(since, span.first)).days + 1)


def _share(finding: Json, key: str, days: int) -> ActiveFinding:
    monthly, share = estimate(finding, "kwh_per_month"), days / DAYS_A_MONTH
    kwh, low, high = (
        None if monthly is None or monthly.get(end) is None else float(monthly[end]) * share
        for end in ("estimate", "low", "high")
    )
    cost = finding.get("cost_per_month")
    return ActiveFinding(finding, key, days, kwh, low, high, None if cost is None else float(cost) * share)


def _zones(
    verification: Verification, span: Span, findings: tuple[ActiveFinding, ...]
) -> tuple[ZoneLoss, ...]:
    study, daily = verification.study, verification.daily
    inside = daily[daily["day"].between(pd.Timestamp(span.first), pd.Timestamp(span.last))]
    used = inside.groupby("meter")["actual_kwh"].sum(min_count=1)
    losses = []
    for meter in study.meter:
        names = [zone.id for zone in study.zones_of(meter.id)] or [meter.id]
        energy = used.get(meter.id)
        metered = float(energy) if energy is not None and pd.notna(energy) and len(names) == 1 else None
        losses += [_loss(name, meter.id, metered, findings, names) for name in names]
        if len(names) > 1:
            together = _loss(meter.id, meter.id, None, findings, [])
            losses += [together] if together.findings else []
    return tuple(sorted(losses, key=lambda loss: (-loss.lost_kwh, -loss.untold, loss.zone)))


def _loss(
    zone: str, meter: str, metered: float | None, findings: tuple[ActiveFinding, ...], beside: list[str]
) -> ZoneLoss:
    """The findings of one zone: those that name it, or its meter where the meter feeds it alone."""
    alone = len(beside) == 1
    own = [
        item
        for item in findings
        if item.finding.get("where") == zone
        or (alone and item.finding.get("where") == meter)
        or list(item.finding.get("zones") or []) == [zone]
    ]
    told = [item.kwh for item in own if item.kwh is not None]
    costs = [item.cost for item in own if item.cost is not None and (item.kwh or 0.0) > 0]
    return ZoneLoss(
        zone, meter, metered,
        lost_kwh=sum(kwh for kwh in told if kwh > 0),
        less_kwh=-sum(kwh for kwh in told if kwh < 0),
        cost=sum(costs) if costs else None,
        findings=len(own),
        untold=len(own) - len(told),
    )  # fmt: skip
