"""The two bridges of a study: from promise to proof, and from the old lighting to the new."""

from collections.abc import Sequence
from math import hypot

import pandas as pd

from mv.base.clock import period_bounds
from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.setting_records import ZoneSettings
from mv.base.study_records import Study, Zone
from mv.bridge import (
    Bridge,
    InstalledZone,
    MeterEvidence,
    VerifiedMeter,
    ZoneEvidence,
    baseline_to_reporting,
    predicted_to_verified,
)
from mv.drivers import interval_conditions, opening_hours_known
from mv.intake import Intake
from mv.predicted import Prediction
from mv.verifying.meter_savings import MeterSavings
from mv.verifying.populations import loggers_total, with_lights_not_logged
from mv.verifying.shared_zones import zones_of_several_meters


def promise_to_proof(
    study: Study, prediction: Prediction, verified: Answer, meters: Sequence[MeterSavings], measures: Bridge
) -> Bridge:
    """From the predicted to the verified annual kWh; `measures` is the bridge of `old_to_new`.

    Meters that feed one zone together count as one: the inventory does not split it.
    """
    shared = zones_of_several_meters(study)
    alone = [_verified(item, measures) for item in meters if not _names(item) & shared]
    together = [item for item in meters if _names(item) & shared]
    return predicted_to_verified(
        predicted_kwh=prediction.annual_kwh,
        verified_kwh=verified,
        rows=[entry.row for entry in prediction.rows],
        meters=[*alone, *([_verified_together(together, measures)] if together else [])],
    )


def old_to_new(
    study: Study,
    intake: Intake,
    avoided: Answer,
    meters: Sequence[MeterSavings],
    settings: Sequence[ZoneSettings],
) -> Bridge:
    """What each measure saved over the reporting period."""
    by_zone = {entry.zone: entry for entry in settings}
    logged = loggers_total(study, meters, avoided)
    bridge = baseline_to_reporting(
        [_evidence(study, intake, item, by_zone) for item in meters],
        avoided_kwh=logged,
        timezone=study.site.timezone,
        confidence=study.study.confidence,
    )
    return with_lights_not_logged(bridge, logged, avoided)


def _names(item: MeterSavings) -> set[str]:
    """Every zone that the meter feeds, those without a table of their own too."""
    return {zone.id for zone in item.zones} | set(item.meter.zones)


def _verified_together(items: Sequence[MeterSavings], measures: Bridge) -> VerifiedMeter:
    """Meters with zones in common as one, their uses summed; what each measure saved is not split."""
    parts = [_verified(item, measures) for item in items]
    kinds = {part.measures for part in parts}
    return VerifiedMeter(
        meter=" + ".join(part.meter for part in parts),
        zones=tuple(dict.fromkeys(zone for part in parts for zone in part.zones)),
        before_kwh=_sum_of([part.before_kwh for part in parts]),
        after_kwh=_sum_of([part.after_kwh for part in parts]),
        measures=kinds.pop() if len(kinds) == 1 else "whole building",
    )


def _sum_of(answers: Sequence[Answer]) -> Answer:
    told = [answer for answer in answers if isinstance(answer, Estimate)]
    if len(told) < len(answers):
        return next(answer for answer in answers if isinstance(answer, CannotSay))
    value = sum(float(answer.estimate) for answer in told)
    below = hypot(*(float(answer.estimate) - (answer.low or 0.0) for answer in told))
    above = hypot(*((answer.high or 0.0) - float(answer.estimate) for answer in told))
    return Estimate(value, value - below, value + above, told[0].confidence)


def _verified(item: MeterSavings, measures: Bridge) -> VerifiedMeter:
    """The meter's typical year; the measures are carried from the reporting period in proportion to use."""
    silent = item.normalised if isinstance(item.normalised, CannotSay) else None
    described = {zone.id: (zone.connected_kw_before, zone.connected_kw_after) for zone in item.zones}
    told: dict[str, Answer] = {}
    if not isinstance(item.normalised, CannotSay) and not isinstance(item.avoided, CannotSay):
        metered, year = item.avoided.actual_kwh, float(item.normalised.reporting_annual.estimate)
        if metered > 0 and year > 0:
            told = measures.of_meter(item.meter.id, factor=year / metered)
    return VerifiedMeter(
        meter=item.meter.id,
        zones=tuple(InstalledZone(name, *described.get(name, (None, None))) for name in sorted(_names(item))),
        before_kwh=silent or item.normalised.baseline_annual,  # type: ignore[union-attr]
        after_kwh=silent or item.normalised.reporting_annual,  # type: ignore[union-attr]
        measures=item.meter.measures,
        measures_kwh=told,
    )


def _evidence(
    study: Study, intake: Intake, item: MeterSavings, settings: dict[str, ZoneSettings]
) -> MeterEvidence:
    assert study.periods is not None
    timezone = study.site.timezone
    power = item.series.power_kw
    before, after = (
        _between(power, *period_bounds(span.first, span.last, timezone))
        for span in (study.periods.baseline, study.periods.reporting)
    )
    sun = interval_conditions(pd.DatetimeIndex(after.index), study)["sun_elevation_deg"]
    actual = 0.0 if isinstance(item.avoided, CannotSay) else item.avoided.actual_kwh
    return MeterEvidence(
        meter=item.meter.id,
        avoided_kwh=item.total,
        actual_kwh=actual,
        power_kw=after,
        interval_minutes=item.series.interval_minutes,
        zones=tuple(_zone(study, intake, zone, item, after, settings) for zone in item.zones),
        baseline_power_kw=before,
        sun_elevation_deg=sun,
        measures=item.meter.measures,
    )


def _zone(
    study: Study,
    intake: Intake,
    zone: Zone,
    item: MeterSavings,
    power: pd.Series,
    settings: dict[str, ZoneSettings],
) -> ZoneEvidence:
    is_open = None
    shared = zone.id in zones_of_several_meters(study)  # no file says how its lamps are split
    if opening_hours_known(study, zone):
        is_open = interval_conditions(pd.DatetimeIndex(power.index), study, zone)["is_open"]
    return ZoneEvidence(
        zone=zone.id,
        connected_kw_before=None if shared else zone.connected_kw_before,
        connected_kw_after=None if shared else zone.connected_kw_after,
        fixtures=None if shared else zone.fixtures,
        outdoor=item.kind == "outdoor",
        is_open=is_open,
        motion=intake.motion.get(zone.id),
        settings=settings.get(zone.id),
    )


def _between(series: pd.Series, start: pd.Timestamp, end: pd.Timestamp) -> pd.Series:
    return series[(series.index >= start) & (series.index < end)]
