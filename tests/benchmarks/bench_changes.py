"""Change bench: planted faults found, named and dated, at four intervals, with a motion log and without.

Run by hand: python tests/benchmarks/bench_changes.py [changes a cause] [file for the table]
TALLYLUX_BENCH_CACHE keeps what the settings stage said, the slow part, for the next run.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from change_cases import Record, changed, kept

from mv.base.estimate import Estimate
from mv.drift import DriftFinding, find_drift
from mv.simulate import CHANGE_KINDS

INTERVALS = (1, 5, 15, 60)
DATE_DAYS = {1: 2, 5: 2, 15: 5, 60: 5}
MATCH_DAYS = 21  # a finding further off in time is not counted as the planted change
LEAST_WORTH = 0.05  # of the energy from the planted day on; smaller changes are tried in another zone
FIRST_SEED, A_CAUSE, AN_ATTEMPT, ATTEMPTS = 700001, 200, 10000, 12
CODE = {
    "trim removed": "trim removed",
    "delay lengthened": "delay lengthened",
    "sensor bypassed": "sensor bypassed",
    "daylight sensor dead": "daylight dead",
    "schedule lost in a power cut": "schedule lost",
    "override left on": "override left on",
    "low level raised": "low level raised",
    "lamps failed": "lamps failed",
    "standby grown": "standby growth",
    "load added": "added load",
    "controller clock shifted": "clock shifted",
    "photocell stuck on": "photocell stuck",
    "photocell switches early": "photocell dirty",
    "firmware reset": "controller reset",
}


@dataclass(frozen=True)
class Judged:
    """What became of one planted change."""

    record: Record
    finding: DriftFinding | None
    others: int
    worth: float

    @property
    def place(self) -> int | None:
        """Place of the right cause in the list, 0 for the first; None where it is not named."""
        code = CODE[self.record.planted.cause]
        causes = self.finding.causes if self.finding else ()
        return causes.index(code) if code in causes else None

    @property
    def days_off(self) -> int | None:
        return None if self.finding is None else (self.finding.since - self.record.planted.day).days

    @property
    def priced(self) -> float | None:
        """Told kWh a month over the true ones."""
        energy = self.finding.kwh_per_month if self.finding else None
        true = self.record.planted.kwh_per_month
        return float(energy.estimate) / true if isinstance(energy, Estimate) else None


def records(a_cause: int) -> Iterator[Record]:
    """The planted changes; one that a zone cannot have, or that is worth too little, is tried in another."""
    for number in range(a_cause):
        for place, cause in enumerate(CODE):
            for attempt in range(ATTEMPTS):
                seed = FIRST_SEED + A_CAUSE * place + number + AN_ATTEMPT * attempt
                name = f"changed-{cause.replace(' ', '_')}-{seed}"
                found = kept(name, lambda s=seed, c=cause: changed(s, c, INTERVALS, LEAST_WORTH))
                if found:
                    yield from found
                    break


def judged(record: Record) -> Judged:
    findings = [f for f in find_drift(record.series, record.settings, confidence=0.9) if f.kind != "gap"]
    day = record.planted.day
    near = [f for f in findings if f.since is not None and abs((f.since - day).days) <= MATCH_DAYS]
    best = min(near, key=lambda f: (abs((f.since - day).days), not f.settings)) if near else None
    bare = replace(record, settings=(), series=())  # the rest is large, and judged
    told = None if best is None else replace(best, evidence=None)
    return Judged(bare, told, len(findings) - (best is not None), abs(record.planted.fraction))


def main(a_cause: int = 22, out: str = "") -> None:
    lines = table([judged(record) for record in records(a_cause)])
    print("\n".join(lines))
    if out:
        Path(out).write_text("\n".join(lines) + "\n", encoding="utf-8")


def table(rows: list[Judged]) -> list[str]:
    """The figures, then every miss."""
    lines = [f"{planted(rows)} changes worth at least 5 % of the energy, {len(rows)} records.", ""]
    lines += HEAD
    for minutes in INTERVALS:
        for logged, name in LOGS.items():
            lines.append(line(f"{minutes} min, {name}", chosen(rows, minutes, logged)))
    lines += ["", "By cause, all intervals:", "", *HEAD]
    for cause in CODE:
        for logged, name in LOGS.items():
            part = [r for r in rows if r.record.planted.cause == cause and r.record.logged is logged]
            lines += [line(f"{cause}, {name}", part)] if part else []
    lines += ["", "Misses (worth at least 5 %: not found, not named at all, or dated too far off):", ""]
    return lines + [told(row) for row in rows if missed(row)]


LOGS = {True: "motion log", False: "no log"}
HEAD = [
    "| | cases | found | right cause first | named | dated in time | told kWh / true, median (10-90 %) "
    "| further findings a case |",
    "| --- | --- | --- | --- | --- | --- | --- | --- |",
]


def planted(rows: list[Judged]) -> int:
    return len({(r.record.seed, r.record.planted.cause) for r in rows})


def chosen(rows: list[Judged], minutes: int, logged: bool) -> list[Judged]:
    return [r for r in rows if r.record.minutes == minutes and r.record.logged is logged]


def line(name: str, rows: list[Judged]) -> str:
    if not rows:
        return f"| {name} | 0 | | | | | | |"
    found = [r for r in rows if r.finding is not None]
    n = max(len(found), 1)
    first = sum(r.place == 0 for r in found) / n
    named = sum(r.place is not None for r in found) / n
    close = sum(abs(r.days_off) <= DATE_DAYS[r.record.minutes] for r in found) / n
    ratios = [r.priced for r in found if r.priced is not None]
    low, middle, high = np.quantile(ratios, (0.1, 0.5, 0.9)) if ratios else (np.nan,) * 3
    further = sum(r.others for r in rows) / len(rows)
    return (
        f"| {name} | {len(rows)} | {100 * len(found) / len(rows):.0f} % | {100 * first:.0f} % "
        f"| {100 * named:.0f} % | {100 * close:.0f} % | {middle:.2f} ({low:.2f}-{high:.2f}) | {further:.2f} |"
    )


def missed(row: Judged) -> bool:
    return row.finding is None or row.place is None or abs(row.days_off) > DATE_DAYS[row.record.minutes]


def told(row: Judged) -> str:
    record, change = row.record, row.record.planted
    text = (
        f"- {change.cause}, seed {record.seed} ({record.zone_kind}), {record.minutes} min"
        f"{'' if record.logged else ', no log'}, {change.day}, {100 * row.worth:.0f} %: "
    )
    if row.finding is None:
        return text + "not found"
    return text + f"{row.finding.since} {', '.join(row.finding.causes[:4])}"


if __name__ == "__main__":
    assert set(CHANGE_KINDS) <= set(CODE)
    main(*[int(a) for a in sys.argv[1:2]], *sys.argv[2:3])
