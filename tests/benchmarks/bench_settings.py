"""Recovery bench: simulated zones with known settings, metered at 1, 5 and 15 minutes.

Run by hand: python tests/benchmarks/bench_settings.py [zones] [first seed]
"""

import sys
import time
from collections import defaultdict
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from settings_cases import Case, cases, inferred, kept, looked_at, site_design

from mv.base.estimate import Estimate
from mv.controls import ZoneSettings

INTERVALS = (1, 5, 15)
WITHIN = {
    "high_trim": {1: 0.03, 5: 0.03, 15: 0.03},
    "low_level": {1: 0.03, 5: 0.03, 15: 0.03},
    "hold_minutes": {1: 1.0, 5: 2.0, 15: 5.0},
    "standby_watts": {1: 0.2, 5: 0.2, 15: 0.2},
}


def false_drift(case: Case, result: ZoneSettings) -> int:
    """Findings of drift that rest on no setting, in a zone where nothing changed."""
    _, findings = looked_at(case, result)
    bare = [f for f in findings if f.kind != "gap" and not f.settings]
    for finding in bare:
        print(f"drift: seed {case.seed} {case.zone.id} {case.minutes} min {finding.kind}: {finding.what}")
    for sign in result.signs:
        print(f"sign: seed {case.seed} {case.zone.id} {case.minutes} min {sign.setting}: {sign.why}")
    return len(bare) + sum(sign.verdict == "moved" for sign in result.signs)


def main(zones: int = 300, first: int = 1, *, loud: bool = True) -> None:
    rows = defaultdict(list)
    seconds = defaultdict(list)
    drifted: dict[int, int] = defaultdict(int)
    for seed in range(first, first + zones):
        for case in kept(f"quiet-{seed}", lambda s=seed: cases(site_design(s), s, INTERVALS)):
            began = time.perf_counter()
            result = inferred(case)
            seconds[case.minutes].append(time.perf_counter() - began)
            drifted[case.minutes] += false_drift(case, result)
            for finding in result.findings:
                truth = case.truth["end"][finding.setting]
                rows[case.minutes, finding.setting].append((case, finding, truth))
                _tell(case, finding, truth) if loud else None
    print(f"\n{zones} zones from seed {first}")
    print("| interval | setting | told | within limit | worst | covered by 90 % interval | false moved |")
    print("|---|---|---|---|---|---|---|")
    for (minutes, setting), entries in sorted(rows.items()):
        print(_line(minutes, setting, entries))
    for minutes, values in seconds.items():
        print(
            f"{minutes} min: median {np.median(values):.2f} s, longest {max(values):.2f} s a zone-year; "
            f"{drifted[minutes]} false signs or drift in {len(values)} quiet zone-years"
        )


def _line(minutes: int, setting: str, entries: list) -> str:
    told = [(f.observed, t) for _, f, t in entries if isinstance(f.observed, Estimate)]
    moved = sum(f.verdict == "moved" for _, f, _ in entries)
    if setting in ("daylight_dimming", "scheduled_off"):
        right = [bool(o.estimate) == t for o, t in told]
        share = f"{100 * np.mean(right):.1f} % right" if right else "-"
        return f"| {minutes} | {setting} | {len(told)}/{len(entries)} | {share} | | | {moved} |"
    error = np.array([o.estimate - t for o, t in told])
    limit = WITHIN[setting][minutes]
    inside = 100 * np.mean(np.abs(error) <= limit) if len(error) else np.nan
    cover = 100 * np.mean([o.low <= t <= o.high for o, t in told]) if told else np.nan
    worst = float(np.abs(error).max()) if len(error) else np.nan
    return (
        f"| {minutes} | {setting} | {len(told)}/{len(entries)} | {inside:.1f} % within {limit:g} | "
        f"{worst:.3g} | {cover:.1f} % | {moved} |"
    )


def _tell(case: Case, finding, truth) -> None:
    """Prints the misses."""
    now = finding.observed
    where = f"seed {case.seed} {case.zone.id} {case.minutes} min {finding.setting}"
    if not isinstance(now, Estimate):
        print(f"untold: {where} (true {truth}): {finding.why}")
    elif finding.setting in WITHIN:
        if abs(now.estimate - truth) > WITHIN[finding.setting][case.minutes]:
            print(f"off: {where}: {now.estimate:.3f} for {truth}: {finding.why}")
    elif bool(now.estimate) != truth:
        print(f"wrong: {where}: {now.estimate} for {truth}: {finding.why}")
    if finding.verdict == "moved":
        print(f"moved: {where}: {finding.why}")


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:3]))
