"""What an outdoor zone shows that nobody agreed on: burning by day, switching early, dark nights."""

from dataclasses import replace

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.base.study_records import Zone
from mv.controls.common_changes import restated
from mv.controls.effects import DAYS_A_MONTH
from mv.controls.outdoor_nights import OutdoorNights, added_loads
from mv.controls.shared_signs import LAMPS_OR_TRIM, added_sign, fell
from mv.controls.steps import Level, levels
from mv.controls.tolerances import METER_CLASS, TRIM
from mv.controls.verdicts import (
    Scale,
    day_date,
    numeric_finding,
    quantile_factor,
)
from mv.controls.zone_table import ZoneRecord

DAY_SHARE_STEP = 0.25  # of the day burnt: a change that counts; common practice, no source
SWITCH_STEP_DEG = 1.5  # change of switching elevation that counts; common practice, no source


def burning_by_day(
    zone: Zone, record: ZoneRecord, nights: OutdoorNights, confidence: float
) -> SettingFinding | None:
    found = levels(nights.by_day, least_step=DAY_SHARE_STEP)
    if not found:
        return None
    last = found[-1]
    half = quantile_factor(confidence, last.days) * last.standard_error + 0.01
    observed = Estimate(last.value, last.value - half, last.value + half, confidence)
    burning = last.value >= 0.5
    first = len(found) - 1
    while first > 0 and (found[first - 1].value >= 0.5) == burning:
        first -= 1
    since = day_date(found[first].first_day) if first else None
    why = f"lamps burn in {100 * last.value:.0f} % of the time the sun is up" + (
        f", since {since}" if since else ""
    )
    effect = _day_energy(record, found[first].first_day, confidence) if burning else None
    return SettingFinding(
        zone.id,
        "burning_by_day",
        None,
        observed,
        "moved" if burning else "kept",
        since if burning else None,
        why,
        effect,
    )


def _day_energy(record: ZoneRecord, first_day: int, confidence: float) -> Estimate:
    table = record.table
    rows = (table.day >= first_day) & np.isfinite(table.level)
    sunny = rows & (table.sun > 0.0)
    days = max(rows.sum() * table.minutes / 1440.0, 1.0)
    kwh = float(table.level[sunny].sum()) * table.minutes / 60.0 * record.full_kw * DAYS_A_MONTH / days
    return Estimate(kwh, 0.95 * kwh, 1.05 * kwh, confidence)


def outdoor_signs(
    zone: Zone, record: ZoneRecord, nights: OutdoorNights, confidence: float
) -> tuple[SettingFinding, ...]:
    signs = []
    burning = burning_by_day(zone, record, nights, confidence)
    if burning is not None and burning.verdict == "moved":
        signs.append(burning)
    signs += [added_sign(zone.id, record, change, confidence) for change in added_loads(nights)]
    fallen = numeric_finding(
        zone.id,
        "lamps_failed",
        agreed=None,
        levels=restated(levels(nights.full, least_step=TRIM.step), added_loads(nights), TRIM.step),
        tolerance=TRIM,
        scale=Scale("the full-on level", "%", 1, METER_CLASS, confidence),
        last_day=int(record.table.day[-1]),
    )
    if fell(fallen):
        signs.append(replace(fallen, why=f"{fallen.why}: {LAMPS_OR_TRIM}"))
    for name, days, words in (
        ("switching_on_deg", nights.on_deg, "the sun's height at switching on"),
        ("switching_off_deg", nights.off_deg, "the sun's height at switching off"),
    ):
        found = levels(days, least_step=SWITCH_STEP_DEG)
        if len(found) > 1:
            scale = Scale(words, "degrees", 1, 0.2, confidence)
            signs.append(
                numeric_finding(
                    zone.id,
                    name,
                    agreed=None,
                    levels=list(found),
                    tolerance=TRIM,
                    scale=scale,
                    last_day=int(record.table.day[-1]),
                )
            )
    dark_off = levels(nights.dark_off, least_step=DAY_SHARE_STEP)
    if len(dark_off) > 1 and dark_off[-1].value >= 0.25 > dark_off[0].value:
        signs.append(_off_at_night_sign(zone, dark_off, confidence))
    return tuple(signs)


def _off_at_night_sign(zone: Zone, found: list[Level], confidence: float) -> SettingFinding:
    last = found[-1]
    observed = Estimate(last.value, max(0.0, last.value - 0.1), min(1.0, last.value + 0.1), confidence)
    since = day_date(last.first_day)
    why = (
        f"lamps are off in {100 * last.value:.0f} % of the hours without sun since {since}: "
        "a safety matter, not a saving"
    )
    return SettingFinding(zone.id, "off_at_night", None, observed, "moved", since, why)
