"""Planted changes against the verdicts on settings alone: moved, which setting, since when.

Run by hand: python tests/benchmarks/bench_setting_changes.py [changes a cause] [first seed]
A change counts whose zone uses at least 5 % more or less for it. No drift watch is run here.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from change_cases import Planted, _worth_of_all, zone_cases
from settings_cases import Case, inferred, site_design

from mv.simulate import random_changes, simulate_site

INTERVALS = (5, 15)
DATE_DAYS = {5: 2, 15: 5}
MATCH_DAYS = 21
LEAST_WORTH = 0.05
A_CAUSE, AN_ATTEMPT, ATTEMPTS = 100, 10000, 6
SHOWS_AS = {  # settings and signs that a change may rightly be told as
    "trim removed": ("high_trim",),
    "delay lengthened": ("hold_minutes",),
    "sensor bypassed": ("hold_minutes", "low_level", "sensor_response", "scheduled_off"),
    "daylight sensor dead": ("daylight_dimming",),
    "schedule lost in a power cut": ("scheduled_off",),
    "override left on": ("scheduled_off", "hold_minutes", "low_level", "sensor_response", "nights_left_on"),
    "low level raised": ("low_level",),
    "standby grown": ("standby_watts", "night_floor_kw"),
}


@dataclass(frozen=True)
class Judged:
    """One change at one interval: told at all, the right setting, days off, other settings moved."""

    cause: str
    minutes: int
    told: bool
    right: bool
    days_off: int | None
    others: int

    @property
    def dated(self) -> bool:
        return self.days_off is not None and self.days_off <= DATE_DAYS[self.minutes]


def planted_zones(a_cause: int, first_seed: int) -> Iterator[tuple[Planted, Case]]:
    """Indoor zones with one change each, at every interval; a cause one cannot have is tried in another."""
    for place, cause in enumerate(SHOWS_AS):
        for number in range(a_cause):
            for attempt in range(ATTEMPTS):
                seed = first_seed + A_CAUSE * place + number + AN_ATTEMPT * attempt
                design = site_design(seed, kinds=None, sensed=None)
                changes = random_changes(design, seed, kinds=(cause,))
                if not changes or design.zones[0].outdoor:
                    continue
                site = simulate_site(design.with_changes(*changes), seed)
                planted = _worth_of_all(site, design, changes[0].day, cause)
                if abs(planted.fraction) >= LEAST_WORTH:
                    yield from ((planted, case) for m in INTERVALS for case in zone_cases(site, m))
                    break


def judged(planted: Planted, case: Case) -> Judged:
    found = inferred(case)
    moved = [row for row in (*found.findings, *found.signs) if row.verdict == "moved"]
    near = [r for r in moved if r.since and abs((r.since - planted.day).days) <= MATCH_DAYS]
    right = [r for r in near if r.setting in SHOWS_AS[planted.cause]]
    off = min((abs((r.since - planted.day).days) for r in right), default=None)
    others = sum(r.setting not in SHOWS_AS[planted.cause] for r in moved)
    row = Judged(planted.cause, case.minutes, bool(near), bool(right), off, others)
    if not row.dated:
        told = ", ".join(f"{r.setting} {r.since}" for r in moved) or "nothing moved"
        place = f"seed {case.seed} ({case.zone.id}), {case.minutes} min, {planted.day}"
        print(f"- {planted.cause}, {place}, {100 * planted.fraction:.0f} %: {told}", flush=True)
    return row


def line(name: str, rows: list[Judged]) -> str:
    counts = (sum(r.told for r in rows), sum(r.right for r in rows), sum(r.dated for r in rows))
    cells = " | ".join(f"{count}/{len(rows)}" for count in counts)
    return f"| {name} | {cells} | {sum(r.others for r in rows)} |"


def main(a_cause: int = 12, first_seed: int = 61001) -> None:
    rows = [judged(planted, case) for planted, case in planted_zones(a_cause, first_seed)]
    print("\n| | moved near the day | right setting | and dated in time | other settings moved |")
    print("| --- | --- | --- | --- | --- |")
    for minutes in INTERVALS:
        print(line(f"{minutes} min", [r for r in rows if r.minutes == minutes]))
        for cause in SHOWS_AS:
            part = [r for r in rows if r.minutes == minutes and r.cause == cause]
            if part:
                print(line(f"{cause}, {minutes} min", part))


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:3]))
