"""Time and memory of a portfolio by its number of meters, beside a plain script run study by study.

Run by hand: python tests/benchmarks/bench_portfolio.py --meters 10 100 1000 5000 [--script 20]. Studies of
four invented hourly meters over two years, written once and copied under new names; the portfolio has two
processes; the script is timed on `--script` studies, one process each, one after another, and scaled.
Memory is the largest of any one process (parent or worker), from the system's own account.
"""

import argparse
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from mv.simulate import random_site, simulate_site, write_study

SCRIPT = Path(__file__).with_name("plain_script.py")
METERS_A_STUDY, TEMPLATES = 4, 5
ONE_THREAD = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--meters", type=int, nargs="+", default=[10, 100, 1000])
    parser.add_argument("--script", type=int, default=5, help="studies on which the script is timed")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        made = templates(folder / "templates")
        a_study = script_seconds(made, asked.script, folder)
        print(f"script: {a_study:.2f} s a study, one after another")
        heads = ("meters", "seconds", "meters/s", "script, s", "times", "again, s", "MB")
        print("".join(f"{head:>11}" for head in heads))
        for meters in asked.meters:
            row(folder, made, meters, a_study)


def templates(folder: Path) -> list[Path]:
    """A few different studies of four meters."""
    for seed in range(TEMPLATES):
        site = simulate_site(random_site(40 + seed, zones=METERS_A_STUDY, interval_minutes=60), 40 + seed)
        write_study(site, folder / str(seed), motion_zones=[])
    return sorted(folder.iterdir())


def row(folder: Path, made: list[Path], meters: int, a_study: float) -> None:
    """One size: a first run, and a second that finds nothing changed."""
    root, studies = folder / f"of-{meters}", max(1, meters // METERS_A_STUDY)
    for number in range(studies):
        shutil.copytree(made[number % len(made)], root / f"site-{number:05d}")
    first, memory = portfolio(root, folder / f"out-{meters}")
    again, _ = portfolio(root, folder / f"out-{meters}")
    script = a_study * studies
    speed = studies * METERS_A_STUDY / first
    print(
        f"{studies * METERS_A_STUDY:>11,}{first:>11.1f}{speed:>11.2f}{script:>11.1f}{script / first:>11.2f}"
        f"{again:>11.1f}{memory:>11.0f}",
        flush=True,
    )
    shutil.rmtree(root)
    shutil.rmtree(folder / f"out-{meters}")


def portfolio(root: Path, out: Path) -> tuple[float, float]:
    """Seconds on the wall, and MB of the largest process."""
    words = ["-m", "mv", "portfolio", str(root), "--out", str(out), "--workers", "2"]
    begun = time.perf_counter()
    run = subprocess.run([sys.executable, *words], stdout=subprocess.DEVNULL, check=False)
    took = time.perf_counter() - begun
    assert run.returncode in (0, 1), "the portfolio did not end as it should"
    return took, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


def script_seconds(made: list[Path], studies: int, folder: Path) -> float:
    """Mean seconds on the wall of the script for one study."""
    begun = time.perf_counter()
    for number in range(studies):
        words = [sys.executable, str(SCRIPT), str(made[number % len(made)]), str(folder / "plain.json")]
        subprocess.run(words, env={**os.environ, **ONE_THREAD}, check=True)
    return (time.perf_counter() - begun) / studies


if __name__ == "__main__":
    main()
