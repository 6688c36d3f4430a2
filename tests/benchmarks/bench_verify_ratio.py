"""CPU time of one verification, whole process, over a plain script's on the same files.

Run by hand: python tests/benchmarks/bench_verify_ratio.py [--rounds 3]. Four invented meters, two years
at 15 minutes. The two take turns, so that a busy computer slows both alike.
"""

import argparse
import os
import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from mv.simulate import random_site, simulate_site, write_study

SCRIPT = Path(__file__).with_name("plain_script.py")
ONE_THREAD = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}


def main() -> None:
    """Print CPU seconds of both and their ratio."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--rounds", type=int, default=3)
    rounds = parser.parse_args().rounds
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        site = simulate_site(random_site(7, zones=4, latitude=44.5), 7)
        write_study(site, folder / "study", motion_zones=[])
        ours, plain = [], []
        for _ in range(rounds):
            ours.append(cpu(["-m", "mv", "verify", str(folder / "study"), "--out", str(folder / "out")]))
            plain.append(cpu([str(SCRIPT), str(folder / "study"), str(folder / "plain.json")]))
    print(f"{'round':<8}{'tallylux, s':>12}{'script, s':>12}{'ratio':>8}")
    for number, (one, other) in enumerate(zip(ours, plain, strict=True), 1):
        print(f"{number:<8}{one:>12.2f}{other:>12.2f}{one / other:>8.2f}")
    middle = statistics.median(ours), statistics.median(plain)
    print(f"{'median':<8}{middle[0]:>12.2f}{middle[1]:>12.2f}{middle[0] / middle[1]:>8.2f}")


def cpu(words: list[str]) -> float:
    """User and system seconds of a Python process and all that it started."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    run = subprocess.run(
        [sys.executable, *words], stdout=subprocess.DEVNULL, env={**os.environ, **ONE_THREAD}, check=False
    )
    assert run.returncode in (0, 1), words
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


if __name__ == "__main__":
    main()
