"""How often the interval of avoided energy holds the truth: ours, an oracle's and the published ones.

Two families of invented sites, both seeded: "daily" sites with a known noise process, so that an
oracle's interval can be computed; "minute" sites of mv.simulate, physics and people, whose noise no one
knows. Nominal coverage 90 %. Run by hand, prints Markdown:
python tests/benchmarks/bench_coverage.py [--family daily minute] [--sites 300] [--out FILE.csv]
"""

import argparse
import time
from pathlib import Path

import numpy as np
import pandas as pd
from daily_sites import daily_site, oracle_half_width
from minute_sites import minute_site

from mv.base.estimate import CannotSay
from mv.regression import Kind, fit
from mv.savings import AvoidedEnergy, avoided_energy, unseen_season

CONFIDENCE = 0.90
Z90 = 1.6448536269514722
DAYS_IN_MONTH = 30.44
Row = dict[str, object]


def _judged(result: AvoidedEnergy, truth: float) -> Row:
    """Coverage of every method, the error and the half-width, as shares of the true avoided energy."""
    total = result.total
    assert not isinstance(total, CannotSay)
    row: Row = {
        "ours": total.low <= truth <= total.high,
        "error": (total.estimate - truth) / truth,
        "half": (total.high - total.low) / 2,
    }
    for entry in result.published:
        row[entry.method] = abs(total.estimate - truth) <= entry.half_width
    return row


def daily_rows(seed: int, months: tuple[int, ...]) -> list[Row]:
    """Lighting-only and whole-building sites take turns two to one."""
    kind: Kind = "whole building" if seed % 3 == 2 else "indoor"
    rows = []
    for length in months:
        site = daily_site(seed, months=length, kind=kind)
        base, later = site.drivers.loc[site.baseline], site.drivers.loc[site.reporting]
        actual = site.energy_kwh[site.reporting] * (1 - site.saving_fraction)
        truth = float(site.energy_kwh[site.reporting].sum() - actual.sum())
        model = fit(site.energy_kwh[site.baseline], base, kind=kind, applied_to=[later])
        if isinstance(model, CannotSay):
            continue
        row = _judged(avoided_energy(model, later, actual, confidence=CONFIDENCE), truth)
        centre, half = oracle_half_width(site, z=Z90)
        missed = centre - float(actual.sum()) - truth
        row |= {
            "oracle": abs(missed) <= half,
            "width": row["half"] / half,
            "error of one who knows": missed / truth,
        }
        row |= {"kind": kind, "noise": site.noise, "persistence": site.persistence, "months": length}
        rows.append(row)
    return rows


def minute_rows(seed: int, months: tuple[int, ...]) -> list[Row]:
    """One simulated site, its last 12, 6 and 3 months of baseline in turn."""
    site = minute_site(seed)
    later = site.drivers[pd.Timestamp(site.design.reporting[0]) :]
    truth = float((site.counterfactual - site.truly_used)[later.index].sum())
    if truth <= 0.05 * float(site.counterfactual[later.index].sum()):
        return []
    last = pd.Timestamp(site.design.baseline[1])
    rows = []
    for length in months:
        first = last - pd.Timedelta(days=round(length * DAYS_IN_MONTH) - 1)
        drivers = site.with_hourly_sum(first, last)
        base, later = drivers[first:last], drivers[later.index[0] :]
        model = fit(
            site.metered[base.index], base, kind=site.kind, applied_to=[later], hourly_sum="expected_by_hour"
        )
        if isinstance(model, CannotSay):
            continue
        result = avoided_energy(
            model, later, site.metered[later.index], confidence=CONFIDENCE, metering_accuracy=0.01,
            unseen_months=unseen_season(model.kind, pd.DatetimeIndex(model.known.index)),
        )  # fmt: skip
        row = _judged(result, truth)
        row |= {"kind": site.kind, "noise": site.design.zones[0].kind, "months": length}
        row |= {"persistence": site.design.persistence, "interval": site.interval_minutes}
        row |= {"width": np.nan, "error of one who knows": np.nan, "people logged": bool(seed % 2)}
        row |= {"hourly": any(name.startswith("expected_by_hour") for name in model.columns)}
        rows.append(row)
    return rows


def line(name: str, rows: pd.DataFrame, flags: list[str]) -> str:
    """One Markdown line: coverages in per cent, width over the oracle's, half-width, bias."""
    known = rows["error of one who knows"].dropna()
    cells = [f"{100 * rows[flag].astype(float).mean():.0f}" for flag in flags]
    cells += [
        "-" if rows["width"].isna().all() else f"{rows['width'].median():.2f}",
        f"{100 * rows['error'].mean():+.2f}",
        f"{100 * rows['error'].median():+.2f}",
        f"{100 * rows['error'].abs().quantile(0.9):.1f}",
        "-" if known.empty else f"{100 * known.abs().quantile(0.9):.1f}",
    ]
    return f"| {name} | {len(rows)} | " + " | ".join(cells) + " |"


def tables(rows: pd.DataFrame) -> None:
    """Print one table a baseline length."""
    named = ("ours", "oracle", "ordinary", "Guideline", "Newey", "AR(1)")
    flags = [c for c in rows if c.startswith(named)]
    flags.sort(key=lambda c: next(i for i, name in enumerate(named) if c.startswith(name)))
    for months, part in rows.groupby("months", sort=False):
        print(f"\n**{months} months of baseline**\n")
        heads = ["sites", "n", *flags, "width / oracle", "mean error %", "median error %", "error p90 %",
                 "oracle's error p90 %"]  # fmt: skip
        print("| " + " | ".join(heads) + " |\n|" + " --- |" * len(heads))
        print(line("all", part, flags))
        banded = part.assign(persistence=pd.cut(part["persistence"], [-0.01, 0.3, 0.6, 0.95]))
        for column in ("kind", "noise", "persistence", "interval", "people logged", "hourly"):
            if column in banded:
                for value, some in banded.groupby(column, observed=True):
                    print(line(f"{column} {value}", some, flags))


def _save(rows: list[Row], out: Path | None, family: str) -> pd.DataFrame:
    table = pd.DataFrame(rows)
    if out:
        table.to_csv(out.with_stem(f"{out.stem}_{family}"), index=False)
    return table


def main() -> None:
    """Print the tables of the families asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=300)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--family", nargs="*", default=["daily", "minute"])
    parser.add_argument("--months", type=int, nargs="*", default=[12, 6, 3])
    parser.add_argument("--out", type=Path, default=None)
    chosen = parser.parse_args()
    for family in chosen.family:
        one = daily_rows if family == "daily" else minute_rows
        began, rows = time.time(), []
        for seed in range(chosen.first, chosen.first + chosen.sites):
            rows += one(seed, tuple(chosen.months))
            if chosen.out and seed % 20 == 0:  # so that a long run can be watched, and cut short
                _save(rows, chosen.out, family)
        table = _save(rows, chosen.out, family)
        print(f"\n### {family} sites, seeds {chosen.first} to {seed}, {time.time() - began:.0f} s")
        tables(table)


if __name__ == "__main__":
    main()
