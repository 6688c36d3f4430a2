"""Outdoor lights: burning from dusk to dawn, at which height of the sun they switch, part-night dim."""

import itertools
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding, ZoneSettings
from mv.base.study_records import Zone
from mv.controls.common_changes import CommonChange, common_changes, restated
from mv.controls.daily import (
    NO_DAYS,
    BoolArray,
    Daily,
    FloatArray,
    daily_mean,
    daily_quantile,
    daily_top,
)
from mv.controls.effects import DAYS_A_MONTH
from mv.controls.evidence import FLOOR_STEP
from mv.controls.monthly import Row, month_name, monthly_table
from mv.controls.plateau import lower_plateau, upper_plateau
from mv.controls.shared_signs import LAMPS_OR_TRIM, added_sign, fell
from mv.controls.steps import Level, levels
from mv.controls.tolerances import LOW, METER_CLASS, TRIM, standby_tolerance
from mv.controls.verdicts import (
    EPOCH,
    Scale,
    cannot_tell,
    day_date,
    numeric_finding,
    quantile_factor,
)
from mv.controls.zone_table import ZoneRecord, ZoneTable

NIGHT_SUN_DEG = -8.0  # below which any dusk-to-dawn light is on; common practice, no source
DAY_SUN_DEG = 8.0  # above which any dusk-to-dawn light is off; common practice, no source
ALWAYS = 0.9  # share of night lit and of day dark that makes a load unmistakably dusk-to-dawn; no source
DAY_SHARE_STEP = 0.25  # of the day burnt: a change that counts; common practice, no source
PART_SHARE = 0.10  # of the night at a second level for a part-night dim; common practice, no source
SWITCH_STEP_DEG = 1.5  # change of switching elevation that counts; common practice, no source


@dataclass(frozen=True)
class _Nights:
    """Daily statistics of an outdoor zone."""

    full: Daily
    part: Daily
    by_day: Daily
    dark_off: Daily
    floor: Daily
    on_deg: Daily
    off_deg: Daily


def is_outdoor(zone: Zone, table: ZoneTable) -> bool:
    """Said in the study, or unmistakable: lit all night, dark all day, in most months."""
    if zone.place is not None:
        return zone.place == "outdoor"
    good = np.isfinite(table.level)
    top = upper_plateau(table.level[good & (table.sun < NIGHT_SUN_DEG)], least_share=0.2)
    if top is None or top.level <= 0:
        return False
    votes = []
    for month in np.unique(table.month):
        rows = good & (table.month == month)
        night, day = rows & (table.sun < NIGHT_SUN_DEG), rows & (table.sun > DAY_SUN_DEG)
        if night.sum() < 24 or day.sum() < 24:
            continue
        lit, dark = table.level > 0.25 * top.level, table.level <= 0.05 * top.level
        votes.append(lit[night].mean() >= ALWAYS and dark[day].mean() >= ALWAYS)
    return len(votes) > 0 and float(np.mean(votes)) >= 0.5


def outdoor_settings(
    zone: Zone, record: ZoneRecord, agreed: Mapping[str, float | bool], *, confidence: float
) -> ZoneSettings:
    """Findings, signs and months of an outdoor zone."""
    nights = _nights(record.table)
    findings = tuple(
        _finding(zone, record, nights, name, value, confidence) for name, value in agreed.items()
    )
    rows = _month_rows(zone, record, nights, confidence)
    signs = _signs(zone, record, nights, confidence)
    return ZoneSettings(zone.id, findings, monthly_table(rows), signs, None, record.remarks)


def _nights(table: ZoneTable) -> _Nights:
    good = np.isfinite(table.level)
    dark, day = good & (table.sun < NIGHT_SUN_DEG), good & (table.sun > DAY_SUN_DEG)
    if not dark.any():
        dark = good & (table.sun < np.quantile(table.sun, 0.1))
    full = daily_top(table.day[dark], table.level[dark], least=3)
    top = float(np.median(full.value)) if len(full) else 0.0
    lit = (table.level > 0.4 * top).astype(np.float64)
    resting = day & (lit < 0.5)
    floor = daily_quantile(table.day[resting], table.level[resting], 0.3, least=3)
    on_deg, off_deg = _switching(table, _lit_share(table, full, floor))
    return _Nights(
        full=full,
        part=_part_night(table, dark),
        by_day=daily_mean(table.day[day], lit[day], least=3),
        dark_off=daily_mean(
            table.day[dark], 1.0 - (table.level[dark] > 0.1 * top).astype(np.float64), least=3
        ),
        floor=floor,
        on_deg=on_deg,
        off_deg=off_deg,
    )


def _part_night(table: ZoneTable, dark: BoolArray) -> Daily:
    """Level of the second plateau of the night, on days that show one."""
    high = upper_plateau(table.level[dark], least_share=PART_SHARE)
    low = lower_plateau(table.level[dark], least_share=PART_SHARE)
    if high is None or low is None or high.level - low.level < 0.06:
        return NO_DAYS
    near = dark & (np.abs(table.level - low.level) <= 0.03)
    return daily_quantile(table.day[near], table.level[near], 0.5, least=3)


def _lit_share(table: ZoneTable, full: Daily, floor: Daily) -> FloatArray | None:
    """How far each reading has come from the day's floor to the night's full level."""
    if not len(full):
        return None
    top = full.value[np.clip(np.searchsorted(full.day, table.day), 0, len(full) - 1)]
    low = np.zeros(len(table))
    if len(floor):
        low = floor.value[np.clip(np.searchsorted(floor.day, table.day), 0, len(floor) - 1)]
    return np.asarray(np.clip((table.level - low) / np.maximum(top - low, 0.05), 0.0, 1.0))


def _switching(table: ZoneTable, share: FloatArray | None) -> tuple[Daily, Daily]:
    """Sun elevation at which the load rises at dusk and falls at dawn, a day.

    The moment follows from the area: lit minutes between midday and full dark.
    """
    if share is None:
        return NO_DAYS, NO_DAYS
    rising = np.gradient(table.sun) > 0 if len(table) > 2 else np.zeros(len(table), dtype=bool)
    window = (table.sun > -10.0) & (table.sun < DAY_SUN_DEG)
    found: list[list[tuple[int, float]]] = [[], []]
    change = np.flatnonzero(np.diff(window.astype(np.int8)) != 0) + 1
    bounds = [0, *change.tolist(), len(table)]
    for a, b in itertools.pairwise(bounds):
        if not window[a] or b - a < 3 or not np.isfinite(share[a:b]).all():
            continue
        dusk = not rising[(a + b) // 2]
        sun, lit = table.sun[a:b], share[a:b]
        if abs(sun[-1] - sun[0]) < 6.0 or (lit[-1] if dusk else lit[0]) < 0.2:
            continue
        if (lit[0] if dusk else lit[-1]) > 0.2:
            continue
        full = lit[-1] if dusk else lit[0]
        minutes = float((lit / full).sum())
        at = b - a - minutes - 0.5 if dusk else minutes - 0.5
        found[0 if dusk else 1].append(
            (int(table.day[(a + b) // 2]), float(np.interp(at, np.arange(b - a), sun)))
        )
    return _as_daily(found[0]), _as_daily(found[1])


def _as_daily(pairs: list[tuple[int, float]]) -> Daily:
    if not pairs:
        return NO_DAYS
    return daily_mean(
        np.array([day for day, _ in pairs], dtype=np.int64), np.array([value for _, value in pairs])
    )


def _finding(
    zone: Zone,
    record: ZoneRecord,
    nights: _Nights,
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
    found = restated(levels(days, least_step=tolerance.step), _common(nights), tolerance.step)
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
    zone: Zone, record: ZoneRecord, nights: _Nights, agreed: bool, confidence: float
) -> SettingFinding:
    """For an outdoor zone daylight control means: off while the sun is up."""
    sign = _burning_by_day(zone, record, nights, confidence)
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


def _burning_by_day(
    zone: Zone, record: ZoneRecord, nights: _Nights, confidence: float
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


def _off_by_night(zone: Zone, nights: _Nights, agreed: bool, confidence: float) -> SettingFinding:
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
    zone: Zone, record: ZoneRecord, nights: _Nights, agreed: float, confidence: float
) -> SettingFinding:
    if not zone.fixtures or not len(nights.floor):
        return cannot_tell(zone.id, "standby_watts", agreed, "the lamps were never seen off")
    watts = 1000.0 * record.full_kw / zone.fixtures
    tolerance = standby_tolerance(agreed, record.step_level * watts)
    found = [
        replace(level, value=level.value * watts, noise=level.noise * watts)
        for level in restated(
            levels(nights.floor, least_step=tolerance.step / watts), _common(nights), tolerance.step / watts
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


def _common(nights: _Nights) -> list[CommonChange]:
    """Loads added to the circuit: the night's level and the day's floor move alike."""
    full, floor = levels(nights.full, least_step=TRIM.step), levels(nights.floor, least_step=FLOOR_STEP)
    return common_changes(full, [], floor, 0.0)


def _signs(zone: Zone, record: ZoneRecord, nights: _Nights, confidence: float) -> tuple[SettingFinding, ...]:
    signs = []
    burning = _burning_by_day(zone, record, nights, confidence)
    if burning is not None and burning.verdict == "moved":
        signs.append(burning)
    signs += [added_sign(zone.id, record, change, confidence) for change in _common(nights)]
    fallen = numeric_finding(
        zone.id,
        "lamps_failed",
        agreed=None,
        levels=restated(levels(nights.full, least_step=TRIM.step), _common(nights), TRIM.step),
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


def _month_rows(zone: Zone, record: ZoneRecord, nights: _Nights, confidence: float) -> list[Row]:
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
            rows.append((month_name(int(month)), name, *_middle(value, confidence), None))
    return rows


def _middle(value: FloatArray, confidence: float) -> tuple[float, float, float]:
    middle = float(np.median(value))
    spread = 1.4826 * float(np.median(np.abs(value - middle)))
    half = 1.2533 * spread / np.sqrt(len(value)) * quantile_factor(confidence, len(value))
    return middle, middle - half, middle + half
