"""How far one year of the old lights lies from its own long-run mean, as a share of the saving.

What no baseline can know: the same invented lighting sites of mv.simulate with other people, weather and
forgotten lamps. Run by hand: python tests/benchmarks/bench_own_year.py [--first 1000] [--last 1074].
"""

import argparse

import numpy as np
import pandas as pd

from mv.simulate import SiteDesign, random_site, simulate_site

OTHERS = (50_000, 60_000, 70_000)
LEAST_SAVING = 0.05  # of the use, as in bench_coverage


def _year(design: SiteDesign, seed: int) -> tuple[float, float]:
    """kWh of the old lights in the reporting period, and what the new ones use."""
    site = simulate_site(design, seed)
    first = pd.Timestamp(design.reporting[0])
    totals = []
    for power in (site.baseline_total_kw, site.actual_total_kw):
        energy = site.series(power, 15) / 4.0
        day = energy.index.tz_convert(design.timezone).tz_localize(None).normalize()
        totals.append(float(energy.groupby(day).sum()[first:].sum()))
    return totals[0], totals[1]


def main() -> None:
    """Print the median and the 90th percentile over the sites."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=1000)
    parser.add_argument("--last", type=int, default=1074)
    chosen = parser.parse_args()
    found = []
    for seed in (s for s in range(chosen.first, chosen.last + 1) if s % 3 != 2):
        design = random_site(seed, whole_building=False, interval_minutes=60)
        if all(zone.outdoor for zone in design.zones):
            continue
        old, new = _year(design, seed)
        if old - new <= LEAST_SAVING * old:
            continue
        others = np.mean([_year(design, other + seed)[0] for other in OTHERS])
        # the mean of three others errs itself: their difference is sqrt(4/3) of one year's own departure
        found.append(abs(old - others) / (old - new) * np.sqrt(len(OTHERS) / (len(OTHERS) + 1)))
    median, ninety = np.quantile(found, [0.5, 0.9])
    print(f"{len(found)} sites: median {median:.1%}, 90 % under {ninety:.1%}")


if __name__ == "__main__":
    main()
