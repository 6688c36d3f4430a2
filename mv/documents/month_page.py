"""Joins verification, notes and charts into the page of one month."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from mv.acknowledge import Acknowledgement, acknowledge, acknowledged_now, finding_key, finding_named
from mv.base import wording
from mv.base.clock import period_bounds
from mv.base.document import Drawing
from mv.base.files import refuse_file_for_folder, write_whole
from mv.base.result_parts import estimate, part, rows
from mv.base.verification import Verification
from mv.cleaning import AFTER_REPORTING
from mv.documents.found_drawings import SMALL, finding_drawings
from mv.documents.print_inks import print_inks
from mv.drivers import interval_conditions, opening_hours_known
from mv.latest import latest_verification
from mv.month import (
    ActiveFinding,
    Extras,
    MonthFacts,
    Noted,
    daily_totals,
    month_document,
    month_facts,
    month_named,
    month_text,
    month_words,
    promised_so_far,
)
from mv.paper import CalendarDay, MonthBar, RunningPoint, as_html, calendar_map, month_bars, running_total
from mv.progress import Step, no_progress
from mv.store import results_folder
from mv.terminal import WIDTH

MOST_PICTURES = 2  # of a finding; the dashboard has room for more
BROAD, NARROW = 680.0, 340.0  # widths for which a chart is drawn, in points


@dataclass(frozen=True, slots=True)
class MonthPage:
    """Where the page is, and the same month for a terminal."""

    path: Path
    text: str


def write_month_page(
    study: Path | str,
    *,
    month: str | None = None,
    out: Path | None = None,
    width: int = WIDTH,
    step: Step = no_progress,
) -> MonthPage:
    """Write `month-YYYY-MM.html` into `out` (default: the results beside the study); the text for a
    terminal is `width` characters wide.

    Raises InputError where the month has no data.
    """
    folder = out or results_folder(study)
    refuse_file_for_folder(folder)
    verification = latest_verification(study, step=step)
    name = month_named(verification, month)
    noted = acknowledged_now(study, rows(verification.result, "drift"))
    path = folder / f"month-{name}.html"
    html, text = month_page(verification, name, noted, width=width)
    write_whole(path, html)
    return MonthPage(path, text)


def note_on_finding(study: Path | str, key: str, *, who: str, why: str) -> Acknowledgement:
    """Acknowledge the finding that `key` names. Raises InputError when there is none."""
    verification = latest_verification(study)
    return acknowledge(study, finding_named(rows(verification.result, "drift"), key), who=who, why=why)


def month_page(
    verification: Verification, month: str, noted: Mapping[str, Acknowledgement], *, width: int = WIDTH
) -> tuple[str, str]:
    """The page's HTML and the same month for a terminal."""
    keys = {n: finding_key(row) for n, row in enumerate(rows(verification.result, "drift"))}
    facts = month_facts(verification, month, keys)
    notes = {key: Noted(note.who, note.when, note.why) for key, note in noted.items()}
    known = set(keys.values())
    gone = [
        f"{note.where}: {note.what} (noted by {note.who}, {wording.day_words(note.when[:10])}: {note.why}). "
        "This verification does not find it."
        for key, note in noted.items()
        if key not in known
    ]
    hours = _hourly_kw(verification, facts)
    closed = _closed_hours(verification, facts)
    extras = Extras(
        months=_months_drawing(verification, month),
        running=_running_drawing(verification, facts),
        calendar=_calendar_drawing(verification, facts, hours),
        shown={item.key: _shown(verification, item) for item in facts.findings if item.key not in notes},
        noted=notes,
        gone=tuple(gone),
        closed_hours_kwh=closed[0] if closed else None,
        closed_hours_share=closed[1] if closed else None,
        highest=_highest(hours),
    )
    html = as_html(month_document(verification, facts, extras))
    cautions = [*_readings_after(verification), *(part(verification.result, "cautions") or [])]
    return html, month_text(facts, notes, cautions, width=width)


def _shown(verification: Verification, item: ActiveFinding) -> tuple[Drawing, ...]:
    """What shows a finding, small beside its words."""
    key = str(item.finding.get("id") or "")
    return finding_drawings(verification, key, width=SMALL)[:MOST_PICTURES] if key else ()


def _readings_after(verification: Verification) -> list[str]:
    """That a meter has readings after the reporting period: a month that was added and is not counted."""
    found = {
        f"{row['meter']}: {remark['what']}. {remark['remedy']}"
        for row in rows(verification.result, "cleaning")
        for remark in rows(row, "remarks")
        if remark["code"] == AFTER_REPORTING
    }
    return sorted(found)[:1]


def _months_drawing(verification: Verification, month: str) -> Drawing:
    bars = month_bars_of(verification)
    title = "Metered, and expected with the old lighting"
    entry = next(bar for bar in bars if bar.month == month)
    spoken = (
        f"{title}: {wording.counted(len(bars), 'month')}; in {month_words(month)} "
        f"{wording.number(entry.metered or 0)} kWh metered, {wording.number(entry.expected or 0)} expected."
    )
    inks = print_inks()
    return Drawing(
        title,
        month_bars(bars, inks, spoken, width=BROAD, marked=month),
        "The expected energy is what the old lighting would have used on the same days. "
        "What lies between a bar and its diamond was saved.",
        spoken,
        month_bars(bars, inks, spoken, width=NARROW, marked=month),
    )


def month_bars_of(verification: Verification) -> list[MonthBar]:
    """Every month of the reporting period with the band of its expected energy."""
    bars = []
    for row in rows(verification.result, "savings", "monthly"):
        avoided, actual = estimate(row, "avoided_kwh"), float(row["actual_kwh"])
        low, high = (
            None if avoided is None or avoided.get(end) is None else actual + float(avoided[end])
            for end in ("low", "high")
        )
        bars.append(MonthBar(str(row["month"]), actual, float(row["expected_kwh"]), low, high))
    return bars


def _running_drawing(verification: Verification, facts: MonthFacts) -> Drawing:
    points = running_points(verification, until=facts.month)
    so_far, due = facts.saved_so_far or {}, promised_so_far(facts)
    low, high = so_far.get("low"), so_far.get("high")
    caption = (
        f"By the end of {month_words(facts.month)}: {wording.with_interval(facts.saved_so_far, 'kWh')} saved"
    )
    caption += f"; the promise, spread evenly over the days, comes to {due}" if due else ""
    inks, title = print_inks(), "Running total against the promise"
    drawn = [
        running_total(points, inks, f"{title}. {caption}.", width=width, last_low=low, last_high=high)
        for width in (BROAD, NARROW)
    ]
    return Drawing(title, drawn[0], f"{caption}.", caption, drawn[1])


def running_points(verification: Verification, *, until: str = "9999-12") -> list[RunningPoint]:
    """The running total at each month's end, as the shared figure has it."""
    from mv.figures import running_total as figure

    table = figure(verification).table
    if table.empty:
        return []
    table = table[table["month"] <= until]
    promised = table.get("promised so far, kWh")
    return [
        RunningPoint(str(row["month"]), float(row["saved so far, kWh"]),
                     None if promised is None else float(row["promised so far, kWh"]))
        for _, row in table.iterrows()
    ]  # fmt: skip


def _hourly_kw(verification: Verification, facts: MonthFacts) -> pd.Series:
    """Mean kW of each local hour of the month over the meters that were read in it."""
    timezone = verification.study.site.timezone
    start, end = period_bounds(facts.span.first, facts.span.last, timezone)
    total: pd.Series | None = None
    for meter in verification.meters.values():
        power = meter.power_kw
        inside = power[(power.index >= start) & (power.index < end)].dropna()
        if inside.empty or meter.interval_minutes > 60:
            continue
        wall = pd.DatetimeIndex(inside.index).tz_convert(timezone).tz_localize(None).floor("h")
        hours = inside.groupby(wall).mean()
        total = hours if total is None else total.add(hours, fill_value=0.0)
    return pd.Series(dtype=np.float64) if total is None else total


def _calendar_drawing(verification: Verification, facts: MonthFacts, hours: pd.Series) -> Drawing:
    totals = daily_totals(verification, facts.span)
    days = [_calendar_day(verification, day, row, hours) for day, row in totals.iterrows()]
    metered = [day.energy_kwh for day in days if day.energy_kwh is not None]
    title = "Calendar of the month, kWh a day"
    caption = "Each box is a day: the darker, the more was used. The strip under it is that day's 24 hours."
    if metered:
        mean = wording.number(float(np.mean(metered)))
        caption += f" {len(metered)} of {len(days)} days were metered, {mean} kWh a day on average."
    inks = print_inks()
    drawn = [calendar_map(days, inks, f"{title}. {caption}", width=width) for width in (BROAD, NARROW)]
    return Drawing("", drawn[0], caption, caption, drawn[1])


def _calendar_day(verification: Verification, stamp: object, row: pd.Series, hours: pd.Series) -> CalendarDay:
    day = pd.Timestamp(str(stamp))
    here = hours.reindex(pd.date_range(day, periods=24, freq="h")) if len(hours) else pd.Series([np.nan] * 24)
    energy = None if pd.isna(row["actual_kwh"]) else float(row["actual_kwh"])
    aside = any(
        event.treatment == "set aside" and event.first <= day.date() <= event.last and not event.meters
        for event in verification.study.event
    )
    part_read = energy is not None and row["read"] < row["meters"]
    return CalendarDay(
        day.date(),
        energy,
        tuple(None if pd.isna(kw) else float(kw) for kw in here),
        closed=not bool(row["open"]),
        mark="set aside" if aside else "part read" if part_read else "",
    )


def _highest(hours: pd.Series) -> str | None:
    if hours.empty:
        return None
    stamp = pd.Timestamp(str(hours.idxmax()))
    power = float(hours.max())
    shown = wording.in_unit(wording.number(power, step=0.1 if power < 100 else 1.0), "kW")
    return f"{shown} on {stamp.strftime('%A')} {wording.day_words(stamp)}, from {stamp.strftime('%H:%M')}"


def _closed_hours(verification: Verification, facts: MonthFacts) -> tuple[float, float] | None:
    """Indoor lighting's kWh outside its zones' opening hours, and its share; None without hours."""
    study = verification.study
    start, end = period_bounds(facts.span.first, facts.span.last, study.site.timezone)
    closed, whole = 0.0, 0.0
    for meter in study.meter:
        zones = study.zones_of(meter.id)
        kind = part(verification.result, "savings", "by_meter", meter.id, "kind")
        known = [zone for zone in (zones or (None,)) if opening_hours_known(study, zone)]
        if kind != "indoor" or len(known) < max(len(zones), 1):
            continue
        energy = verification.meters[meter.id].energy_kwh
        energy = energy[(energy.index >= start) & (energy.index < end)].dropna()
        index = pd.DatetimeIndex(energy.index)
        is_open = np.zeros(len(index), dtype=bool)
        for zone in known:
            is_open |= interval_conditions(index, study, zone)["is_open"].to_numpy(dtype=bool)
        closed += float(energy[~is_open].sum())
        whole += float(energy.sum())
    return (closed, closed / whole) if whole > 0 else None
