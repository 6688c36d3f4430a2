"""Settings that nobody agreed on a value for, against the simulator's truth of the month they are told of.

Run by hand: python tests/benchmarks/bench_observed.py [zones] [first seed]
Clock hours, after-hours use, overrides, off or dim, the answer to daylight; outdoors the sun elevation of
switching and the part-night dim. What depends on who came is held to the simulated minutes of that month.
"""

import sys
from collections import defaultdict
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from settings_cases import INDOOR, Case, cases_of, inferred, site_design

from mv.base.estimate import Estimate
from mv.controls.month_extras import BRIGHT_SUN_DEG, _by_sun_answer
from mv.simulate import simulate_site
from mv.simulate.new_lamps import Measures, occupied_level

INTERVALS = (5, 15, 60)
WITHIN = {
    "schedule_on_hour": (0.26, "h"),
    "schedule_off_hour": (0.26, "h"),
    "after_hours_kwh": (0.05, "of it"),
    "after_hours_share": (0.02, ""),
    "override_share": (0.02, ""),
    "daylight_depth": (0.05, ""),
    "daylight_deepest": (0.05, ""),
    "daylight_threshold_deg": (6.0, "deg"),
    "daylight_saturation_deg": (6.0, "deg"),
    "daylight_hold_off_share": (0.05, ""),
    "switching_on_deg": (1.0, "deg"),
    "switching_off_deg": (1.0, "deg"),
    "part_night_level": (0.03, ""),
    "burning_by_day_share": (0.02, ""),
}


def main(zones: int = 60, first: int = 1) -> None:
    """Prints misses as they come and the table at the end."""
    rows = defaultdict(list)
    for seed in range(first, first + zones):
        outdoor = seed % 5 == 0
        kinds = ("outdoor",) if outdoor else INDOOR
        site = simulate_site(site_design(seed, kinds=kinds, sensed=None if outdoor else True), seed)
        for case in cases_of(site, INTERVALS):
            for found in inferred(case).observed:
                truth = true_value(site, case, found.setting, found.month)
                rows[case.minutes, found.setting].append((found.observed, truth))
                _tell(case, found, truth)
    table(rows)


def true_value(site, case: Case, name: str, month: str | None) -> float | bool | None:
    """What the simulator did in that month; None where that is no single value."""
    zone, agreed = site.zones[0], case.design.zones[0].commissioned
    if name in ("schedule_on_hour", "schedule_off_hour"):
        return _hours(case, name)
    if name in ("switching_on_deg", "switching_off_deg"):
        return agreed.switching_elevation
    if name == "part_night_dim":
        return agreed.part_night_level < agreed.high_trim
    if name == "part_night_level":
        return agreed.part_night_level if agreed.part_night_level < agreed.high_trim else None
    if name == "off_when_vacant":
        return agreed.low_level == 0.0
    if name in ("override_share", "burning_by_day_share"):
        return 0.0
    if month is None:
        return None
    rows = _month_rows(site, month)
    if name.startswith("after_hours"):
        return _after_hours(zone, rows, share=name.endswith("share"))
    return _daylight(site, case, rows, name) if name.startswith("daylight") else None


def _hours(case: Case, name: str) -> float | None:
    agreed = case.design.zones[0].commissioned
    times = {span for _, span in (case.design.zones[0].hours or case.design.hours)}
    if len(times) > 1 or not agreed.scheduled_off or agreed.low_level == 0.0:
        return None
    clock = next(iter(times)).split("-")[0 if name == "schedule_on_hour" else 1]
    hour, minute = (int(part) for part in clock.split(":"))
    return hour + minute / 60.0


def _month_rows(site, month: str) -> np.ndarray:
    stamps = site.clock.stamps().tz_convert(site.design.timezone)
    year, number = (int(part) for part in month.split("-"))
    inside = (stamps.year == year) & (stamps.month == number)
    after = np.arange(site.clock.n) >= site.handover_minute
    return np.flatnonzero(np.asarray(inside) & after)


def _after_hours(zone, rows: np.ndarray, *, share: bool) -> float:
    design = zone.design
    floor = design.egress_kw_after + design.fixtures * design.commissioned.standby_watts / 1000.0
    above = np.clip(zone.actual_kw[rows] - floor, 0.0, None) / 60.0
    closed = float(above[~zone.scene.hours.open[rows]].sum())
    return closed / max(float(above.sum()), 1e-9) if share else closed


def _daylight(site, case: Case, rows: np.ndarray, name: str) -> float | None:
    """By the minutes with motion of the month; the classes of sun elevation are the product's own."""
    zone = site.zones[0]
    level = occupied_level(site.design, zone.design, zone.scene, Measures())[rows]
    relative = level / zone.design.commissioned.high_trim
    on, sun = zone.motion[rows], site.sky.elevation[rows]
    bright = on & (sun > BRIGHT_SUN_DEG)
    if not bright.any() or not zone.design.commissioned.daylight_dimming:
        return None
    if name == "daylight_depth":
        return float(np.mean(1.0 - relative[bright]))
    if name == "daylight_hold_off_share":
        return float(np.mean(relative[bright] <= 0.0))
    keep = on & (sun > -2.0)
    answers = _by_sun_answer(sun[keep], relative[keep], np.ones(int(keep.sum()), dtype=bool))
    return dict(zip(("deepest", "threshold_deg", "saturation_deg"), answers, strict=True))[
        name.removeprefix("daylight_")
    ]


def _tell(case: Case, found, truth) -> None:
    now = found.observed
    if not isinstance(now, Estimate) or truth is None:
        return
    where = f"seed {case.seed} {case.zone.id} {case.minutes} min {found.setting}"
    if isinstance(truth, bool):
        if bool(now.estimate) != truth:
            print(f"wrong: {where}: {now.estimate} for {truth}")
    elif _off(found.setting, now.estimate, truth) > 1.0:
        ends = "" if now.low is None else f" [{now.low:.3g}, {now.high:.3g}]"
        print(f"off: {where}: {now.estimate:.3g}{ends} for {truth:.3g}")


def _off(name: str, value: float, truth: float) -> float:
    """Distance in units of the limit."""
    limit, unit = WITHIN.get(name, (np.inf, ""))
    return abs(value - truth) / (limit * max(abs(truth), 1.0) if unit == "of it" else limit)


def table(rows) -> None:
    """The table in Markdown; "told": given at all, of these compared where the truth is one value."""
    print("| interval | setting | told | within limit | holds the truth | median half-width |")
    print("|---|---|---|---|---|---|")
    for (minutes, name), entries in sorted(rows.items(), key=lambda item: (item[0][1], item[0][0])):
        told = [pair for pair in entries if isinstance(pair[0], Estimate)]
        known = [(now, truth) for now, truth in told if truth is not None]
        head = f"| {minutes} | {name} | {len(told)}/{len(entries)} |"
        if not known:
            print(f"{head} | | |")
        elif isinstance(known[0][1], bool):
            print(f"{head} {sum(bool(n.estimate) == t for n, t in known)}/{len(known)} right | | |")
        else:
            _numbers(head, name, known)


def _numbers(head: str, name: str, known) -> None:
    inside = sum(_off(name, now.estimate, truth) <= 1.0 for now, truth in known)
    ended = [(now, truth) for now, truth in known if now.low is not None]
    held = sum(now.low - 1e-9 <= truth <= now.high + 1e-9 for now, truth in ended)
    half = np.median([(now.high - now.low) / 2 for now, _ in ended]) if ended else np.nan
    limit = " ".join(str(part) for part in WITHIN.get(name, ("", ""))).strip()
    print(f"{head} {inside}/{len(known)} within {limit} | {held}/{len(ended)} | {half:.3g} |")


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:3]))
