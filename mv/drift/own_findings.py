"""What a series shows by itself: steps that no setting explains, spells, slopes, what comes and goes."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd

from mv.base.estimate import Estimate
from mv.base.setting_records import ZoneSettings
from mv.drift.agreed import always_open, possible
from mv.drift.causes import checks, texts
from mv.drift.event_findings import CLEAR_STEP
from mv.drift.look_words import look_words
from mv.drift.looks import DAYS_A_MONTH, Look, look_at
from mv.drift.normal import normal_factor
from mv.drift.pricing import priced
from mv.drift.records import DriftFinding, DriftSeries
from mv.drift.recurring import recurring_findings
from mv.drift.signature import Signature
from mv.drift.step_causes import SEEN, all_hours_alike, step_causes
from mv.drift.step_search import Step

# What a step that no setting explains must reach: in 363 quiet zone-years, each looked at after every
# month, the highest was 85; less is asked where the highest load or the lowest moved along. No source.
BARE_STEP, BARE_WITH_TOP = 110.0, 90.0
CLEAR_SHARE = 0.10  # of mean daily energy, for a step in a zone whose settings are read; no source
WELL_KNOWN_SETTINGS = 3  # settings told that make a zone well known; common practice, no source
HOLIDAY_DAYS = 42  # weeks of less energy that people's absence makes; common practice, no source
ABSENCE_DAYS = 91  # of less energy with the highest load unmoved, before it is told; no source
DULL_DAYS = 42  # of more energy under the sun alone, which dull weather makes; common practice, no source
SEASON_DAYS = 28  # before a change that goes with sun or night is told; common practice, no source
LEAST_NIGHT_HOURS = 1.0  # of a sun below -6 degrees, for lamps to be missed; common practice, no source
SHOWS = 0.015  # of the full level by which some hours must have moved; common practice, no source
# The part that the lit hours lost over that of the highest load, between which lamps may have failed: 0.8 to
# 1.2 where they did. By the hour people who stay away lower both, and so does the sun. No source.
LIKE_LAMPS = (0.67, 1.5)
BACK_AGAIN = 0.35  # of a step that may be left when the next has undone it; common practice, no source


def own_findings(look: Look, settings: Sequence[ZoneSettings], confidence: float) -> list[DriftFinding]:
    """Steps that no setting explains, a slope, and what comes and goes.

    Where the settings are read and none moved, a small step is rather the season's or the users'
    than a fault: it must then be larger and surer to be told.
    """
    known = any(step.known for step in look.result.steps)
    if look.result.slope_wins and not known:
        return [_slope_finding(look, confidence)]
    pairs = _told_pairs(look, settings)
    found = [_step_finding(look, step, back, settings, confidence) for step, back in pairs]
    return found + recurring_findings(look, confidence)


def told_alone(look: Look, settings: Sequence[ZoneSettings]) -> Look:
    """The look with no other changes than those that are told, so that these bear all their energy."""
    told = [step for pair in _told_pairs(look, settings) for step in pair if step is not None]
    known = [step for step in look.result.steps if step.known]
    return replace(look, result=priced(look.plan, look.result, [*known, *told])) if known or told else look


def _told_pairs(look: Look, settings: Sequence[ZoneSettings]) -> list[tuple[Step, Step | None]]:
    zones = look.item.zones
    well_known = bool(zones) and all(_well_known(zone, settings) for zone in zones)
    pairs = _paired([step for step in look.result.steps if not step.known])
    if well_known:
        pairs = [clear for pair in pairs for clear in _clear_part(look, *pair)]
    return [pair for pair in pairs if _told(look, *pair)]


def _clear_part(look: Look, step: Step, back: Step | None) -> list[tuple[Step, Step | None]]:
    """A clear step with what undid it, which need not be clear by itself; else that, if it alone is clear."""
    if _clear(look, step):
        return [(step, back)]
    return [(back, None)] if back is not None and _clear(look, back) else []


def site_findings(
    site: DriftSeries, known: Sequence[DriftFinding], settings: Sequence[ZoneSettings], confidence: float
) -> list[DriftFinding]:
    """Clear steps of all meters together that no finding of a single one explains."""
    dates = [day for f in known if f.kind == "step" for day in (f.since, f.until) if day is not None]
    look = look_at(site, dates, settings)
    if look is None:
        return []
    pairs = _paired([step for step in look.result.steps if not step.known])
    told = [(step, back) for step, back in pairs if step.statistic >= BARE_STEP and _told(look, step, back)]
    return [_step_finding(look, step, back, settings, confidence) for step, back in told]


def _well_known(zone: str, settings: Sequence[ZoneSettings]) -> bool:
    """True where most of a zone's settings are read, so that few causes of a step are left."""
    found = [f for entry in settings if entry.zone == zone for f in entry.findings]
    return sum(f.verdict != "cannot tell" for f in found) >= WELL_KNOWN_SETTINGS


def _clear(look: Look, step: Step) -> bool:
    size = float(np.mean(look.plan.energy))
    return step.statistic >= CLEAR_STEP and abs(step.mean_kwh_a_day) >= CLEAR_SHARE * size


def _paired(steps: Sequence[Step]) -> list[tuple[Step, Step | None]]:
    """Each step with the one that undid it, where the next one did."""
    found: list[tuple[Step, Step | None]] = []
    rest = list(steps)
    while rest:
        step = rest.pop(0)
        undone = bool(rest) and abs(step.mean_kwh_a_day + rest[0].mean_kwh_a_day) <= BACK_AGAIN * abs(
            step.mean_kwh_a_day
        )
        found.append((step, rest.pop(0) if undone else None))
    return found


def _told(look: Look, step: Step, back: Step | None) -> bool:
    """True for a step sure enough to be told though no setting explains it."""
    if _holidays(look, step, back) or _hours_deny(look, step):
        return False
    age = len(look.plan.energy) - step.at
    if step.shape.startswith("with the") and age < SEASON_DAYS:
        return False
    if look.item.outdoor and _no_nights(look, step):
        return False
    seen = look.signature(look.day(step))
    if step.mean_kwh_a_day < 0 and back is None and age < ABSENCE_DAYS and not _falls(look, seen):
        return False
    top = 0.0 if seen is None or (_blurred(seen) and not look.item.outdoor) else seen.top
    edges = () if seen is None else (top, 3.0 * seen.floor)  # the floor holds still, a third will do
    moved = any(abs(edge) >= SEEN and edge * step.mean_kwh_a_day > 0 for edge in edges)
    if not moved and _dull_weeks(look, step, back, seen):
        return False
    return step.statistic >= (BARE_WITH_TOP if moved else BARE_STEP)


def _no_nights(look: Look, step: Step) -> bool:
    """True where a northern summer leaves next to no dark hours, so that outdoor lamps stay off.

    For less energy in the weeks since, for a change that goes with the night in those before too; and for
    any but a load of its own where neither side had nights to show what is usual.
    """
    nights = look.item.drivers.get("night_hours_below_-6")
    if nights is None:
        return False
    day = pd.Timestamp(look.day(step))
    before, since = nights[nights.index < day].iloc[-SEASON_DAYS:], nights[nights.index >= day]
    if step.mean_kwh_a_day < 0 and since.median() < LEAST_NIGHT_HOURS:
        return True
    if before.median() >= LEAST_NIGHT_HOURS:
        return False
    if step.shape == "with the night":
        return True
    seen = look.signature(look.day(step))
    own_load = seen is not None and all_hours_alike(seen)
    return not own_load and bool(since.iloc[:SEASON_DAYS].median() < LEAST_NIGHT_HOURS)


def _falls(look: Look, seen: Signature | None) -> bool:
    """True where the highest load fell too, or every hour did: less than that is people who stay away."""
    if seen is None or look.item.outdoor or look.item.measures != "lighting":
        return True
    return (seen.top <= -SEEN and not _blurred(seen)) or all_hours_alike(seen)


def _blurred(seen: Signature) -> bool:
    """True where only hours' means show the top lower, and the lit hours did not lose alike."""
    if seen.fine or seen.top >= 0 or seen.lit is None or seen.lit_now is None:
        return False
    lit, top = -seen.lit * seen.top_before, -seen.top * (seen.lit_now - seen.lit)
    return not LIKE_LAMPS[0] * top <= lit <= LIKE_LAMPS[1] * top


def _holidays(look: Look, step: Step, back: Step | None) -> bool:
    """True for a few weeks of less energy that came back: people were away, no fault."""
    if back is None or step.mean_kwh_a_day >= 0:
        return False
    return (look.day(back) - look.day(step)).days <= HOLIDAY_DAYS


def _dull_weeks(look: Look, step: Step, back: Step | None, seen: Signature | None) -> bool:
    """True for a few weeks of more energy where lamps answer to daylight and closed days did not change:
    how dull the weather was is not known."""
    if step.mean_kwh_a_day <= 0 or look.item.outdoor or not look.plan.daylit:
        return False
    if seen is None or look.item.measures != "lighting" or abs(seen.closed or 0.0) >= SEEN:
        return False
    over = look.plan.days[-1].date() if back is None else look.day(back)
    return (over - look.day(step)).days < DULL_DAYS


def _hours_deny(look: Look, step: Step) -> bool:
    """True where no kind of hour of the weeks beside a step moved its way: the season's doing."""
    seen = look.signature(look.day(step))
    if seen is None or look.item.measures != "lighting":
        return False
    way = 1.0 if step.mean_kwh_a_day > 0 else -1.0
    parts = [way * part for part in (seen.lit, seen.unlit, seen.closed) if part is not None]
    return bool(parts) and max(parts) < SHOWS


def _step_finding(
    look: Look, step: Step, back: Step | None, settings: Sequence[ZoneSettings], confidence: float
) -> DriftFinding:
    since = look.day(step)
    until: date | None = None if back is None else look.day(back) - timedelta(days=1)
    seen = look.signature(since, until)
    causes = step_causes(look.item, step.shape, step.mean_kwh_a_day, seen)
    causes = possible(causes, look.item.zones, settings, always_open=always_open(look.item))
    return DriftFinding(
        where=look.item.where,
        what=look_words(step, seen, since, until, measures=look.item.measures),
        since=since,
        kwh_per_month=look.energy(step, confidence),
        cost_per_month=None,
        likely_causes=texts(causes),
        check_first=checks(causes),
        kind="step",
        evidence=look.evidence,
        zones=look.item.zones,
        causes=causes,
        until=until,
    )


def _slope_finding(look: Look, confidence: float) -> DriftFinding:
    """A steady rise or fall; its energy a month is that reached at the end of the period."""
    plan, result = look.plan, look.result
    a_year = result.slope_kwh_a_year
    half = normal_factor(confidence) * result.slope_error
    span_years = (plan.days[-1] - plan.days[0]).days / 365.25
    unit = span_years * DAYS_A_MONTH
    more = a_year > 0
    causes = ("standby growth", "added load", "use changed") if more else ("lamps failed", "use changed")
    a_year_more = 365.25 * a_year / 2
    return DriftFinding(
        where=look.item.where,
        what=(
            f"energy a day {'grows' if more else 'falls'} steadily, by {abs(a_year):.1f} kWh a day within "
            f"a year ({min(abs(a_year - half), abs(a_year + half)):.1f} to "
            f"{max(abs(a_year - half), abs(a_year + half)):.1f}), which makes "
            f"{abs(a_year_more):.0f} kWh in a first year; no day stands out as its beginning"
        ),
        since=None,
        kwh_per_month=Estimate(a_year * unit, (a_year - half) * unit, (a_year + half) * unit, confidence),
        cost_per_month=None,
        likely_causes=texts(causes),
        check_first=checks(causes),
        kind="slope",
        evidence=look.evidence,
        zones=look.item.zones,
        causes=causes,
        details={"kwh_a_day_per_year": a_year, "low": a_year - half, "high": a_year + half},
    )
