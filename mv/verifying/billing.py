"""A meter's bills within a period: whole local days, estimates joined to the reading that settles them."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

import pandas as pd

from mv.base.clock import period_bounds
from mv.base.series import Bill, MeterSeries
from mv.base.study_records import Event, Span

# A period is modelled by its bills where they cover at least this share of its metered time
# (common practice, no source).
LEAST_BILLED_SHARE = 0.5
HALF_DAY = pd.Timedelta(hours=12)
DAY = pd.Timedelta(days=1)


def has_bills(series: MeterSeries, span: Span, timezone: str) -> bool:
    """Whether most of the period's metered time was read by weeks, months or billing periods."""
    if not series.bills:
        return False
    start, end = period_bounds(span.first, span.last, timezone)
    energy = series.energy_kwh
    metered = energy[(energy.index >= start) & (energy.index < end)].notna().sum()
    metered_time = int(metered) * pd.Timedelta(minutes=series.interval_minutes)
    billed = sum(
        (max(min(b.after, end) - max(b.first, start), pd.Timedelta(0)) for b in series.bills), pd.Timedelta(0)
    )
    return bool(billed > pd.Timedelta(0) and billed >= LEAST_BILLED_SHARE * metered_time)


def bills_of(series: MeterSeries, span: Span, timezone: str) -> pd.DataFrame:
    """`last_day` and `energy_kwh` of the bills that lie wholly within the period, by first local day.

    A bill ends on the day whose midnight is nearest its last moment, where the next begins. An
    estimated bill is joined to the bill after it, whose reading settles both; one without such a bill
    is left out.
    """
    rows = []
    for bill in _settled(series.bills):
        first, after = _nearest_midnight(bill.first, timezone), _nearest_midnight(bill.after, timezone)
        inside = first >= pd.Timestamp(span.first) and after - DAY <= pd.Timestamp(span.last)
        if inside and after > first and not bill.estimated:
            rows.append((first, after - DAY, bill.energy_kwh))
    table = pd.DataFrame(rows, columns=["first_day", "last_day", "energy_kwh"])
    return table.astype({"first_day": "datetime64[us]", "last_day": "datetime64[us]"}).set_index("first_day")


def bills_of_days(days: pd.Series, resolution: Literal["weekly", "monthly"]) -> pd.DataFrame:
    """Whole weeks (from Monday) or calendar months of usable days, as `bills_of` gives bills.

    A day without usable energy takes its whole week or month out.
    """
    whole = days.groupby(pd.DatetimeIndex(days.index).to_period("W" if resolution == "weekly" else "M"))
    table = pd.DataFrame({"energy_kwh": whole.sum(min_count=1), "days": whole.count()})
    periods = pd.PeriodIndex(table.index)
    first, last = periods.start_time, periods.end_time.normalize()
    complete = table["days"].to_numpy() == ((last - first).days + 1).to_numpy()
    index = first[complete].rename("first_day")
    energy = table["energy_kwh"].to_numpy()[complete]
    return pd.DataFrame({"last_day": last[complete], "energy_kwh": energy}, index=index)


def without_events(bills: pd.DataFrame, events: Sequence[Event]) -> pd.DataFrame:
    """The bills on which no event to be set aside falls."""
    for event in (e for e in events if e.treatment == "set aside"):
        first, last = pd.Timestamp(event.first), pd.Timestamp(event.last)
        bills = bills[(bills.index > last) | (bills["last_day"] < first)]
    return bills


def _settled(bills: Sequence[Bill]) -> list[Bill]:
    """Estimated bills joined to the one that follows without a gap."""
    if not bills:
        return []
    settled: list[Bill] = []
    running = bills[0]
    for _, later in pairwise(bills):
        if running.estimated and later.first == running.after:
            running = Bill(running.first, later.after, running.energy_kwh + later.energy_kwh, later.estimated)
        else:
            settled.append(running)
            running = later
    return [*settled, running]


def _nearest_midnight(moment: pd.Timestamp, timezone: str) -> pd.Timestamp:
    wall = moment.tz_convert(timezone).tz_localize(None)
    return (wall + HALF_DAY).normalize()
