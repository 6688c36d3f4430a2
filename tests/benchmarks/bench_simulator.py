"""How fast invented sites are made and how much they differ: one row a kind of zone.

Run by hand: python tests/benchmarks/bench_simulator.py [sites a kind]
"""

import sys
import time

import numpy as np

from mv.simulate import random_site, simulate_site
from mv.simulate.zone_kinds import KINDS


def main(sites: int = 12) -> None:
    """Print seconds a zone-year, hours burnt before and after, and day-to-day correlation, by kind."""
    print(f"{sites} sites a kind, seeds 0..{sites - 1}; 12 + 2 + 12 months; median (lowest-highest)")
    print(f"{'kind':<11}{'s/zone-year':>12}{'hours before':>20}{'hours after':>20}{'lag-1 before':>22}")
    for kind in KINDS:
        rows = np.array([_one(kind, seed) for seed in range(sites)])
        cells = [
            f"{np.median(c):.{d}f} ({c.min():.{d}f}-{c.max():.{d}f})"
            for c, d in zip(rows.T[1:], (0, 0, 2), strict=True)
        ]
        print(f"{kind:<11}{np.median(rows[:, 0]):>12.3f}{cells[0]:>20}{cells[1]:>20}{cells[2]:>22}")


def _one(kind: str, seed: int) -> tuple[float, float, float, float]:
    design = random_site(seed, kinds=(kind,))
    begun = time.process_time()
    site = simulate_site(design, seed)
    seconds = (time.process_time() - begun) / (site.clock.n / 525_600)
    zone, span = site.zones[0], site.reporting
    before = (zone.baseline_kw[span] - zone.design.egress_kw_before).sum() / 60
    after = (zone.actual_kw[span] - zone.design.egress_kw_after).sum() / 60
    hours = before / zone.design.connected_kw_before, after / zone.design.connected_kw_after
    return seconds, *hours, _lag_one(site.zones[0].baseline_kw, site)


def _lag_one(power_kw: np.ndarray, site: object) -> float:
    """Correlation of neighbouring open days' energy, weekday means and the year's course taken out."""
    clock, hours = site.clock, site.zones[0].scene.hours  # type: ignore[attr-defined]
    daily = np.add.reduceat(power_kw, clock.day_start[:-1]) / 60
    usable = hours.open_day if hours.open_day.any() else np.ones(clock.days, dtype=bool)
    year = 2 * np.pi * np.arange(clock.days) / 365.25
    columns = [clock.weekday == d for d in range(7)] + [
        np.sin(year),
        np.cos(year),
        np.sin(2 * year),
        np.cos(2 * year),
    ]
    table = np.column_stack(columns).astype(float)[usable]
    rest = np.full(clock.days, np.nan)
    rest[usable] = daily[usable] - table @ np.linalg.lstsq(table, daily[usable], rcond=None)[0]
    pairs = np.isfinite(rest[1:]) & np.isfinite(rest[:-1])
    if rest[usable].std() < 1e-9:
        return 0.0
    return float(np.corrcoef(rest[1:][pairs], rest[:-1][pairs])[0, 1])


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 12)
