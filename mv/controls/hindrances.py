"""Why a setting cannot be told, in a sentence for the reader."""

from mv.base.estimate import Estimate
from mv.controls.evidence import ZoneEvidence
from mv.controls.hold_time import COARSEST_MINUTES, FEWEST_EVENTS, typical_hold

FINE_MINUTES = 5.0  # interval in which the fall of one sensor's lamps is seen; no source
MOST_HOLD_DOUBT = 5.0  # minutes; common practice, no source
MOST_SPREAD_MINUTES, MOST_SPREAD_SHARE = 2.0, 0.08  # by which days at one hold time differ; no source
TOO_HIGH = 1.15  # plateau over connected load that no trim explains; common practice, no source
NO_LOAD = "the connected load after the retrofit is not known: give fixtures and watts_after"
BEFORE_THE_END = (
    "the load seems to fall before motion ends: the clocks of meter and log differ, or the log holds on"
)
LOOSE_HOLD = "the time from last motion to the fall of the load varies too much to be one setting"


def standby_text(evidence: ZoneEvidence, watts: float) -> str:
    if evidence.floor.kind == "unknown":
        return "the lamps were never seen off"
    return (
        f"the load never falls below {watts * evidence.floor.base:.1f} W a fixture, more than the standby "
        "agreed or plausible: lighting that burns always (egress, night lighting), another load, or "
        "a higher standby cannot be separated"
    )


def load_reason(evidence: ZoneEvidence) -> str | None:
    if not evidence.record.load_known:
        return NO_LOAD
    if evidence.trim and evidence.trim[0].value > TOO_HIGH:
        return (
            f"the meter shows {100 * evidence.trim[0].value:.0f} % of the connected load: check the count of "
            "fixtures, their watts and the meter's multiplier"
        )
    return None


def too_loose(hold: Estimate, noise: float, parts_minutes: float) -> bool:
    """True where the hold time is not known to half of itself, or its days differ by too much.

    `parts_minutes`: by which they may where several sensors' lamps fall one after the other.
    """
    assert hold.low is not None and hold.high is not None
    most = max(MOST_HOLD_DOUBT, 0.5 * float(hold.estimate))
    spread = max(MOST_SPREAD_MINUTES, MOST_SPREAD_SHARE * float(hold.estimate)) + parts_minutes
    return (hold.high - hold.low) / 2 > most or noise > spread


def by_hand(evidence: ZoneEvidence) -> str | None:
    if evidence.follows_sensors:
        return None
    return (
        "with people moving the lamps burn at all sorts of levels: they are switched or dimmed by hand, or "
        "part by part"
    )


def hold_reason(evidence: ZoneEvidence) -> str | None:
    minutes = evidence.record.table.minutes
    if not evidence.has_motion:
        return "a hold time needs a motion log"
    if minutes > COARSEST_MINUTES:
        return f"readings every {minutes:.0f} minutes are too coarse for a hold time"
    events = evidence.events
    if events is None or len(events.minutes) < FEWEST_EVENTS:
        if events is not None and len(events.undropped_minutes) >= FEWEST_EVENTS:
            return "lamps do not fall after motion ends, so no hold time shows"
        return "too few gaps in motion are long enough to see lamps fall"
    if evidence.together is False and not events.several and minutes > FINE_MINUTES:
        return "the lamps go on and off part by part, and readings are too coarse to see the last part fall"
    if typical_hold(events.minutes, events.half)[0] is None and len(evidence.hold) < 2:
        return LOOSE_HOLD
    return None


def low_reason(evidence: ZoneEvidence) -> str | None:
    if evidence.floor.kind == "open":
        return never_off_text(evidence)
    if evidence.low:
        return None
    if not evidence.record.table.is_open.any():
        return "no opening hours are given, and the level is that when vacant in opening hours"
    if evidence.has_motion:
        return "the zone is never vacant long enough in opening hours to see it"
    return "without a motion log, no second plateau of the load shows in opening hours"


def never_off_text(evidence: ZoneEvidence) -> str:
    return (
        f"the load never falls below {100 * evidence.floor.base:.0f} % of the connected load: "
        "whether lamps stay at a low level or other lighting burns always (egress, "
        "night lighting) cannot be separated"
    )
