"""How near the bridge's steps come to the truth, on many simulated sites.

    python tests/benchmarks/bench_bridge.py [--sites 100] [--first-seed 1000]

Truth: the simulator with the measures switched on one after the other in the stated order. The
avoided energy handed in is the true one with a normal error of 2.5 % of the old lighting's use,
and the interval that goes with it, so that the bridge alone is judged. A step counts as right
where it is within 10 % of its true size or its 90 % interval holds it; one that cannot be told is
counted as untold. `lenient` also takes steps that are off by less than 0.5 % of the old lighting's use.
"""

import argparse
import time
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from promised_rows import promised_row

from mv.base.estimate import CannotSay, Estimate
from mv.base.opening_hours import Hours
from mv.base.study_records import Commissioned, Occupancy, Site, Span, Study, Zone
from mv.bridge import (
    Bridge,
    InstalledZone,
    MeterEvidence,
    VerifiedMeter,
    ZoneEvidence,
    baseline_to_reporting,
    predicted_to_verified,
)
from mv.bridge.promise_meter import row_saving_kwh
from mv.controls import infer_settings
from mv.drivers import interval_conditions
from mv.simulate import (
    MeterDesign,
    SimulatedSite,
    bridge_steps,
    meter_series,
    motion_log,
    random_changes,
    random_site,
    simulate_site,
)

INTERVALS = (1, 5, 15, 15, 60)
ERROR_OF_OLD_USE = 0.025
SMALL = 0.005
ROUNDING_KWH = 0.01  # bridges stand on a grid of 1/1024 kWh
LOGGED_SHARE = 0.75  # of the zones with sensors; the others have no motion log
TRUE_NAMES = {"lamp and fixture change": "lamp change", "unexplained": "other changes"}


@dataclass(frozen=True)
class Scored:
    """One step of one meter or site."""

    level: str
    step: str
    minutes: int
    told: bool
    within_tenth: bool
    held: bool
    small: bool
    width: float

    @property
    def right(self) -> bool:
        return self.within_tenth or self.held


def study_of(site: SimulatedSite, minutes: int) -> Study:
    design = site.design
    zones = [
        Zone(
            id=z.id,
            fixtures=z.fixtures,
            watts_before=z.watts_before,
            watts_after=z.watts_after,
            place="outdoor" if z.outdoor else "indoor",
            meter=z.id,
            hours=None if z.hours is None else Hours.model_validate(dict(z.hours)),
            commissioned=_agreed(z),
        )
        for z in design.zones
    ]
    return Study(
        format=1,
        site=Site(latitude=design.latitude, longitude=design.longitude, timezone=design.timezone),
        meter=[{"id": z.id, "files": ["x"]} for z in design.zones],
        occupancy=Occupancy(hours=Hours.model_validate(dict(design.hours)), holidays=design.holidays),
        zone=zones,
    )


def _agreed(zone) -> Commissioned:
    agreed = zone.commissioned
    if zone.outdoor or not agreed.occupancy_sensing:
        return Commissioned(high_trim=agreed.high_trim, standby_watts=agreed.standby_watts)
    return Commissioned(
        high_trim=agreed.high_trim,
        low_level=agreed.low_level,
        hold_minutes=agreed.hold_minutes,
        daylight_dimming=agreed.daylight_dimming,
        scheduled_off=agreed.scheduled_off,
        standby_watts=agreed.standby_watts,
    )


def evidence(
    site: SimulatedSite, zone_id: str, minutes: int, rng: np.random.Generator, *, logged: bool
) -> MeterEvidence:
    """One zone's meter as it would be handed over, with the avoided energy drawn."""
    zone = site.zone(zone_id)
    study = study_of(site, minutes)
    record = next(z for z in study.zone if z.id == zone_id)
    series = meter_series(site, MeterDesign(zone_id, (zone_id,), minutes, resolution=0.001))
    first, last = _bounds(site, site.reporting)
    power = series.power_kw
    reporting = power[(power.index >= first) & (power.index < last)]
    before_first, before_last = _bounds(site, site.baseline)
    before = power[(power.index >= before_first) & (power.index < before_last)]
    sensed = zone.design.commissioned.occupancy_sensing and not zone.design.outdoor
    motion = motion_log(site, zone_id) if sensed and logged else None
    conditions = interval_conditions(pd.DatetimeIndex(power.index), study, record)
    settings = infer_settings(
        record,
        series,
        motion,
        conditions,
        reporting=Span(first=site.design.reporting[0], last=site.design.reporting[1]),
        timezone=site.design.timezone,
        confidence=0.90,
    )
    inside = conditions.loc[reporting.index]
    old = float(zone.baseline_kw[site.reporting].sum() / 60.0)
    error = ERROR_OF_OLD_USE * old
    actual = float(reporting.sum()) * minutes / 60.0
    avoided = site.avoided_kwh_by_zone[zone_id] + error * rng.standard_normal()
    return MeterEvidence(
        meter=zone_id,
        avoided_kwh=Estimate(avoided, avoided - 1.645 * error, avoided + 1.645 * error, 0.90),
        actual_kwh=actual,
        power_kw=reporting,
        interval_minutes=float(minutes),
        zones=(
            ZoneEvidence(
                zone_id,
                connected_kw_before=record.connected_kw_before,
                connected_kw_after=record.connected_kw_after,
                fixtures=record.fixtures,
                outdoor=zone.design.outdoor,
                is_open=inside["is_open"],
                motion=motion,
                settings=settings,
            ),
        ),
        baseline_power_kw=before,
        sun_elevation_deg=inside["sun_elevation_deg"],
    )


def _bounds(site: SimulatedSite, span: slice) -> tuple[pd.Timestamp, pd.Timestamp]:
    start = site.clock.start
    return start + pd.Timedelta(minutes=span.start), start + pd.Timedelta(minutes=span.stop)


def scored(bridge: Bridge, truth: dict[str, float], old_kwh: float, level: str, minutes: int) -> list[Scored]:
    rows = []
    truth = truth if level == "promise" else with_rest(bridge, truth)
    for step in bridge.steps:
        true = truth[TRUE_NAMES.get(step.step, step.step)]
        answer = step.kwh
        if isinstance(answer, CannotSay):
            rows.append(Scored(level, step.step, minutes, False, False, False, False, np.nan))
            continue
        off = abs(answer.estimate - true)
        rows.append(
            Scored(
                level,
                step.step,
                minutes,
                True,
                off <= 0.10 * abs(true),
                answer.low - ROUNDING_KWH <= true <= answer.high + ROUNDING_KWH,
                off <= SMALL * old_kwh,
                (answer.high - answer.low) / 2.0 / old_kwh,
            )
        )
    return rows


def with_rest(bridge: Bridge, truth: dict[str, float]) -> dict[str, float]:
    """The truth with what the bridge cannot tell counted to the unexplained rest."""
    untold = [s.step for s in bridge.steps if isinstance(s.kwh, CannotSay)]
    rest = truth["other changes"] + sum(truth[TRUE_NAMES.get(name, name)] for name in untold)
    return truth | {"other changes": rest}


def promise_scored(
    site: SimulatedSite, meters: list[MeterEvidence], minutes: int, rng: np.random.Generator
) -> list[Scored]:
    """The bridge from a promise with errors in counts, hours and control fractions.

    True steps: the same bridge with the true use of the old lighting and no doubt in it.
    """
    rows = [
        replace(promised_row(zone, rng), hvac_energy_factor=float(rng.choice([1.0, 1.1])))
        for zone in site.design.zones
    ]
    predicted = sum(sum(row_saving_kwh(row)) for row in rows)
    drawn, exact = [], []
    for meter in meters:
        zone = site.design.zone(meter.meter)
        installed = (InstalledZone(zone.id, zone.connected_kw_before, zone.connected_kw_after),)
        after = Estimate(meter.actual_kwh, meter.actual_kwh, meter.actual_kwh, 0.90)
        found = meter.avoided_kwh
        before = Estimate(
            found.estimate + meter.actual_kwh,
            found.low + meter.actual_kwh,
            found.high + meter.actual_kwh,
            0.90,
        )
        true = float(site.zone(zone.id).baseline_kw[site.reporting].sum() / 60.0)
        true_before = Estimate(true, true, true, 0.90)
        drawn.append(VerifiedMeter(zone.id, installed, before, after))
        exact.append(VerifiedMeter(zone.id, installed, true_before, after))
    half = float(np.hypot.reduce([m.avoided_kwh.high - m.avoided_kwh.estimate for m in meters]))
    total = sum(m.avoided_kwh.estimate for m in meters)
    verified = Estimate(total, total - half, total + half, 0.90)
    true_total = sum(m.before_kwh.estimate - m.after_kwh.estimate for m in exact)
    bridge, truth = (
        predicted_to_verified(predicted_kwh=predicted, verified_kwh=answer, rows=rows, meters=metered)
        for answer, metered in (
            (verified, drawn),
            (Estimate(true_total, true_total, true_total, 0.90), exact),
        )
    )
    _assert_closed(bridge)
    old = sum(m.before_kwh.estimate for m in exact)
    true_steps = {
        step.step: 0.0 if isinstance(step.kwh, CannotSay) else float(step.kwh.estimate)
        for step in truth.steps
    }
    true_steps["other changes"] = true_steps.pop("unexplained")
    return scored(bridge, true_steps, old, "promise", minutes)


def _assert_closed(bridge: Bridge) -> None:
    told = sum(step.kwh.estimate for step in bridge.steps if isinstance(step.kwh, Estimate))
    assert told == bridge.total.estimate, (told, bridge.total)


def judge_site(seed: int, *, verbose: bool = False) -> list[Scored]:
    rng = np.random.default_rng(seed)
    minutes = int(INTERVALS[seed % len(INTERVALS)])
    design = random_site(seed, zones=int(rng.integers(1, 4)), interval_minutes=minutes)
    if seed % 2:
        design = design.with_changes(*random_changes(design, seed))
    site = simulate_site(design, seed)
    truth = bridge_steps(site)
    rows: list[Scored] = []
    meters = []
    for zone in design.zones:
        logged = bool(rng.random() < LOGGED_SHARE)
        meter = evidence(site, zone.id, minutes, rng, logged=logged)
        meters.append(meter)
        bridge = baseline_to_reporting([meter], avoided_kwh=meter.avoided_kwh, timezone=design.timezone)
        _assert_closed(bridge)
        old = meter.avoided_kwh.estimate + meter.actual_kwh
        rows += scored(bridge, truth[zone.id], old, "zone", minutes)
        if verbose:
            _show(seed, zone, minutes, bridge, truth[zone.id], old, design)
    total = sum(meter.avoided_kwh.estimate for meter in meters)
    half = float(np.hypot.reduce([m.avoided_kwh.high - m.avoided_kwh.estimate for m in meters]))
    whole = baseline_to_reporting(
        meters,
        avoided_kwh=Estimate(total, total - half, total + half, 0.90),
        timezone=design.timezone,
    )
    names = list(next(iter(truth.values())))
    sums = {name: sum(zone[name] for zone in truth.values()) for name in names}
    old = total + sum(meter.actual_kwh for meter in meters)
    _assert_closed(whole)
    rows += scored(whole, sums, old, "site", minutes)
    return rows + promise_scored(site, meters, minutes, rng)


def _show(seed, zone, minutes, bridge, truth, old, design) -> None:
    truth = with_rest(bridge, truth)
    changes = [(c.day.isoformat(), c.setting) for c in design.changes if c.zone == zone.id]
    print(f"-- seed {seed} {zone.id} {minutes} min, old use {old:,.0f} kWh {changes}", flush=True)
    for step in bridge.steps:
        true = truth[TRUE_NAMES.get(step.step, step.step)]
        if isinstance(step.kwh, CannotSay):
            print(f"   {step.step:24s} {true:10,.0f}  cannot tell: {step.kwh.why[:90]}")
            continue
        k = step.kwh
        right = abs(k.estimate - true) <= 0.1 * abs(true) or k.low <= true <= k.high
        mark = "" if right else "  <<<"
        print(f"   {step.step:24s} {true:10,.0f} {k.estimate:10,.0f} [{k.low:,.0f}, {k.high:,.0f}]{mark}")


def table(rows: list[Scored]) -> pd.DataFrame:
    frame = pd.DataFrame(
        [
            {
                "level": r.level,
                "step": r.step,
                "told": r.told,
                "right": r.right if r.told else np.nan,
                "within 10 %": r.within_tenth if r.told else np.nan,
                "held": r.held if r.told else np.nan,
                "lenient": (r.right or r.small) if r.told else np.nan,
                "half width / old use": r.width,
            }
            for r in rows
        ]
    )
    order = list(dict.fromkeys(frame["step"]))
    grouped = frame.astype({"right": float, "within 10 %": float, "held": float, "lenient": float}).groupby(
        ["level", "step"]
    )
    out = grouped.agg(
        {
            "told": "mean",
            "right": "mean",
            "within 10 %": "mean",
            "held": "mean",
            "lenient": "mean",
            "half width / old use": "median",
        }
    )
    out.insert(0, "cases", grouped.size())
    wanted = [(level, step) for level in ("zone", "site", "promise") for step in order]
    return out.reindex([pair for pair in wanted if pair in out.index])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=100)
    parser.add_argument("--first-seed", type=int, default=1000)
    parser.add_argument("--seeds", type=int, nargs="*", help="only these")
    parser.add_argument("--verbose", action="store_true")
    options = parser.parse_args()
    started = time.perf_counter()
    rows: list[Scored] = []
    for seed in options.seeds or range(options.first_seed, options.first_seed + options.sites):
        rows += judge_site(seed, verbose=options.verbose)
    seconds = time.perf_counter() - started
    print(f"{options.sites} sites from seed {options.first_seed}, {seconds:.0f} s")
    with pd.option_context("display.width", 120, "display.max_columns", None):
        print(table(rows).round(3).to_string())


if __name__ == "__main__":
    main()
