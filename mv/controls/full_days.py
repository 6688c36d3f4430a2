"""Lamps that used to fall within the hours on most days, and now burn at full all day, whatever people do.

No motion log is needed: a sensor that rules no more leaves no reading of the open hours below the full
level, on any day. Only where daylight does not move the lamps, and while the full level stays one.
"""

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.controls.daily import Daily, daily_mean
from mv.controls.evidence import ZoneEvidence
from mv.controls.held_share import well_within
from mv.controls.steps import levels
from mv.controls.verdicts import day_date

LEAST_RISE = 0.15  # level between vacant and full; common practice, no source
FALLEN = 0.06  # of that rise below the full level, from which a reading has fallen; no source
LEAST_HOURS = 4.0  # of a day's readings; common practice, no source
USUALLY, SELDOM = 0.6, 0.08  # share of days with a fall before and since; common practice, no source
LEAST_STEP = 0.5  # share of days; common practice, no source
FEWEST_DAYS = 21  # days without a fall, so that a few busy weeks are none; common practice, no source
DOUBT = 0.05  # half-width, share of days; common practice, no source


def full_day_signs(evidence: ZoneEvidence) -> list[SettingFinding]:
    """Days on which lamps fell at all, from most to none; nothing where sensors do not rule."""
    agreed = evidence.zone.commissioned
    sensed = agreed.hold_minutes is not None or agreed.low_level is not None
    if not sensed or evidence.may_dim or len(evidence.trim) != 1:
        return []
    found = levels(_days_with_falls(evidence), least_step=LEAST_STEP)
    if len(found) < 2 or found[-1].value > SELDOM or found[-2].value < USUALLY:
        return []
    if found[-1].days < FEWEST_DAYS:
        return []
    since = day_date(found[-1].first_day)
    why = (
        f"since {since} lamps burn at the full level throughout the open hours, on all but "
        f"{100 * found[-1].value:.0f} % of days; before, they fell on {100 * found[-2].value:.0f} %"
    )
    now, was = (
        Estimate(value, max(value - DOUBT, 0.0), min(value + DOUBT, 1.0), evidence.confidence)
        for value in (1.0 - found[-1].value, 1.0 - found[-2].value)
    )
    return [SettingFinding(evidence.zone.id, "full_all_day", None, now, "moved", since, why, earlier=was)]


def _days_with_falls(evidence: ZoneEvidence) -> Daily:
    """1 for a day of open hours with a reading below the full level, else 0."""
    table = evidence.record.table
    full = evidence.trim[0].value
    rise = full - (evidence.low[0].value if evidence.low else evidence.floor.base)
    rows = well_within(table) & table.is_open & np.isfinite(table.level)
    if rise < LEAST_RISE or not rows.any():
        return daily_mean(table.day[:0], table.level[:0])
    room = max(FALLEN * rise, 2.0 * evidence.record.step_level) + evidence.restless
    fell = (table.level[rows] < full - room).astype(np.float64)
    share = daily_mean(table.day[rows], fell, least=max(2, round(LEAST_HOURS * 60.0 / table.minutes)))
    return Daily(share.day, (share.value > 0).astype(np.float64), share.count)
