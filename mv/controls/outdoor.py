"""Outdoor lights: burning from dusk to dawn, at which height of the sun they switch, part-night dim."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding, ZoneSettings
from mv.base.study_records import Zone
from mv.controls.common_changes import restated
from mv.controls.daily import Daily
from mv.controls.day_spread import middle_of_days
from mv.controls.effects import DAYS_A_MONTH
from mv.controls.monthly import Row, month_name, monthly_table
from mv.controls.observed import observed_settings
from mv.controls.outdoor_nights import OutdoorNights, added_loads, outdoor_nights
from mv.controls.outdoor_signs import burning_by_day, outdoor_signs
from mv.controls.shared_signs import LAMPS_OR_TRIM, fell
from mv.controls.steps import levels
from mv.controls.tolerances import LOW, METER_CLASS, TRIM, standby_tolerance
from mv.controls.verdicts import (
    EPOCH,
    Scale,
    cannot_tell,
    numeric_finding,
)
from mv.controls.zone_table import ZoneRecord

LEVELS = ("high_trim", "part_night_level")  # that the meter's class makes unsure
SKY_DEG, GRID_DEG = 0.3, 0.01  # half-widths: clouds at dusk and clocks; a minute of a reading; no source
FEWEST_NIGHTS = 3  # nights that show whether lamps dim for part of them; common practice, no source


def outdoor_settings(
    zone: Zone, record: ZoneRecord, agreed: Mapping[str, float | bool], *, confidence: float
) -> ZoneSettings:
    """Findings, signs and months of an outdoor zone."""
    nights = outdoor_nights(record.table, record.step_level)
    findings = tuple(
        _finding(zone, record, nights, name, value, confidence) for name, value in agreed.items()
    )
    monthly = monthly_table(_month_rows(zone, record, nights, confidence))
    signs = outdoor_signs(zone, record, nights, confidence)
    observed = observed_settings(zone.id, monthly, outdoor=True, confidence=confidence)
    return ZoneSettings(zone.id, findings, monthly, signs, None, record.remarks, observed)


def _finding(
    zone: Zone,
    record: ZoneRecord,
    nights: OutdoorNights,
    name: str,
    agreed: float | bool,
    confidence: float,
) -> SettingFinding:
    last = int(record.table.day[-1])
    doubt = float(np.hypot(METER_CLASS, 0.29 * record.step_level))
    if name == "daylight_dimming":
        return _off_by_day(zone, record, nights, bool(agreed), confidence)
    if name == "scheduled_off":
        return _off_by_night(zone, nights, bool(agreed), confidence)
    if name == "hold_minutes":
        return cannot_tell(
            zone.id, name, agreed, "a hold time is not read for outdoor lights that burn from dusk to dawn"
        )
    if not record.load_known:
        why = "the connected load after the retrofit is not known: give fixtures and watts_after"
        return cannot_tell(zone.id, name, agreed, why)
    if name == "standby_watts":
        return _standby(zone, record, nights, float(agreed), confidence)
    days, words = (
        (nights.full, "the full-on level") if name == "high_trim" else (nights.part, "the part-night level")
    )
    tolerance = TRIM if name == "high_trim" else LOW
    found = restated(levels(days, least_step=tolerance.step), added_loads(nights), tolerance.step)
    if not found and name == "low_level":
        return cannot_tell(zone.id, name, agreed, "the lamps show one level all night")
    scale = Scale(words, "%", 1, doubt, confidence)
    finding = numeric_finding(
        zone.id, name, agreed=float(agreed), levels=found, tolerance=tolerance, scale=scale, last_day=last
    )
    if name == "high_trim" and fell(finding):
        return replace(finding, verdict="cannot tell", since=None, why=f"{finding.why}: {LAMPS_OR_TRIM}")
    return replace(finding, effect_kwh_per_month=_level_effect(record, finding))


def _level_effect(record: ZoneRecord, finding: SettingFinding) -> Estimate | None:
    if finding.verdict != "moved" or not isinstance(finding.observed, Estimate):
        return None
    now, table = finding.observed, record.table
    first = (finding.since - EPOCH).days if finding.since else int(table.day[0])
    rows = (table.day >= first) & np.isfinite(table.level)
    near = rows & (np.abs(table.level - float(now.estimate)) <= 0.04)
    days = rows.sum() * table.minutes / 1440.0
    hours = near.sum() * table.minutes / 60.0 * DAYS_A_MONTH / max(days, 1.0)
    unit, then = hours * record.full_kw, float(finding.commissioned or 0.0)
    assert now.low is not None and now.high is not None
    return Estimate(
        (float(now.estimate) - then) * unit, (now.low - then) * unit, (now.high - then) * unit, now.confidence
    )


def _off_by_day(
    zone: Zone, record: ZoneRecord, nights: OutdoorNights, agreed: bool, confidence: float
) -> SettingFinding:
    """For an outdoor zone daylight control means: off while the sun is up."""
    sign = burning_by_day(zone, record, nights, confidence)
    if sign is None:
        return cannot_tell(zone.id, "daylight_dimming", agreed, "no readings while the sun is up")
    off = sign.observed.estimate < 0.5 if isinstance(sign.observed, Estimate) else True
    observed = Estimate(bool(off), None, None, confidence)
    if bool(off) == agreed:
        why = "lamps are off while the sun is up" if off else sign.why
        return SettingFinding(zone.id, "daylight_dimming", agreed, observed, "kept", None, why)
    return replace(
        sign,
        setting="daylight_dimming",
        commissioned=agreed,
        observed=observed,
        verdict="moved",
        earlier=None,
    )


def _off_by_night(zone: Zone, nights: OutdoorNights, agreed: bool, confidence: float) -> SettingFinding:
    if not len(nights.dark_off):
        return cannot_tell(zone.id, "scheduled_off", agreed, "no readings without sun")
    share = float(np.median(nights.dark_off.value[-60:]))
    off = share >= 0.25
    observed = Estimate(off, None, None, confidence)
    why = f"lamps are off in {100 * share:.0f} % of the hours without sun"
    if off == agreed:
        return SettingFinding(zone.id, "scheduled_off", agreed, observed, "kept", None, why)
    why += "; night lighting may be required: see local code before it is changed"
    return SettingFinding(zone.id, "scheduled_off", agreed, observed, "moved", None, why)


def _standby(
    zone: Zone, record: ZoneRecord, nights: OutdoorNights, agreed: float, confidence: float
) -> SettingFinding:
    if not zone.fixtures or not len(nights.floor):
        return cannot_tell(zone.id, "standby_watts", agreed, "the lamps were never seen off")
    watts = 1000.0 * record.full_kw / zone.fixtures
    tolerance = standby_tolerance(agreed, record.step_level * watts)
    found = [
        replace(level, value=level.value * watts, noise=level.noise * watts)
        for level in restated(
            levels(nights.floor, least_step=tolerance.step / watts),
            added_loads(nights),
            tolerance.step / watts,
        )
    ]
    scale = Scale(
        "the load with lamps off", "W a fixture", 2, 0.29 * record.step_level * watts + 0.01, confidence
    )
    return numeric_finding(
        zone.id,
        "standby_watts",
        agreed=agreed,
        levels=found,
        tolerance=tolerance,
        scale=scale,
        last_day=int(record.table.day[-1]),
    )


def _month_rows(zone: Zone, record: ZoneRecord, nights: OutdoorNights, confidence: float) -> list[Row]:
    rows: list[Row] = []
    months = dict(zip(record.table.day.tolist(), record.table.month.tolist(), strict=True))
    watts = 1000.0 * record.full_kw / zone.fixtures if zone.fixtures else 0.0
    known = record.load_known
    wanted: list[tuple[str, Daily, float]] = [
        ("switching_on_deg", nights.on_deg, 1.0),
        ("switching_off_deg", nights.off_deg, 1.0),
        ("burning_by_day_share", nights.by_day, 1.0),
    ]
    if known:
        wanted += [("high_trim", nights.full, 1.0), ("part_night_level", nights.part, 1.0)]
        wanted += [("standby_watts", nights.floor, watts)] if watts else []
    for name, days, scale in wanted:
        month_of = np.array([months[int(day)] for day in days.day], dtype=np.int64)
        for month in np.unique(month_of):
            value = days.value[month_of == month] * scale
            middle, low, high = middle_of_days(value, confidence)
            doubt = METER_CLASS * scale if name in LEVELS else 0.0
            doubt = SKY_DEG + GRID_DEG * record.table.minutes if name.endswith("_deg") else doubt
            half = float(np.hypot((high - low) / 2.0, doubt))
            rows.append((month_name(int(month)), name, middle, middle - half, middle + half, None))
    for month in np.unique(record.table.month):
        rows.append(_part_night_row(int(month), record, nights))
    return rows


def _part_night_row(month: int, record: ZoneRecord, nights: OutdoorNights) -> Row:
    """Whether the lamps dim for part of most nights of a month."""
    days = np.unique(record.table.day[record.table.month == month])
    seen = int(np.isin(nights.full.day, days).sum())
    name = month_name(month)
    if seen < FEWEST_NIGHTS:
        return (name, "part_night_dim", None, None, None, "too few nights with lamps on")
    dimmed = int(np.isin(nights.part.day, days).sum())
    return (name, "part_night_dim", dimmed >= 0.5 * seen, None, None, None)
