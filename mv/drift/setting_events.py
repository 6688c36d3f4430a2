"""Settings that moved, gathered into events: one event is one finding."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.setting_records import SettingFinding, ZoneSettings

SAME_EVENT_DAYS = 4  # changes of one zone so close are one event; common practice, no source
SELDOM_DAYS = 14  # the same where a setting shows only when people leave for long; no source
SELDOM_SEEN = frozenset({
    "hold_minutes", "low_level", "standby_watts", "burn_minutes", "switching_on_deg", "switching_off_deg",
})  # fmt: skip
SAME_AMOUNT = 0.03  # level by which two levels may move apart and still by one load; no source


@dataclass(frozen=True)
class SettingEvent:
    """One or more settings of one zone that changed together."""

    zone: str
    since: date | None
    findings: tuple[SettingFinding, ...]
    causes: tuple[str, ...]

    @property
    def until(self) -> date | None:
        """The last day where all of it is over; None while any of it lasts."""
        ends = [finding.until for finding in self.findings]
        return None if None in ends else max(end for end in ends if end is not None)

    @property
    def settings(self) -> tuple[str, ...]:
        """Names of the settings concerned."""
        return tuple(finding.setting for finding in self.findings)


def setting_events(settings: Sequence[ZoneSettings]) -> list[SettingEvent]:
    """The events of all zones in order of time; those from the start come first."""
    events = []
    for zone in settings:
        moved = [f for f in (*zone.findings, *zone.signs) if f.verdict == "moved"]
        moved.sort(key=lambda f: (f.until is not None, f.since is not None, f.since or date.min))
        group: list[SettingFinding] = []
        for finding in moved:
            if group and not _together(group[0], finding):
                events.append(_event(zone, group))
                group = []
            group.append(finding)
        if group:
            events.append(_event(zone, group))
    return sorted(events, key=lambda e: (e.since or date.min, e.zone))


def event_energy(event: SettingEvent) -> Answer:
    """kWh a month of the event: its settings' effects added, ends added (they are not independent)."""
    effects = [f.effect_kwh_per_month for f in event.findings]
    known = [e for e in effects if isinstance(e, Estimate)]
    if not known:
        return CannotSay(
            f"kWh a month of {', '.join(event.settings)} in {event.zone}", "not told by the settings"
        )
    if event.causes and event.causes[0] in ("override left on", "sensor bypassed"):
        known = [max(known, key=lambda e: abs(e.estimate))] if len(known) == 1 else known
    low = sum(e.low for e in known if e.low is not None)
    high = sum(e.high for e in known if e.high is not None)
    return Estimate(sum(e.estimate for e in known), low, high, known[0].confidence)


def _together(first: SettingFinding, other: SettingFinding) -> bool:
    if first.since is None or other.since is None:
        return first.since is other.since
    if (first.until is None) != (other.until is None):
        return False
    seldom = first.setting in SELDOM_SEEN or other.setting in SELDOM_SEEN
    return abs(other.since - first.since) <= timedelta(days=SELDOM_DAYS if seldom else SAME_EVENT_DAYS)


def _event(zone: ZoneSettings, group: list[SettingFinding]) -> SettingEvent:
    return SettingEvent(zone.zone, group[0].since, tuple(group), _causes(group, _full_level(zone)))


def _full_level(zone: ZoneSettings) -> float | None:
    """The zone's full-on level, as seen or else as agreed."""
    trim = next((f for f in zone.findings if f.setting == "high_trim"), None)
    if trim is None:
        return None
    seen = float(trim.observed.estimate) if isinstance(trim.observed, Estimate) else None
    return seen or (None if trim.commissioned is None else float(trim.commissioned))


def _causes(group: list[SettingFinding], full: float | None) -> tuple[str, ...]:
    """Likely causes in order, from what moved and which way."""
    by_name = {finding.setting: finding for finding in group}
    nights = _is(by_name.get("scheduled_off"), False)
    standby = by_name.get("standby_watts")
    if nights and standby is not None and _went_up(standby):
        return ("standby growth", "added load", "schedule lost")  # lamps are off, or it could not be read
    full_when_vacant = _to_full(by_name, full)
    if nights and full_when_vacant:
        return ("override left on", "schedule lost", "sensor bypassed")
    codes: list[str] = ["added load"] if _by_one_amount(by_name) else []
    if full_when_vacant and not codes:
        codes += ["sensor bypassed", "override left on", "low level raised"]
    for name, finding in by_name.items():
        if name == "low_level" and full_when_vacant:
            continue
        codes += _codes_of(name, finding)
    return tuple(dict.fromkeys(codes)) or ("use changed",)


def _codes_of(name: str, finding: SettingFinding) -> tuple[str, ...]:
    up = _went_up(finding)
    table: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
        "high_trim": (("trim removed", "added load"), ("lamps failed", "trim lowered")),
        "low_level": (("low level raised", "sensor bypassed"), ("low level lowered", "lamps failed")),
        "hold_minutes": (("delay lengthened",), ("delay shortened",)),
        "daylight_dimming": (("daylight repaired",), ("daylight dead",)),
        "scheduled_off": (("hours changed",), ("schedule lost", "override left on")),
        "standby_watts": (("standby growth", "added load"), ("load removed",)),
        "burning_by_day": (("photocell stuck", "override left on"), ("photocell stuck",)),
        "off_at_night": (("off at night",), ("off at night",)),
        "switching_on_deg": (("photocell dirty",), ("photocell dirty",)),
        "switching_off_deg": (("photocell dirty",), ("photocell dirty",)),
        "lamps_failed": (("lamps failed", "trim lowered"), ("lamps failed", "trim lowered")),
        "always_on_kw": (
            ("added load", "standby growth"),
            ("load removed", "lamps failed"),
        ),
        "schedule_shift_hours": (("clock shifted", "hours changed"), ("clock shifted", "hours changed")),
        "night_floor_kw": (("standby growth", "added load"), ("load removed",)),
        "sensor_response": (("sensor bypassed", "override left on"), ("sensor bypassed", "override left on")),
        "full_all_day": (
            ("sensor bypassed", "delay lengthened", "use changed"),
            ("use changed",),
        ),
        "burn_minutes": (("delay lengthened", "use changed"), ("delay shortened", "use changed")),
        "nights_left_on": (("override left on", "cleaning or security"), ("override left on",)),
    }
    if name not in table:
        return ()
    if name == "lamps_failed" and finding.earlier is None:
        return ("lamps failed",)  # seen on every lit level: no trim does that
    return table[name][0 if up else 1]


def _went_up(finding: SettingFinding) -> bool:
    now = finding.observed
    if not isinstance(now, Estimate):
        return True
    if isinstance(now.estimate, bool):
        return now.estimate
    before: float | bool | None = finding.commissioned
    if isinstance(finding.earlier, Estimate):
        before = finding.earlier.estimate
    return now.estimate >= float(before or 0.0)


def _is(finding: SettingFinding | None, value: bool) -> bool:
    if finding is None or not isinstance(finding.observed, Estimate):
        return False
    return bool(finding.observed.estimate) is value


FULL_SHARE = 0.9  # of the full level, from which lamps do not fall when vacant; common practice, no source
FULL_UNKNOWN = 0.5  # of the connected load, where the full level is not known; common practice, no source


def _by_one_amount(by_name: dict[str, SettingFinding]) -> bool:
    """True where the full and the vacant level rose by the same power: no setting does that."""
    rises = [_rise(by_name.get(name)) for name in ("high_trim", "low_level")]
    known = [rise for rise in rises if rise is not None]
    return len(known) == 2 and min(known) > SAME_AMOUNT and abs(known[0] - known[1]) <= SAME_AMOUNT


def _rise(finding: SettingFinding | None) -> float | None:
    if finding is None or finding.since is None:
        return None
    now, before = finding.observed, finding.earlier
    if not isinstance(now, Estimate) or not isinstance(before, Estimate):
        return None
    return float(now.estimate) - float(before.estimate)


def _to_full(by_name: dict[str, SettingFinding], full: float | None) -> bool:
    low = by_name.get("low_level")
    if low is None or not isinstance(low.observed, Estimate):
        return False
    agreed = float(low.commissioned or 0.0)
    least = FULL_UNKNOWN if full is None else FULL_SHARE * full
    return float(low.observed.estimate) >= max(least, agreed + 0.2)
