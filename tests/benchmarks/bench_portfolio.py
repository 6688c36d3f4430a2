"""Time and memory of a portfolio by its number of meters, beside a plain script run study by study.

Run by hand: python tests/benchmarks/bench_portfolio.py --meters 10 100 1000 5000 [--script 20]. Studies of
four invented hourly meters over two years, written once and copied under new names, each moved a little so
that no sun is remembered from one to the next; the portfolio has two processes; the script is timed on
`--script` studies, one process each, half before and half after the portfolio, and scaled. Memory is the
largest of any one process (parent or worker), from the system's own account, which counts as a process's
own what its parent held when it began: the sites are therefore invented in a process apart.
"""

import argparse
import multiprocessing
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

SCRIPT = Path(__file__).with_name("plain_script.py")
METERS_A_STUDY, TEMPLATES, PROCESSES = 4, 5, 2
APART_DEG = 0.001  # from copy to copy
ONE_THREAD = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}


@dataclass(frozen=True)
class Cost:
    """Seconds on the wall and of the processors, and MB of the largest process."""

    wall: float
    cpu: float
    memory: float


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--meters", type=int, nargs="+", default=[10, 100, 1000])
    parser.add_argument("--script", type=int, default=6, help="studies on which the script is timed")
    parser.add_argument("--folder", type=Path, help="for the studies (default: a temporary one)")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=asked.folder) as name:
        folder = Path(name)
        made = folder / "templates"
        maker = multiprocessing.get_context("spawn").Process(target=write_templates, args=(made,))
        maker.start()
        maker.join()
        heads = ("meters", "wall, s", "cpu, s", "script wall", "script cpu", "times wall", "times cpu")
        print("".join(f"{head:>12}" for head in (*heads, "again, s", "MB")))
        for meters in asked.meters:
            row(folder, sorted(made.iterdir()), meters, asked.script)


def write_templates(folder: Path) -> None:
    """A few different studies of four meters."""
    from mv.simulate import random_site, simulate_site, write_study

    for seed in range(TEMPLATES):
        site = simulate_site(random_site(40 + seed, zones=METERS_A_STUDY, interval_minutes=60), 40 + seed)
        write_study(site, folder / str(seed), motion_zones=[])


def row(folder: Path, made: list[Path], meters: int, script_studies: int) -> None:
    """One size: a first run, and a second that finds nothing changed.

    "Times cpu" is what two free processors would do: the script's seconds over ours shared by two.
    """
    root, studies = folder / f"of-{meters}", max(1, meters // METERS_A_STUDY)
    for number in range(studies):
        copied(made[number % len(made)], root / f"site-{number:05d}", number)
    plain = [script(made[number % len(made)], folder) for number in range(script_studies // 2)]
    first = portfolio(root, folder / f"out-{meters}")
    plain += [script(made[number % len(made)], folder) for number in range(script_studies // 2)]
    again = portfolio(root, folder / f"out-{meters}")
    wall, cpu = (studies * sum(getattr(one, what) for one in plain) / len(plain) for what in ("wall", "cpu"))
    numbers = (first.wall, first.cpu, wall, cpu)
    times = (wall / first.wall, cpu / (first.cpu / PROCESSES))
    print(
        f"{studies * METERS_A_STUDY:>12,}"
        + "".join(f"{number:>12,.1f}" for number in numbers)
        + "".join(f"{number:>12.2f}" for number in times)
        + f"{again.wall:>12.1f}{first.memory:>12.0f}",
        flush=True,
    )
    shutil.rmtree(root)
    shutil.rmtree(folder / f"out-{meters}")


def copied(template: Path, place: Path, number: int) -> None:
    """The same study a hundred metres further north for each copy."""
    shutil.copytree(template, place)
    path = place / "study.toml"
    text = path.read_text(encoding="utf-8")
    moved = re.sub(
        r"latitude = (\S+)", lambda m: f"latitude = {float(m[1]) + APART_DEG * number:.4f}", text, count=1
    )
    path.write_text(moved, encoding="utf-8")


def portfolio(root: Path, out: Path) -> Cost:
    """What a run costs."""
    words = ["-m", "mv", "portfolio", str(root), "--out", str(out), "--workers", str(PROCESSES)]
    return timed(words, {0, 1})


def script(study: Path, folder: Path) -> Cost:
    """What the script costs for one study."""
    return timed([str(SCRIPT), str(study), str(folder / "plain.json")], {0})


def timed(words: list[str], codes: set[int]) -> Cost:
    """What a Python process costs that must end with one of the codes, and all that it started."""
    begun = time.perf_counter()
    run = subprocess.Popen(
        [sys.executable, *words], stdout=subprocess.DEVNULL, env={**os.environ, **ONE_THREAD}
    )
    _, status, used = os.wait4(run.pid, 0)
    run.returncode = os.waitstatus_to_exitcode(status)
    assert run.returncode in codes, f"{words} ended with {run.returncode}"
    return Cost(time.perf_counter() - begun, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


if __name__ == "__main__":
    main()
