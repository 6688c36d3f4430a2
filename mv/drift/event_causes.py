"""Causes of an event of settings, put in order by what the hours of the day show."""

from mv.drift.looks import Look
from mv.drift.setting_events import SettingEvent
from mv.drift.signature import Signature
from mv.drift.step_causes import ADDED, SMALL_FLOOR, all_hours_alike, step_causes
from mv.drift.step_search import STEP_LIMIT, Step

Codes = tuple[str, ...]

# Causes that the power over the day tells apart; a hold time or a clock it does not.
RAISED = frozenset({
    "trim removed", "added load", "standby growth", "schedule lost", "override left on",
    "low level raised", "sensor bypassed",
})  # fmt: skip
LOWERED = frozenset({"lamps failed", "load removed", "trim lowered", "low level lowered"})
UNMOVED_TOP = 0.03  # of the full level, within which the highest load has not moved; no source
LOW_NIGHT = 0.3  # of the full level, up to which a night's load may yet be no lamp's; no source
FULL_AT_NIGHT = 0.85  # of the full level, in hours that used to be dark; common practice, no source


def event_causes(event: SettingEvent, look: Look | None, step: Step | None) -> Codes:
    """The settings' own causes; what every hour of the day shows goes before them where it differs."""
    causes = event.causes
    if look is None or event.since is None or step is None or look.item.measures != "lighting":
        return causes
    seen = look.signature(event.since, event.until)
    if seen is None or causes[0] not in RAISED | LOWERED:
        return causes
    return _ordered(causes, seen, look, step)


def _ordered(causes: Codes, seen: Signature, look: Look, step: Step) -> Codes:
    raised = causes[0] in RAISED
    if all_hours_alike(seen) and (seen.lit or 0.0) * (1 if raised else -1) > 0:
        own = ("standby growth", "added load") if (seen.lit or 0.0) < SMALL_FLOOR / 2 else ADDED[:1]
        return _joined(own if raised else ("load removed",), causes)
    night = max(seen.unlit or 0.0, seen.closed or 0.0)
    if causes[0] in ("schedule lost", "override left on"):
        return _night_causes(causes, seen, night)
    if causes[0] == "sensor bypassed" and (seen.unlit_now or 0.0) >= FULL_AT_NIGHT and night > 0.3:
        return _joined(("override left on",), causes)
    told = step_causes(look.item, step.shape, step.mean_kwh_a_day, seen)
    if causes[0] == "added load" and abs(seen.top_near) < UNMOVED_TOP and told[0] not in causes[:2]:
        return _joined(told[:2], causes)  # the highest load did not rise: no load of its own
    same_way = (step.mean_kwh_a_day > 0) == raised
    if step.statistic >= STEP_LIMIT and same_way and causes[0] not in told and told[0] in RAISED | LOWERED:
        return _joined(told[:1], causes)
    return causes


def _night_causes(causes: Codes, seen: Signature, night: float) -> Codes:
    """Lamps at full all night rather point at an override, a small floor at devices on standby."""
    now = seen.unlit_now or seen.floor_now
    if 0 < night <= SMALL_FLOOR and seen.floor >= 0.5 * night and now <= 2 * SMALL_FLOOR:
        return _joined(("standby growth",), causes)
    if (seen.unlit_now or 0.0) >= FULL_AT_NIGHT:
        return _joined(("override left on", "schedule lost"), causes)
    if night > 0 and now <= LOW_NIGHT and seen.floor >= 0.5 * night:
        return _joined(causes, ("standby growth",))
    return causes


def _joined(first: Codes, others: Codes) -> Codes:
    return tuple(dict.fromkeys((*first, *others)))
