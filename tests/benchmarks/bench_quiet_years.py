"""Quiet years: zones in which nothing changes, looked at after every month, and what is told all the same.

Run by hand: python tests/benchmarks/bench_quiet_years.py [zone-years] [first seed]
TALLYLUX_BENCH_CACHE keeps what the settings stage said, the slow part, for the next run.
"""

import sys
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from change_cases import Record, kept, quiet_looks

from mv.drift import find_drift

INTERVALS = (60, 15, 60, 5)
FIRST_SEED = 9600


def false_findings(looks: list[Record]) -> Iterator[str]:
    """Each kind of finding of a year once, at the look that first told it."""
    told = set()
    for number, look in enumerate(looks, start=1):
        for finding in find_drift(look.series, look.settings, confidence=0.9):
            name = (finding.kind, finding.settings)
            if finding.kind != "gap" and name not in told:
                told.add(name)
                log = "log" if look.logged else "no log"
                yield (
                    f"- seed {look.seed} ({look.zone_kind}), {look.minutes} min, {log}, look {number}: "
                    f"{finding.since} {', '.join(finding.settings) or 'bare'} {', '.join(finding.causes[:2])}"
                )


def main(years: int = 60, first: int = FIRST_SEED) -> None:
    lines = []
    for seed in range(first, first + years):
        minutes, logged = INTERVALS[seed % len(INTERVALS)], seed % 3 > 0
        name = f"looks-{seed}-{minutes}"
        looks = kept(name, lambda s=seed, m=minutes, g=logged: quiet_looks(s, m, logged=g))
        lines += false_findings(looks)
    print("\n".join([f"{years} zone-years, {len(lines)} false findings", *lines]))


if __name__ == "__main__":
    main(*[int(a) for a in sys.argv[1:3]])
