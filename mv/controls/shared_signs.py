"""Signs that indoor and outdoor zones share: a load added, a full level that fell."""

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.controls.common_changes import CommonChange
from mv.controls.effects import DAYS_A_MONTH
from mv.controls.verdicts import day_date
from mv.controls.zone_table import ZoneRecord

SHARE_DOUBT = 0.01  # level; half-width of a common change; common practice, no source
LAMPS_OR_TRIM = "lamps that failed and a trim set lower look alike here"


def fell(finding: SettingFinding) -> bool:
    """True where the full-on level has come down from an earlier one."""
    now, before = finding.observed, finding.earlier
    if finding.verdict != "moved" or not isinstance(now, Estimate) or not isinstance(before, Estimate):
        return False
    return now.estimate < before.estimate


def added_sign(zone: str, record: ZoneRecord, change: CommonChange, confidence: float) -> SettingFinding:
    """A load that came on (or went off) at all hours."""
    since = day_date(change.day)
    kw = change.added * record.full_kw
    doubt = SHARE_DOUBT * record.full_kw
    more = "more" if kw > 0 else "less"
    why = f"{abs(kw):.2f} kW {more} at all hours since {since}: every level moved by the same amount"
    observed = Estimate(kw, kw - doubt, kw + doubt, confidence)
    effect = observed.scaled(24.0 * DAYS_A_MONTH)
    return SettingFinding(zone, "always_on_kw", None, observed, "moved", since, why, effect)
