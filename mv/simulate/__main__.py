"""Write an invented study with a known truth: the sample, or one drawn at random."""

import argparse
from pathlib import Path

from mv.simulate.planted import random_changes
from mv.simulate.random_site import random_site
from mv.simulate.sample_site import SAMPLE_SEED, write_sample
from mv.simulate.site import SimulatedSite, simulate_site
from mv.simulate.study_folder import write_study


def main(arguments: list[str] | None = None) -> None:
    """Write the study and say where it lies."""
    parser = argparse.ArgumentParser(prog="python -m mv.simulate", description=__doc__)
    parser.add_argument("out", type=Path, help="folder to write into")
    parser.add_argument("--seed", type=int, default=SAMPLE_SEED, help="default: %(default)s")
    parser.add_argument("--random", action="store_true", help="a site drawn from the seed, not the sample")
    parser.add_argument("--zones", type=int, default=3, help="of a random site; default: %(default)s")
    parser.add_argument("--interval", type=int, default=15, help="minutes; default: %(default)s")
    parser.add_argument("--changes", type=int, default=1, help="planted faults; default: %(default)s")
    parser.add_argument("--whole-building", action="store_true", help="one meter for all")
    chosen = parser.parse_args(arguments)
    site = _random(chosen) if chosen.random else write_sample(chosen.out, seed=chosen.seed)
    print(f"{chosen.out}: an invented site that truly avoided {site.avoided_kwh:,.0f} kWh")


def _random(chosen: argparse.Namespace) -> SimulatedSite:
    design = random_site(
        chosen.seed,
        zones=chosen.zones,
        interval_minutes=chosen.interval,
        whole_building=chosen.whole_building,
    )
    faults = random_changes(design, chosen.seed, number=chosen.changes)
    site = simulate_site(design.with_changes(*faults), chosen.seed)
    write_study(site, chosen.out, bridge=True, motion_compressed=True)
    return site


if __name__ == "__main__":
    main()
