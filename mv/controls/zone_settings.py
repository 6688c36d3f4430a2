"""A zone's settings from its meter: what each is now, since when, and what each month showed."""

from functools import partial

import numpy as np
import pandas as pd

from mv.base.series import MeterSeries, MotionLog
from mv.base.setting_records import ZoneSettings
from mv.base.study_records import Span, Zone
from mv.controls.daylight import month_answer
from mv.controls.evidence import ZoneEvidence, gathered
from mv.controls.log_by_month import told_by_month
from mv.controls.month_extras import extra_rows
from mv.controls.month_rows import month_rows
from mv.controls.monthly import Row, monthly_table
from mv.controls.observed import nothing_observed, observed_settings
from mv.controls.outdoor import outdoor_settings
from mv.controls.outdoor_nights import is_outdoor
from mv.controls.setting_rules import RULES
from mv.controls.signs import further_signs
from mv.controls.verdicts import cannot_tell
from mv.controls.zone_table import COARSE_STEP, zone_record

_NO_DATA = "there are hardly any usable readings in the reporting period"
SETTINGS = (
    "high_trim",
    "low_level",
    "hold_minutes",
    "daylight_dimming",
    "scheduled_off",
    "standby_watts",
)


def infer_settings(
    zone: Zone,
    meter: MeterSeries,
    motion: MotionLog | None,
    conditions: pd.DataFrame,
    *,
    reporting: Span,
    timezone: str,
    confidence: float,
    shares_meter: bool = False,
    measures: str = "lighting",
) -> ZoneSettings:
    """Findings for every setting agreed in the zone, its further signs, and the monthly table.

    `conditions` is indexed like the meter's energy, with columns sun_elevation_deg, is_open,
    is_holiday, local_day and local_hour. `shares_meter`: the meter feeds other zones too.
    `measures`: what the meter measures; settings are only read from lighting alone.
    """
    agreed = _agreed(zone)
    reason = _hindrance(meter, shares_meter=shares_meter, measures=measures)
    if reason is None:
        read = partial(
            zone_record,
            meter,
            motion,
            conditions,
            reporting=reporting,
            timezone=timezone,
            connected_kw=zone.connected_kw_after,
        )
        record = read(as_read=True)
        reason = None if np.isfinite(record.table.level).sum() >= 48 else _NO_DATA
    if reason is not None:
        findings = tuple(cannot_tell(zone.id, name, value, reason) for name, value in agreed.items())
        nothing = nothing_observed(zone.id, reason, outdoor=zone.place == "outdoor")
        return ZoneSettings(zone.id, findings, monthly_table([]), observed=nothing)
    if is_outdoor(zone, record.table):
        return outdoor_settings(zone, record, agreed, confidence=confidence)
    record = told_by_month(record if record.step_level <= COARSE_STEP else read())
    evidence = gathered(zone, record, confidence=confidence)
    findings = tuple(RULES[name](evidence, value) for name, value in agreed.items())
    signs = further_signs(evidence, findings)
    monthly = monthly_table(_rows(evidence))
    return ZoneSettings(
        zone.id,
        findings,
        monthly,
        signs,
        evidence.lag_minutes,
        record.remarks,
        observed_settings(zone.id, monthly, outdoor=False, confidence=confidence),
    )


def _agreed(zone: Zone) -> dict[str, float | bool]:
    """The settings agreed at hand-over, in the study's order."""
    known = zone.commissioned.model_dump()
    return {name: known[name] for name in SETTINGS if known[name] is not None}


def _hindrance(meter: MeterSeries, *, shares_meter: bool, measures: str) -> str | None:
    """Why no setting can be read from this meter at all; None where some may."""
    if measures != "lighting":
        return "the meter measures the whole building: other loads hide the lamps' levels"
    if shares_meter:
        return "the meter feeds several zones, whose levels cannot be told apart"
    if meter.energy_kwh.empty or not meter.energy_kwh.notna().any():
        return "the meter has no usable readings"
    return None


def _rows(evidence: ZoneEvidence) -> list[Row]:
    rows: list[Row] = []
    dimmed = False
    for view in evidence.views:
        rows += month_rows(
            evidence.zone,
            evidence.record,
            view,
            dimmed_before=dimmed,
            confidence=evidence.confidence,
        )
        dimmed = dimmed or month_answer(view) is True
        rows += extra_rows(evidence, view, dims=dimmed)
    return rows
