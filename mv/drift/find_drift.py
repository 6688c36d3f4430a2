"""Everything that changed at the site, each event once."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.setting_records import ZoneSettings
from mv.drift.causes import checks, texts
from mv.drift.cusum import plain_cusum
from mv.drift.expectation import Design, FloatArray, design
from mv.drift.gaps import gap_findings
from mv.drift.normal import normal_factor
from mv.drift.records import DriftFinding, DriftSeries
from mv.drift.recurring import recurring_findings
from mv.drift.setting_events import SettingEvent, event_energy, resets, setting_events
from mv.drift.step_search import Search, Step, search

DAYS_A_MONTH = 30.4375  # 365.25 / 12
MATCH_DAYS = 12  # a step of the energy so near a setting's change is the same event; no source
SELDOM_SEEN = frozenset({"hold_minutes", "low_level"})  # read only when people leave for long
CLEAR_STEP = 80.0  # statistic of a step whose own date is sure to a day or two; no source
CLEAR_SHARE = 0.10  # of mean daily energy, for a step in a zone whose settings are read; no source
WELL_KNOWN_SETTINGS = 3  # settings told that make a zone well known; common practice, no source
FEWEST_DAYS = 40  # usable days for an expectation of its own; common practice, no source


def find_drift(
    series: Sequence[DriftSeries],
    settings: Sequence[ZoneSettings],
    *,
    confidence: float,
    price_per_kwh: float | None = None,
) -> tuple[DriftFinding, ...]:
    """Steps, slopes, recurring faults and gaps, with the settings that explain them.

    A setting's change and the step of energy it makes are one finding; changes of many zones at
    one time are one reset. Findings come in order of energy a month, gaps last.
    """
    events = setting_events(settings)
    looks = {item.where: _look(item) for item in series}
    found: list[DriftFinding] = []
    taken: set[tuple[str, int]] = set()
    grouped = resets(events, len(settings))
    in_reset = {id(event) for group in grouped for event in group}
    for group in grouped:
        found.append(_reset_finding(group, series, looks, taken, confidence))
    for event in events:
        if id(event) not in in_reset:
            found.append(_event_finding(event, series, looks, taken, confidence))
    for item in series:
        look = looks[item.where]
        if look is not None:
            well_known = all(_well_known(zone, settings) for zone in item.zones) and bool(item.zones)
            found += _own_findings(item, look, taken, confidence, well_known=well_known)
        found += gap_findings(item)
    priced = [_priced(finding, price_per_kwh) for finding in found]
    return tuple(sorted(priced, key=_order))


_Look = tuple[Design, Search]


def _look(item: DriftSeries) -> _Look | None:
    plan = design(item) if item.energy_kwh.notna().sum() >= FEWEST_DAYS else None
    return None if plan is None or len(plan.energy) < FEWEST_DAYS else (plan, search(plan))


def _event_finding(
    event: SettingEvent,
    series: Sequence[DriftSeries],
    looks: dict[str, _Look | None],
    taken: set[tuple[str, int]],
    confidence: float,
) -> DriftFinding:
    home = _series_of(event.zone, series)
    since = event.since
    energy = event_energy(event)
    evidence = None
    look = looks.get(home.where) if home is not None else None
    if home is not None and look is not None:
        plan, result = look
        evidence = _evidence(plan, result)
        match = _matching_step(plan, result, event.since)
        ending = _matching_step(plan, result, event.until)
        if ending is not None:
            taken.add((home.where, ending.at))
        if match is not None:
            taken.add((home.where, match.at))
            if set(event.settings) <= SELDOM_SEEN:
                since = _sooner(since, plan, match)
            if home.zones in ((event.zone,), ()) or isinstance(energy, CannotSay):
                energy = _step_energy(plan, match, confidence)
    return DriftFinding(
        where=event.zone,
        what="; ".join(finding.why for finding in event.findings),
        since=since,
        kwh_per_month=energy,
        cost_per_month=None,
        likely_causes=texts(event.causes),
        check_first=checks(event.causes),
        kind="recurring" if event.settings == ("nights_left_on",) else "step",
        evidence=evidence,
        zones=(event.zone,),
        settings=event.settings,
        causes=event.causes,
        until=event.until,
    )


def _reset_finding(
    group: tuple[SettingEvent, ...],
    series: Sequence[DriftSeries],
    looks: dict[str, _Look | None],
    taken: set[tuple[str, int]],
    confidence: float,
) -> DriftFinding:
    parts = [_event_finding(event, series, looks, taken, confidence) for event in group]
    zones = tuple(dict.fromkeys(event.zone for event in group))
    known = [part.kwh_per_month for part in parts if isinstance(part.kwh_per_month, Estimate)]
    energy: Answer = _sum(known) if known else CannotSay("kWh a month of the reset", "not told by its zones")
    causes = ("controller reset", *dict.fromkeys(code for event in group for code in event.causes))
    return DriftFinding(
        where=", ".join(zones),
        what=f"{len(zones)} zones changed together: " + "; ".join(part.what for part in parts),
        since=min(event.since for event in group if event.since is not None),
        kwh_per_month=energy,
        cost_per_month=None,
        likely_causes=texts(causes),
        check_first=checks(causes),
        kind="step",
        evidence=parts[0].evidence,
        zones=zones,
        settings=tuple(dict.fromkeys(name for event in group for name in event.settings)),
        causes=causes,
    )


def _sum(parts: list[Estimate]) -> Estimate:
    """Sum of independent estimates: half-widths in quadrature."""
    middle = sum(float(part.estimate) for part in parts)
    halves = [(p.high - p.low) / 2 for p in parts if p.high is not None and p.low is not None]
    half = float(np.sqrt(sum(h * h for h in halves)))
    return Estimate(middle, middle - half, middle + half, parts[0].confidence)


def _series_of(zone: str, series: Sequence[DriftSeries]) -> DriftSeries | None:
    """The zone's own series, else the one of the meter that feeds it."""
    own = [item for item in series if item.where == zone]
    feeding = [item for item in series if zone in item.zones]
    feeding.sort(key=lambda item: len(item.zones))
    return next(iter(own or feeding), None)


def _matching_step(plan: Design, result: Search, since: date | None) -> Step | None:
    if since is None:
        return None
    near = [
        step for step in result.steps if abs(plan.days[step.at].date() - since) <= timedelta(days=MATCH_DAYS)
    ]
    return max(near, key=lambda step: step.statistic) if near else None


def _sooner(since: date | None, plan: Design, step: Step) -> date | None:
    """A setting is dated by the first day it is read; a clear step of energy may show it sooner."""
    day = plan.days[step.at].date()
    return day if since is not None and day < since and step.statistic >= CLEAR_STEP else since


def _step_energy(plan: Design, step: Step, confidence: float) -> Estimate:
    share = {
        "all days": 1.0,
        "open days": float(np.mean(plan.is_open)),
        "closed days": float(np.mean(~plan.is_open)),
    }[step.shape]
    unit = share * DAYS_A_MONTH
    middle, half = step.kwh_a_day * unit, normal_factor(confidence) * step.error_kwh_a_day * unit
    return Estimate(middle, middle - half, middle + half, confidence, step.error_kwh_a_day * unit)


def _well_known(zone: str, settings: Sequence[ZoneSettings]) -> bool:
    """True where most of a zone's settings are read, so that few causes of a step are left."""
    found = [f for entry in settings if entry.zone == zone for f in entry.findings]
    return sum(f.verdict != "cannot tell" for f in found) >= WELL_KNOWN_SETTINGS


def _own_findings(
    item: DriftSeries,
    look: _Look,
    taken: set[tuple[str, int]],
    confidence: float,
    *,
    well_known: bool,
) -> list[DriftFinding]:
    """Steps that no setting explains, a slope, and what comes and goes.

    Where the settings are read and none moved, a small step is rather the season's or the users'
    than a fault: it must then be larger and surer to be told.
    """
    plan, result = look
    evidence = _evidence(plan, result)
    free = [step for step in result.steps if (item.where, step.at) not in taken]
    if well_known:
        size = float(np.mean(plan.energy))
        free = [
            step
            for step in free
            if step.statistic >= CLEAR_STEP and abs(step.kwh_a_day) >= CLEAR_SHARE * size
        ]
    if result.slope_wins and not _taken_here(item, taken):
        return [_slope_finding(item, plan, result, evidence, confidence)]
    found = [_step_finding(item, plan, step, evidence, confidence) for step in free]
    return found + recurring_findings(item, plan, result.fit, evidence, confidence)


def _taken_here(item: DriftSeries, taken: set[tuple[str, int]]) -> bool:
    """True where a setting's change already explains a step of this series."""
    return any(where == item.where for where, _ in taken)


def _step_finding(
    item: DriftSeries, plan: Design, step: Step, evidence: pd.DataFrame, confidence: float
) -> DriftFinding:
    energy = _step_energy(plan, step, confidence)
    causes = _step_causes(item, step)
    way = "more" if step.kwh_a_day > 0 else "less"
    since = plan.days[step.at].date()
    return DriftFinding(
        where=item.where,
        what=(
            f"since {since}, {abs(step.kwh_a_day):.1f} kWh a day {way} than expected on {step.shape}; "
            "no setting is seen to have moved with it"
        ),
        since=since,
        kwh_per_month=energy,
        cost_per_month=None,
        likely_causes=texts(causes),
        check_first=checks(causes),
        kind="step",
        evidence=evidence,
        zones=item.zones,
        causes=causes,
    )


def _step_causes(item: DriftSeries, step: Step) -> tuple[str, ...]:
    """Causes that a bare step of energy leaves open, likeliest first."""
    more = step.kwh_a_day > 0
    if item.measures != "lighting":
        return ("use changed", "added load") if more else ("use changed", "load removed")
    if item.outdoor:
        return ("photocell stuck", "added load") if more else ("lamps failed", "off at night", "load removed")
    if step.shape == "closed days" and more:
        return ("override left on", "schedule lost", "cleaning or security")
    if more and step.shape == "open days":
        return ("daylight dead", "sensor bypassed", "delay lengthened", "hours changed", "use changed")
    if more:
        return ("override left on", "added load", "sensor bypassed", "hours changed", "use changed")
    return ("lamps failed", "use changed", "load removed")


def _slope_finding(
    item: DriftSeries, plan: Design, result: Search, evidence: pd.DataFrame, confidence: float
) -> DriftFinding:
    a_year = result.slope_kwh_a_year
    half = normal_factor(confidence) * result.slope_error
    span_years = (plan.days[-1] - plan.days[0]).days / 365.25
    unit = span_years * DAYS_A_MONTH
    more = a_year > 0
    causes = ("standby growth", "added load", "use changed") if more else ("lamps failed", "use changed")
    return DriftFinding(
        where=item.where,
        what=(
            f"energy a day {'grows' if more else 'falls'} steadily, by {abs(a_year):.1f} kWh a day "
            f"within a year ({a_year - half:.1f} to {a_year + half:.1f}); no day stands out as its beginning"
        ),
        since=None,
        kwh_per_month=Estimate(a_year * unit, (a_year - half) * unit, (a_year + half) * unit, confidence),
        cost_per_month=None,
        likely_causes=texts(causes),
        check_first=checks(causes),
        kind="slope",
        evidence=evidence,
        zones=item.zones,
        causes=causes,
        details={"kwh_a_day_per_year": a_year, "low": a_year - half, "high": a_year + half},
    )


def _evidence(plan: Design, result: Search) -> pd.DataFrame:
    """Actual and expected energy a day, the standardised residual and its running sum."""
    residual = plan.energy - result.expected_before
    scale: FloatArray = residual / result.fit.noise
    return pd.DataFrame(
        {
            "day": plan.days,
            "actual_kwh": plan.energy,
            "expected_kwh": result.expected_before,
            "standardised": scale,
            "cusum": plain_cusum(scale),
        }
    )


def _priced(finding: DriftFinding, price: float | None) -> DriftFinding:
    energy = finding.kwh_per_month
    if price is None or not isinstance(energy, Estimate):
        return finding
    return replace(finding, cost_per_month=float(energy.estimate) * price)


def _order(finding: DriftFinding) -> tuple[bool, float, str]:
    energy = finding.kwh_per_month
    size = abs(float(energy.estimate)) if isinstance(energy, Estimate) else 0.0
    return finding.kind == "gap", -size, finding.where
