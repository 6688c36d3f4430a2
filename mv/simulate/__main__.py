"""`python -m mv.simulate OUT [--seed N]`: write the invented sample study."""

import argparse
from pathlib import Path

from mv.simulate.sample_site import SAMPLE_SEED, write_sample


def main(arguments: list[str] | None = None) -> None:
    """Write the sample study and say where it lies."""
    parser = argparse.ArgumentParser(prog="python -m mv.simulate", description=__doc__)
    parser.add_argument("out", type=Path, help="folder to write into")
    parser.add_argument("--seed", type=int, default=SAMPLE_SEED, help="default: %(default)s")
    chosen = parser.parse_args(arguments)
    site = write_sample(chosen.out, seed=chosen.seed)
    print(f"{chosen.out}: an invented site that truly avoided {site.avoided_kwh:,.0f} kWh")


if __name__ == "__main__":
    main()
