"""Findings that rest on settings seen to move: one for an event."""

from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.setting_records import ZoneSettings
from mv.drift.agreed import always_open, possible
from mv.drift.causes import checks, texts
from mv.drift.event_causes import event_causes
from mv.drift.event_words import event_words
from mv.drift.looks import DAYS_A_MONTH, Look
from mv.drift.one_cause import DATED_LATE, LATE_DAYS
from mv.drift.records import DriftFinding, DriftSeries
from mv.drift.resets import RESET_DAYS
from mv.drift.setting_events import SELDOM_SEEN, SettingEvent, event_energy
from mv.drift.step_search import STEP_LIMIT, Step

# Signs that nobody agreed on and that are told only where the energy shows them too.
SENSORS_GONE = frozenset({"sensor_response", "full_all_day"})
SHOWN_BY_ENERGY = SENSORS_GONE | {"switching_on_deg", "switching_off_deg"}
AT_ONCE_DAYS = 2  # within which dusk and dawn moved together; common practice, no source
NIGHTS_DAYS = 90  # days that show whether nights left on recur; common practice, no source
BLURRED_SHARE = 0.10  # of nights, beyond which hours' means do not tell nights left on; no source
WORTH = 0.05  # of the zone's energy from which nights left on are told; common practice, no source
# Of the zone's energy that a setting never seen as agreed must change to be a finding; the table of settings
# tells it anyway. Common practice, no source.
LEAST_FROM_START = 0.02
CLEAR_STEP = 80.0  # statistic of a step whose own date is sure to a day or two; no source
# Settings told from how many readings fit rather than from single levels: the energy may deny them.
FITTED = frozenset({"hold_minutes", "burn_minutes", "daylight_dimming"})
DENIED_ERRORS, DENIED_PART = 2.0, 0.3  # standard errors, and the part of the told energy, for that; no source
UNSEEN_ERRORS, AWAY_ERRORS = 1.0, 3.0  # energy that shows nothing, and what is told so far off it; no source
SURE_DAYS = 2  # that day or two: within it the setting's own date stands; no source


def event_finding(
    event: SettingEvent,
    series: Sequence[DriftSeries],
    looks: Mapping[str, Look | None],
    settings: Sequence[ZoneSettings],
    confidence: float,
    events: Sequence[SettingEvent] = (),
) -> DriftFinding | None:
    """What moved, with the energy that the meter shows for it where it can; None for a bare sign
    that the energy does not bear out. `events`: those of all zones, which may bear each other out.
    """
    home = _series_of(event.zone, series)
    look = looks.get(home.where) if home is not None else None
    step = look.known_step(event.since) if look is not None else None
    since, energy = event.since, event_energy(event)
    if look is not None and step is not None:
        since = _dated(event, look, step)
        alone = look.item.zones in ((event.zone,), ())
        if isinstance(energy, CannotSay) or (alone and step.statistic >= STEP_LIMIT):
            energy = look.energy(step, confidence)
    unproven = look is None and set(event.settings) <= SHOWN_BY_ENERGY | {"nights_left_on"}
    if unproven or (look is not None and not _borne_out(event, energy, look, step, events)):
        return None
    causes = possible(
        event_causes(event, look, step),
        (event.zone,),
        settings,
        always_open=look is not None and always_open(look.item),
    )
    return DriftFinding(
        where=event.zone,
        what=_dated_words(event, since),
        since=since,
        kwh_per_month=energy,
        cost_per_month=None,
        likely_causes=texts(causes),
        check_first=checks(causes),
        kind="recurring" if event.settings == ("nights_left_on",) else "step",
        evidence=None if look is None else look.evidence,
        spells=tuple(spell for finding in event.findings for spell in finding.spells),
        zones=(event.zone,),
        settings=event.settings,
        causes=causes,
        until=event.until,
    )


def _borne_out(
    event: SettingEvent, energy: Answer, look: Look, step: Step | None, events: Sequence[SettingEvent]
) -> bool:
    """True where the energy shows an event, or the event needs no such proof."""
    if event.settings == ("nights_left_on",) and isinstance(energy, Estimate):
        if look.item.fine_kw is None and _share(event) > BLURRED_SHARE:
            return False  # by the hour, people who come often at night look alike
        usual = float(np.mean(look.plan.energy)) * DAYS_A_MONTH
        return len(look.plan.energy) >= NIGHTS_DAYS and abs(float(energy.estimate)) >= WORTH * usual
    if {"switching_on_deg", "switching_off_deg"} <= set(event.settings) and _at_once(event):
        return True  # dusk and dawn both moved at one time
    if set(event.settings) <= SENSORS_GONE and (step is None or step.mean_kwh_a_day <= 0):
        return False  # lamps that nothing turns off when people leave use more
    if event.since is None and isinstance(energy, Estimate) and not look.item.outdoor:
        usual = float(np.mean(look.plan.energy)) * DAYS_A_MONTH
        return abs(float(energy.estimate)) >= LEAST_FROM_START * usual
    fitted = set(event.settings) <= FITTED and not _elsewhere_too(event, events)
    if fitted and step is not None and _denied(event, look, step):
        return False
    if set(event.settings) <= SHOWN_BY_ENERGY or look.item.outdoor:
        return step is not None and step.statistic >= STEP_LIMIT
    return True


def _denied(event: SettingEvent, look: Look, step: Step) -> bool:
    """True where the zone's own energy surely moved by less than a part of what the setting would take,
    or did not move at all where that would have shown.
    """
    told = event_energy(event)
    if not isinstance(told, Estimate) or look.item.zones not in ((event.zone,), ()):
        return False
    a_day = float(told.estimate) / DAYS_A_MONTH
    way = float(np.sign(a_day))
    if _came_before(look, step, way):
        return False
    along, error = way * step.mean_kwh_a_day, step.mean_error
    unseen = along < UNSEEN_ERRORS * error and abs(a_day) - along >= AWAY_ERRORS * error
    return bool(unseen or along + DENIED_ERRORS * error < DENIED_PART * abs(a_day))


def _came_before(look: Look, step: Step, way: float) -> bool:
    """True where the energy moved that way some weeks earlier: the setting may be read late."""
    sooner = [
        look.day(step) - look.day(s) for s in look.result.steps if not s.known and way * s.mean_kwh_a_day > 0
    ]
    return any(0 <= apart.days <= LATE_DAYS for apart in sooner)


def _elsewhere_too(event: SettingEvent, events: Sequence[SettingEvent]) -> bool:
    """True where settings of another zone moved on the same days: a reset, which moves more than is read."""
    days = [e.since for e in events if e.zone != event.zone and e.since is not None]
    return event.since is not None and any(abs((day - event.since).days) <= RESET_DAYS for day in days)


def _share(event: SettingEvent) -> float:
    observed = event.findings[0].observed
    return float(observed.estimate) if isinstance(observed, Estimate) else 0.0


def _at_once(event: SettingEvent) -> bool:
    days = [found.since for found in event.findings if found.since is not None]
    return bool(days) and (max(days) - min(days)).days <= AT_ONCE_DAYS


def _dated(event: SettingEvent, look: Look, step: Step) -> date | None:
    """A setting is dated by the first day it is read; a clear step of energy may show it sooner."""
    day = look.day(step)
    sooner = event.since is not None and (event.since - day).days > SURE_DAYS
    clear = step.statistic >= CLEAR_STEP and set(event.settings) <= SELDOM_SEEN | DATED_LATE
    return day if sooner and clear else event.since


def _dated_words(event: SettingEvent, since: date | None) -> str:
    """What moved, with no other date in it than the finding's own."""
    words = event_words(event.findings)
    if event.since is None or since is None:
        return words
    return words.replace(event.since.isoformat(), since.isoformat())


def _series_of(zone: str, series: Sequence[DriftSeries]) -> DriftSeries | None:
    """The zone's own series, else the one of the meter that feeds it."""
    own = [item for item in series if item.where == zone]
    feeding = [item for item in series if zone in item.zones]
    feeding.sort(key=lambda item: len(item.zones))
    return next(iter(own or feeding), None)
