"""Why a level that is read as moved may be no such thing, and why one that is read may not be known."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.controls.always_on import SURE_ALWAYS_ON
from mv.controls.daily import Daily
from mv.controls.evidence import FEW_DARK_DAYS, ZoneEvidence
from mv.controls.fall_edge import Z_90
from mv.controls.steps import Level
from mv.controls.tolerances import LOW, TRIM
from mv.controls.verdicts import EPOCH

ONLY_DAYLIT = "but lamps were hardly ever seen on without daylight, so it is at least that"
IN_PARTS = "but the lamps go on part by part, and all of them may never have been on: it is at least that"
TOO_LOOSE = "but the days differ too much for it to be one setting"
UNLOGGED = "but without a motion log a zone partly in use looks the same"
AT_REST = "but that is the level at which lamps rest when nobody is there: it is at least that"
AT_FLOOR = "but the load with lamps off is as high by now: it is at most that"
FLOOR_ROOM = 0.015  # level within which vacant lamps count as at the floor; common practice, no source
NO_FLOOR = "but the load was never seen without the lamps: another that burns always may make the difference"
HIDDEN = "but to no better than 3 % of the connected load, as other load burns on the meter"
WIDEST_LEVEL = 0.035  # half-width, level, beyond which a level is not known; common practice, no source
LATELY = "but the last days that show it lie elsewhere"
LAST_DAYS = 2  # days with readings that show a level is no more what it was; common practice, no source
MOST_SPREAD = 0.03  # level by which days at one setting differ; common practice, no source


def day_number(finding: SettingFinding, evidence: ZoneEvidence) -> int:
    """First day of the finding's present state, as a day number."""
    if finding.since is None:
        return int(evidence.record.table.day[0])
    return (finding.since - EPOCH).days


def trim_doubt(evidence: ZoneEvidence, found: SettingFinding) -> str | None:
    """Why a full-on level that is read as moved may be no such thing; None where nothing speaks for it."""
    if found.verdict != "moved":
        return None
    if not below(found):
        return NO_FLOOR if _other_load_explains(evidence, found) else None
    if _daylight_explains(evidence, found, "dark", evidence.trim[-1].value):
        return ONLY_DAYLIT
    if not evidence.together:
        return IN_PARTS
    if _at_rest(evidence):
        return AT_REST
    return None


def low_doubt(evidence: ZoneEvidence, found: SettingFinding) -> str | None:
    """The same of a level when vacant."""
    if found.verdict != "moved":
        return None
    lower, last = below(found), evidence.low[-1]
    if lower and _daylight_explains(evidence, found, "low_dark", last.value):
        return ONLY_DAYLIT
    if not lower and _other_load_explains(evidence, found):
        return NO_FLOOR
    if not lower and found.since is None and _at_floor(evidence, last):
        return AT_FLOOR
    if not evidence.has_motion and (found.since is None or evidence.may_dim or not evidence.together):
        return f"{UNLOGGED}, so it is at {'least' if lower else 'most'} that"
    return None


def unknown_level(found: SettingFinding, levels: Sequence[Level], days: Daily) -> str | None:
    """Why a level does not count as known: its days differ, the last of them are elsewhere, or its
    interval is wide and no move outweighs it. `days`: those that the levels were made of.
    """
    if not isinstance(found.observed, Estimate) or not levels:
        return None
    if levels[-1].noise > MOST_SPREAD and not (found.verdict == "moved" and found.since):
        return TOO_LOOSE
    if found.verdict == "moved":
        return None
    if _lately_elsewhere(levels[-1], days):
        return LATELY
    return HIDDEN if half_width(found.observed) > WIDEST_LEVEL else None


def as_loose(found: SettingFinding, levels: Sequence[Level]) -> SettingFinding:
    """A move that is sure, to days that differ much: the interval reaches as far as they do."""
    now = found.observed
    if found.verdict != "moved" or not isinstance(now, Estimate) or levels[-1].noise <= MOST_SPREAD:
        return found
    half = max(half_width(now), Z_90 * levels[-1].noise)
    ends = max(float(now.estimate) - half, 0.0), float(now.estimate) + half
    return replace(found, observed=replace(now, low=ends[0], high=ends[1]))


def _lately_elsewhere(level: Level, days: Daily) -> bool:
    """True where the last days that show the level lie clearly off it, to one side."""
    off = days.value[-LAST_DAYS:] - level.value
    return len(days) > LAST_DAYS and bool((off > TRIM.apart).all() or (off < -TRIM.apart).all())


def half_width(found: Estimate) -> float:
    """Half of the interval, in the setting's unit."""
    assert found.low is not None and found.high is not None
    return (found.high - found.low) / 2


def below(finding: SettingFinding) -> bool:
    """True where the present state is below what was agreed (or was before, where nothing was)."""
    now, agreed, before = finding.observed, finding.commissioned, finding.earlier
    if not isinstance(now, Estimate):
        return False
    if agreed is None:
        return isinstance(before, Estimate) and now.estimate < before.estimate
    return now.estimate < float(agreed)


def _at_floor(evidence: ZoneEvidence, last: Level) -> bool:
    """True where a level when vacant is no more than what the load with lamps off has risen to."""
    lowest = evidence.floors[-1].value if evidence.floors else 0.0
    return last.value <= min(lowest + FLOOR_ROOM, SURE_ALWAYS_ON)


def _at_rest(evidence: ZoneEvidence) -> bool:
    """True where lamps show no level above the one they rest at, agreed or seen: nobody came, or hardly."""
    agreed, floor = evidence.zone.commissioned.low_level, evidence.floor
    rests = [level.value for level in evidence.low[-1:]] + ([agreed] if agreed else [])
    rests += [floor.base] if floor.kind == "lamps" else []
    return any(abs(evidence.trim[-1].value - rest) <= LOW.step for rest in rests)


def _other_load_explains(evidence: ZoneEvidence, finding: SettingFinding) -> bool:
    """True where a level never as agreed is higher by no more than what may burn always beside the lamps."""
    now, agreed = finding.observed, finding.commissioned
    if evidence.floor.kind != "unknown" or finding.since is not None or agreed is None:
        return False
    return isinstance(now, Estimate) and now.estimate - float(agreed) <= SURE_ALWAYS_ON


def _daylight_explains(evidence: ZoneEvidence, finding: SettingFinding, sunless: str, level: float) -> bool:
    """True where a low reading may be daylight's doing: without sun it does not show, or not so low."""
    if not evidence.may_dim:
        return False
    dark = evidence.series(sunless)
    value = dark.value[dark.day >= day_number(finding, evidence)]
    return len(value) < FEW_DARK_DAYS or float(np.median(value)) - level >= LOW.step
