"""Recovery bench: simulated zones with known settings, metered at 1, 5 and 15 minutes.

Run by hand: python tests/benchmarks/bench_settings.py [zones] [first seed] [file for each finding]
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


def main(zones: int = 300, first: int = 1, out: str = "") -> None:
    """Prints misses as they come and the table at the end; `out` gets a line a finding on the way."""
    rows = defaultdict(list)
    seconds = defaultdict(list)
    drifted = 0
    for seed in range(first, first + zones):
        lines = []
        for case in kept(f"quiet-{seed}", lambda s=seed: cases(site_design(s), s, INTERVALS)):
            began = time.perf_counter()
            result = inferred(case)
            seconds[case.minutes].append(time.perf_counter() - began)
            drifted += false_drift(case, result) if case.minutes == max(INTERVALS) else 0
            for finding in result.findings:
                truth = case.truth["end"][finding.setting]
                rows[case.minutes, finding.setting].append(_outcome(finding, truth))
                _tell(case, finding, truth)
                lines.append((seed, case.minutes, finding.setting, *rows[case.minutes, finding.setting][-1]))
        if out:
            with Path(out).open("a") as record:
                record.writelines(" ".join(map(str, line)) + "\n" for line in lines)
    table(rows, zones)
    for minutes, values in seconds.items():
        print(f"{minutes} min: median {np.median(values):.2f} s, longest {max(values):.2f} s a zone-year")
    print(f"{drifted} false signs or drift in {zones} quiet zone-years at {max(INTERVALS)} min")


def _outcome(finding, truth) -> tuple[float, float, float, float, bool]:
    """Estimate (NaN where untold), ends, truth, and whether it was called moved."""
    now = finding.observed
    moved = finding.verdict == "moved"
    if not isinstance(now, Estimate):
        return np.nan, np.nan, np.nan, float(truth), moved
    ends = (now.low, now.high) if now.low is not None else (np.nan, np.nan)
    return float(now.estimate), *ends, float(truth), moved


def table(rows, zones: int) -> None:
    """The recovery table in Markdown; the root mean square of error over half-width is 0.61 for normal
    errors whose 90 % interval is right."""
    print(f"\n{zones} zones")
    print(
        "| interval | setting | told | within limit | worst | covered by 90 % interval | median half-width "
        "| error over half-width | false moved |"
    )
    print("|---|---|---|---|---|---|---|---|---|")
    for (minutes, setting), entries in sorted(rows.items()):
        print(_line(minutes, setting, np.array(entries, dtype=float)))


def _line(minutes: int, setting: str, entries: np.ndarray) -> str:
    told = entries[np.isfinite(entries[:, 0])]
    head = f"| {minutes} | {setting} | {len(told)}/{len(entries)} |"
    moved = int(entries[:, 4].sum())
    error = told[:, 0] - told[:, 3]
    if not len(told):
        return f"{head} | | | | | {moved} |"
    if setting in ("daylight_dimming", "scheduled_off"):
        return f"{head} {100 * np.mean(error == 0):.1f} % right | | | | | {moved} |"
    limit = WITHIN[setting][minutes]
    inside = 100 * np.mean(np.abs(error) <= limit)
    cover = 100 * np.mean((told[:, 1] <= told[:, 3]) & (told[:, 3] <= told[:, 2]))
    worst, half = float(np.abs(error).max()), (told[:, 2] - told[:, 1]) / 2
    middle = (told[:, 1] + told[:, 2]) / 2 - told[:, 3]
    spread = float(np.sqrt(np.mean((middle / half) ** 2)))
    return (
        f"{head} {inside:.1f} % within {limit:g} | {worst:.3g} | {cover:.1f} % | {np.median(half):.2g} "
        f"| {spread:.2f} | {moved} |"
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
    main(*(int(a) for a in sys.argv[1:3]), *sys.argv[3:4])
