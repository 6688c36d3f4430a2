"""Change bench: one planted fault a zone.

Run by hand: python tests/benchmarks/bench_changes.py [zones] [first seed]
"""

import sys
from collections import defaultdict
from datetime import date
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from settings_cases import Case, cases_of, kept, looked_at, site_design

from mv.controls import ZoneSettings
from mv.drift import DriftFinding
from mv.simulate import change_worths, random_changes, simulate_site

INTERVALS = (1, 5, 15)
DATE_DAYS = {1: 2, 5: 2, 15: 5}
MATCH_DAYS = 21  # a finding further off in time is not counted as the planted change
LEAST_WORTH = 0.05
EXPECTED = {
    "trim removed": ({"high_trim"}, {"trim removed"}),
    "delay lengthened": ({"hold_minutes"}, {"delay lengthened"}),
    "sensor bypassed": ({"low_level"}, {"sensor bypassed"}),
    "daylight sensor dead": ({"daylight_dimming"}, {"daylight dead"}),
    "schedule lost in a power cut": ({"scheduled_off"}, {"schedule lost"}),
    "override left on": ({"scheduled_off", "low_level"}, {"override left on"}),
    "low level raised": ({"low_level"}, {"low level raised"}),
    "lamps failed": ({"lamps_failed"}, {"lamps failed"}),
    "standby grown": ({"standby_watts"}, {"standby growth"}),
    "load added": (set(), {"added load"}),
    "controller clock shifted": (set(), {"clock shifted"}),
    "photocell stuck on": ({"burning_by_day"}, {"photocell stuck"}),
    "photocell switches early": ({"switching_on_deg", "switching_off_deg"}, {"photocell dirty"}),
}


def planted(seed: int) -> list[tuple[Case, object]]:
    """The zone with its change at each interval; empty where no change is worth enough."""
    design = site_design(seed, kinds=None, sensed=None)
    changes = random_changes(design, seed)
    if not changes:
        return []
    site = simulate_site(design.with_changes(*changes), seed)
    worth = change_worths(site)[0]
    if abs(worth.fraction) < LEAST_WORTH:
        return []
    return [(case, worth) for case in cases_of(site, INTERVALS)]


def matching(findings: tuple[DriftFinding, ...], day: date) -> DriftFinding | None:
    """The finding nearest to the day, within MATCH_DAYS."""
    near = [
        f
        for f in findings
        if f.since is not None and f.kind != "gap" and abs((f.since - day).days) <= MATCH_DAYS
    ]
    return min(near, key=lambda f: (abs((f.since - day).days), not f.settings)) if near else None


def main(zones: int = 200, first: int = 1001) -> None:
    rows = defaultdict(list)
    for seed in range(first, first + zones):
        for case, worth in kept(f"changed-{seed}", lambda s=seed: planted(s)):
            settings, findings = looked_at(case)
            found = matching(findings, worth.change.day)
            rows[case.minutes].append(_judged(case, worth, found))
            if not all(rows[case.minutes][-1][1:]):
                _tell(case, worth, settings, findings)
    _table(rows)


def _judged(case: Case, worth, found: DriftFinding | None) -> tuple[str, bool, bool, bool]:
    cause = worth.change.cause
    if found is None:
        return cause, False, False, False
    settings, causes = EXPECTED[cause]
    named = bool(settings & set(found.settings)) or bool(causes & set(found.causes[:3]))
    close = abs((found.since - worth.change.day).days) <= DATE_DAYS[case.minutes]
    return cause, True, named, close


def _table(rows) -> None:
    print("| interval | change | cases | found | named | date in time |")
    print("|---|---|---|---|---|---|")
    for minutes, entries in sorted(rows.items()):
        for cause in ("all", *sorted({e[0] for e in entries})):
            part = np.array([e[1:] for e in entries if cause in ("all", e[0])], dtype=float)
            found, named, close = part.sum(axis=0)
            of_found = max(found, 1)
            print(
                f"| {minutes} | {cause} | {len(part)} | {100 * found / len(part):.0f} % | "
                f"{100 * named / of_found:.0f} % | {100 * close / of_found:.0f} % |"
            )


def _tell(case: Case, worth, settings: ZoneSettings, findings) -> None:
    change = worth.change
    print(
        f"miss: {case.seed} {case.zone.id} {case.minutes} min {change.cause} {change.setting}={change.value} "
        f"on {change.day}, worth {100 * worth.fraction:.0f} %, {worth.kwh_per_month:.0f} kWh a month"
    )
    for f in findings:
        print(f"    {f.kind} {f.since} {f.settings} {f.causes[:3]} {f.what[:150]}")
    for f in settings.findings:
        if f.setting == change.setting:
            print(f"    -> {f.setting}: {f.verdict} {f.why[:150]}")


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:3]))
