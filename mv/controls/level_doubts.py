"""Why a level that is read as moved may be no such thing, and why one that is read may not be known."""

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.controls.always_on import SURE_ALWAYS_ON
from mv.controls.evidence import FEW_DARK_DAYS, ZoneEvidence
from mv.controls.tolerances import LOW
from mv.controls.verdicts import EPOCH

ONLY_DAYLIT = "but lamps were hardly ever seen on without daylight, so it is at least that"
IN_PARTS = "but the lamps go on part by part, and all of them may never have been on: it is at least that"
TOO_LOOSE = "but the days differ too much for it to be one setting"
UNLOGGED = "but without a motion log a zone partly in use looks the same"
AT_REST = "but that is the level at which lamps rest when nobody is there: it is at least that"
NO_FLOOR = "but the load was never seen without the lamps: another that burns always may make the difference"
WIDEST_LEVEL = 0.045  # half-width, level, beyond which a level is not known; common practice, no source
MOST_SPREAD = 0.03  # level, between days, of a setting never seen as agreed; common practice, no source


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
    return TOO_LOOSE if found.since is None and evidence.trim[-1].noise > MOST_SPREAD else None


def low_doubt(evidence: ZoneEvidence, found: SettingFinding) -> str | None:
    """The same of a level when vacant."""
    if found.verdict != "moved":
        return None
    lower, last = below(found), evidence.low[-1]
    if lower and _daylight_explains(evidence, found, "low_dark", last.value):
        return ONLY_DAYLIT
    if not lower and _other_load_explains(evidence, found):
        return NO_FLOOR
    if not evidence.has_motion and (found.since is None or evidence.may_dim or not evidence.together):
        return f"{UNLOGGED}, so it is at {'least' if lower else 'most'} that"
    return TOO_LOOSE if found.since is None and last.noise > MOST_SPREAD else None


def too_wide(level: Estimate) -> bool:
    """True for an interval too wide for the level to count as known."""
    assert level.low is not None and level.high is not None
    return (level.high - level.low) / 2 > WIDEST_LEVEL


def below(finding: SettingFinding) -> bool:
    """True where the present state is below what was agreed (or was before, where nothing was)."""
    now, agreed, before = finding.observed, finding.commissioned, finding.earlier
    if not isinstance(now, Estimate):
        return False
    if agreed is None:
        return isinstance(before, Estimate) and now.estimate < before.estimate
    return now.estimate < float(agreed)


def _at_rest(evidence: ZoneEvidence) -> bool:
    """True where lamps that are never off show no level above the one they rest at: nobody came."""
    floor = evidence.floor
    return floor.kind == "lamps" and abs(evidence.trim[-1].value - floor.base) <= LOW.step


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
