"""How often the interval of avoided energy holds the truth: ours, an oracle's and the published ones.

Run by hand: python tests/benchmarks/bench_coverage.py [--sites 300] [--kind indoor]
Seeded; prints tables in Markdown. Nominal coverage 90 %.
"""

import argparse
import time

import numpy as np
import pandas as pd
from daily_sites import DailySite, daily_site, oracle_half_width

from mv.base.estimate import CannotSay
from mv.regression import fit
from mv.savings import avoided_energy

CONFIDENCE = 0.90
Z90 = 1.6448536269514722


def one(site: DailySite) -> dict[str, object] | None:
    """Coverage and width of every method on one site."""
    base, later = site.drivers.loc[site.baseline], site.drivers.loc[site.reporting]
    actual = site.energy_kwh[site.reporting] * (1 - site.saving_fraction)
    truth = float(site.energy_kwh[site.reporting].sum() - actual.sum())
    kind = "whole building" if site.kind == "whole building" else "indoor"
    model = fit(site.energy_kwh[site.baseline], base, kind=kind, applied_to=[later])
    if isinstance(model, CannotSay):
        return None
    result = avoided_energy(model, later, actual, confidence=CONFIDENCE)
    if isinstance(result.total, CannotSay):
        return None
    centre, half = oracle_half_width(site, z=Z90)
    total = result.total
    row: dict[str, object] = {
        "noise": site.noise,
        "persistence": site.persistence,
        "error": (total.estimate - truth) / truth,
        "ours": total.low <= truth <= total.high,
        "width": (total.high - total.low) / (2 * half),
        "oracle": abs(centre - actual.sum() - truth) <= half,
        "half": half / truth,
    }
    for entry in result.published:
        row[entry.method] = abs(total.estimate - truth) <= entry.half_width
    return row


def table(rows: pd.DataFrame) -> str:
    """One Markdown line: coverages in per cent, then widths and bias."""
    names = [c for c in rows if rows[c].dtype == bool]
    cells = [f"{100 * rows[name].mean():.0f}" for name in names]
    cells += [
        f"{rows['width'].median():.2f}",
        f"{100 * rows['error'].mean():+.2f}",
        f"{100 * rows['error'].abs().quantile(0.9):.2f}",
    ]
    return " | ".join(cells)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=300)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--kind", default="indoor")
    parser.add_argument("--months", type=int, nargs="*", default=[12, 6, 3])
    chosen = parser.parse_args()
    for months in chosen.months:
        began = time.time()
        seeds = range(chosen.first, chosen.first + chosen.sites)
        results = [one(daily_site(seed, months=months, kind=chosen.kind)) for seed in seeds]
        rows = pd.DataFrame([row for row in results if row is not None])
        flags = [c for c in rows if c in ("ours", "oracle") or rows[c].dtype == object]
        rows = rows.astype({c: bool for c in rows if rows[c].map(type).isin([bool, np.bool_]).all()})
        flags = [c for c in rows if rows[c].dtype == bool]
        print(f"\n{chosen.kind}, {months} months, {len(rows)} sites, {time.time() - began:.0f} s")
        print(" | ".join(["", *flags, "width/oracle", "bias %", "|error| p90 %"]))
        print("all |", table(rows))
        for name in ("noise", "persistence"):
            for value, part in rows.groupby(name):
                print(f"{value} ({len(part)}) |", table(part))


if __name__ == "__main__":
    main()
