"""Both bridges and the peak reduction of whole studies, against the truth of their simulated sites.

    python tests/benchmarks/bench_promise.py [--sites 100] [--first-seed 5000] [--out FILE.csv]

Unlike bench_bridge.py nothing is handed in: baseline models, settings, bridges and peak window are
the product's own, from meter and motion records to the lists that result.json carries. Sites are of
one to three zones; every fifth is metered as a whole building, every fourth puts all zones on one
meter; metering at 5, 15, 15 or 60 minutes; half of the sites with sensors lack some motion log; half
have a change after hand-over. Peak windows: summer afternoons, winter evenings, three hottest days in
a row, a single hour. A step counts as right by the strict rule: within 10 % of its true size, or held
by its 90 % interval; where it cannot be told it is counted as untold.
"""

import argparse
import time
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
import pandas as pd
from promised_rows import promised_row

from mv.base.estimate import CannotSay, Estimate
from mv.base.programme_records import Peak
from mv.base.study_records import Study
from mv.bridge import Bridge
from mv.intake import Intake
from mv.predicted import Inventory
from mv.simulate import (
    MeterDesign,
    SimulatedSite,
    bridge_steps,
    meter_series,
    motion_log,
    occupancy_series,
    random_changes,
    random_site,
    simulate_site,
    weather_series,
)
from mv.verify import find_in
from mv.verifying.findings import Findings

INTERVALS = (5, 15, 15, 60)
GAIN_ERROR = 0.005  # standard error of a meter's gain, as the simulator's own plain meters have
TRUE_NAMES = {"lamp and fixture change": "lamp change", "unexplained": "other changes"}


@dataclass(frozen=True)
class Case:
    """A simulated site as a study, with the peak window asked of it."""

    seed: int
    site: SimulatedSite
    study: Study
    intake: Intake
    kind: str


def case_of(seed: int) -> Case:
    rng = np.random.default_rng(seed)
    whole, together = seed % 5 == 4, seed % 4 == 3
    minutes = INTERVALS[seed % len(INTERVALS)]
    design = random_site(seed, zones=int(rng.integers(1, 4)), interval_minutes=minutes, whole_building=whole)
    if seed % 2:
        design = design.with_changes(*random_changes(design, seed))
    site = simulate_site(design, seed)
    meters = _meters(site, rng, minutes, whole=whole, together=together)
    logged = [
        zone.id
        for zone in design.zones
        if zone.commissioned.occupancy_sensing and not zone.outdoor and (seed % 2 == 0 or rng.random() < 0.5)
    ]
    peak = _peak(seed, design.reporting[0])
    study = _study(site, meters, logged, peak, whole=whole)
    intake = Intake(
        meters={meter.id: meter_series(site, meter) for meter in meters},
        motion={zone: motion_log(site, zone) for zone in logged},
        occupancy=occupancy_series(site) if rng.random() < 0.5 else None,
        weather=weather_series(site) if whole or peak.rule == "hottest days" else None,
        inventory=Inventory("inventory.csv", tuple(promised_row(zone, rng) for zone in design.zones)),
        inputs=(),
    )
    layout = "whole building" if whole else "zones on one meter" if together else "a meter a zone"
    return Case(seed, site, study, intake, layout)


def _meters(
    site: SimulatedSite, rng: np.random.Generator, minutes: int, *, whole: bool, together: bool
) -> list[MeterDesign]:
    names = tuple(zone.id for zone in site.design.zones)
    gains = 1.0 + GAIN_ERROR * rng.standard_normal(len(names))
    if whole or together:
        return [MeterDesign("main", names, minutes, resolution=0.01, gain=gains[0], whole_building=whole)]
    return [
        MeterDesign(f"M-{name}", (name,), minutes, resolution=0.001, gain=gain)
        for name, gain in zip(names, gains, strict=True)
    ]


def _peak(seed: int, first: datetime) -> Peak:
    hour = datetime(first.year, 7, 10, 15) + timedelta(days=seed % 60)
    while hour.weekday() >= 5:
        hour += timedelta(days=1)
    return (
        Peak(months=(6, 7, 8), hours=(14, 18)),
        Peak(months=(12, 1), hours=(17, 19)),
        Peak(months=(6, 7, 8, 9), hours=(16, 21), rule="hottest days", days=3, consecutive=True),
        Peak(months=(6, 7, 8), hours=(15, 16), rule="single hour", at=(hour,)),
        Peak(months=(1, 2), hours=(7, 9), also_hours=((18, 20),)),
    )[seed % 5 if seed % 7 else 0]


def _study(
    site: SimulatedSite, meters: list[MeterDesign], logged: list[str], peak: Peak, *, whole: bool
) -> Study:
    design = site.design
    return Study.model_validate(
        {
            "format": 1,
            "site": {
                "latitude": design.latitude, "longitude": design.longitude, "timezone": design.timezone,
            },
            "periods": {"baseline": list(design.baseline), "reporting": list(design.reporting)},
            "meter": [
                {
                    "id": meter.id, "files": [f"{meter.id}.csv"], "zones": list(meter.zones),
                    "measures": "whole building" if whole else "lighting",
                }
                for meter in meters
            ],
            "occupancy": {"hours": _hours(design.hours), "holidays": list(design.holidays)},
            "zone": [_zone(zone, logged) for zone in design.zones],
            "peak": peak.model_dump(),
        }
    )  # fmt: skip


def _zone(zone, logged: list[str]) -> dict[str, object]:
    agreed = zone.commissioned
    keys = ["high_trim", "standby_watts"]
    if not zone.outdoor and agreed.occupancy_sensing:
        keys += ["low_level", "hold_minutes", "daylight_dimming", "scheduled_off"]
    table = {
        "id": zone.id, "fixtures": zone.fixtures, "watts_before": zone.watts_before,
        "watts_after": zone.watts_after, "place": "outdoor" if zone.outdoor else "indoor",
        "motion": [f"{zone.id}.csv"] if zone.id in logged else [],
        "commissioned": {key: agreed.value(key) for key in keys},
    }  # fmt: skip
    return table if zone.hours is None else table | {"hours": _hours(zone.hours)}


def _hours(text: tuple[tuple[str, str], ...]) -> dict[str, list[str]]:
    table: dict[str, list[str]] = {}
    for days, window in text:
        table.setdefault(days, []).append(window)
    return table


def true_peak_kw(case: Case) -> float:
    """Mean kW saved in the window, minute by minute; the days of the hottest rule found afresh."""
    site, peak = case.site, case.study.peak
    assert peak is not None
    first = site.clock.start + pd.Timedelta(minutes=site.reporting.start)
    minutes = pd.date_range(first, periods=site.reporting.stop - site.reporting.start, freq="1min")
    local = minutes.tz_convert(site.design.timezone)
    saved = pd.Series((site.baseline_total_kw - site.actual_total_kw)[site.reporting], index=local)
    if peak.rule == "single hour":
        start = pd.Timestamp(next(iter(peak.at))).tz_localize(site.design.timezone)
        return float(saved[(local >= start) & (local < start + pd.Timedelta(hours=1))].mean())
    days = local.tz_localize(None).normalize()
    good = local.month.isin(peak.months) & (local.day_of_week < 5)
    good &= ~days.isin(pd.DatetimeIndex(list(site.design.holidays)))
    if peak.rule == "hottest days":
        air = pd.Series(site.sky.air_c[site.reporting], index=local)
        good &= days.isin(_hottest(air, days, good, peak.days))
    hour = local.hour
    inside = np.zeros(len(local), dtype=bool)
    for start, last in peak.windows:
        inside |= (hour >= start) & (hour < last)
    return float(saved[good & inside].mean())


def _hottest(air: pd.Series, days: pd.DatetimeIndex, good: np.ndarray, number: int) -> pd.DatetimeIndex:
    table = air.groupby(days).agg(["max", "mean"])
    hour = air.index.hour
    table["afternoon"] = air[(hour >= 12) & (hour < 18)].groupby(days[(hour >= 12) & (hour < 18)]).mean()
    able = sorted(set(days[good]))
    runs = [
        able[k : k + number]
        for k in range(len(able) - number + 1)
        if (able[k + number - 1] - able[k]).days == number - 1
    ]
    return pd.DatetimeIndex(
        max(
            runs,
            key=lambda run: (
                table.loc[run, "max"].max()
                + table.loc[run, "mean"].mean()
                + table.loc[run, "afternoon"].mean()
            ),
        )
    )


def judged(case: Case, *, verbose: bool = False) -> list[dict[str, object]]:
    found = find_in(case.study, case.intake)
    _assert_closed(found.promise)
    _assert_closed(found.measures)
    truth = bridge_steps(case.site)
    names = list(next(iter(truth.values())))
    sums = {name: sum(zone[name] for zone in truth.values()) for name in names}
    if case.study.meter[0].measures == "whole building":
        sums = _without_the_lighting_alone(case.site, sums)
    rows = _steps(case, found.measures, sums)
    rows.append(_peak_row(case, found))
    if verbose:
        for row in rows:
            print(
                f"{row['seed']} {row['layout']:18} {row['what']:26} {row['truth']:12,.2f} "
                f"{row['estimate']:12,.2f} [{row['low']:,.2f}, {row['high']:,.2f}]"
                f"{'' if row['right'] or not row['told'] else '  <<<'}",
                flush=True,
            )
    return rows


def _without_the_lighting_alone(site: SimulatedSite, sums: dict[str, float]) -> dict[str, float]:
    """A whole building saves cooling and pays heating too, which no lighting step holds."""
    total = float((site.baseline_total_kw - site.actual_total_kw)[site.reporting].sum() / 60.0)
    return sums | {"other changes": sums["other changes"] + total - sum(sums.values())}


def _steps(case: Case, bridge: Bridge, truth: dict[str, float]) -> list[dict[str, object]]:
    untold = [step.step for step in bridge.steps if isinstance(step.kwh, CannotSay)]
    rest = truth["other changes"] + sum(truth[TRUE_NAMES.get(name, name)] for name in untold)
    truth = truth | {"other changes": rest}
    return [
        _row(case, step.step, truth[TRUE_NAMES.get(step.step, step.step)], step.kwh) for step in bridge.steps
    ]


def _peak_row(case: Case, found: Findings) -> dict[str, object]:
    peak = case.study.peak
    assert peak is not None
    row = _row(case, "peak kW", true_peak_kw(case), found.peak)
    return row | {"rule": peak.rule if peak.rule != "every day" else f"months {peak.months}"}


def _row(case: Case, what: str, truth: float, answer: Estimate | CannotSay) -> dict[str, object]:
    told = isinstance(answer, Estimate)
    value, low, high = (answer.estimate, answer.low, answer.high) if told else (np.nan,) * 3
    near = told and abs(value - truth) <= 0.10 * abs(truth)
    held = told and low <= truth <= high
    return {
        "seed": case.seed, "layout": case.kind, "what": what, "rule": "", "told": told, "truth": truth,
        "estimate": value, "low": low, "high": high, "near": near, "held": held, "right": near or held,
        "why": "" if told else answer.why,
    }  # fmt: skip


def _assert_closed(bridge: Bridge) -> None:
    """The list as result.json carries it adds up to the bridge's total, to the last digit."""
    if isinstance(bridge.total, CannotSay):
        assert not bridge.as_json()
        return
    told = [entry["kwh"]["estimate"] for entry in bridge.as_json() if entry["kwh"] is not None]
    assert sum(told) == bridge.total.estimate, (sum(told), bridge.total)


def tables(rows: pd.DataFrame) -> str:
    steps = rows[rows["what"] != "peak kW"]
    peaks = rows[rows["what"] == "peak kW"]
    parts = [
        _rates(steps, ["what"]),
        _rates(steps[steps["what"] != "unexplained"], ["layout"]),
        _rates(peaks, ["rule"]),
        _rates(peaks, ["layout"]),
        _rates(peaks, ["what"]),
    ]
    return "\n\n".join(part.round(3).to_string() for part in parts)


def _rates(rows: pd.DataFrame, keys: list[str]) -> pd.DataFrame:
    told = rows[rows["told"]]
    grouped = rows.groupby(keys, sort=False)
    half = (told["high"] - told["low"]) / 2.0 / told["truth"].abs().where(lambda size: size > 0)
    out = pd.DataFrame({"cases": grouped.size(), "told": grouped["told"].mean()})
    for name in ("right", "near", "held"):
        out[name] = told.groupby(keys)[name].mean()
    out["half width / truth"] = half.groupby([told[key] for key in keys]).median()
    return out


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=100)
    parser.add_argument("--first-seed", type=int, default=5000)
    parser.add_argument("--out", help="write every row to this CSV")
    parser.add_argument("--verbose", action="store_true")
    options = parser.parse_args()
    started = time.process_time()
    rows: list[dict[str, object]] = []
    for seed in range(options.first_seed, options.first_seed + options.sites):
        rows += judged(case_of(seed), verbose=options.verbose)
    table = pd.DataFrame(rows).astype({"near": bool, "held": bool, "right": bool})
    if options.out:
        table.to_csv(options.out, index=False)
    print(
        f"{options.sites} sites from seed {options.first_seed}, {time.process_time() - started:.0f} s of CPU"
    )
    print("both bridges of every site add up exactly")
    print(tables(table))


if __name__ == "__main__":
    main()
