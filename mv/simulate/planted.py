"""Faults drawn at random for benches: of control after hand-over, and of files."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta

import numpy as np

from mv.simulate.arrays import stream
from mv.simulate.design import Setting, SettingChange, SiteDesign, ZoneDesign
from mv.simulate.meter import FaultKind, FileFault

Option = tuple[Setting, float | bool, str]

CHANGE_KINDS: tuple[str, ...] = (
    "trim removed",
    "delay lengthened",
    "sensor bypassed",
    "daylight sensor dead",
    "schedule lost in a power cut",
    "override left on",
    "low level raised",
    "lamps failed",
    "standby grown",
    "load added",
    "controller clock shifted",
    "photocell stuck on",
    "photocell switches early",
)


def random_changes(
    design: SiteDesign,
    seed: int,
    *,
    number: int = 1,
    kinds: Sequence[str] | None = None,
    first_after_days: int = 90,
    last_before_days: int = 60,
) -> tuple[SettingChange, ...]:
    """Faults of control, each in a zone of its own where it can show, on dates well inside reporting.

    `kinds` of CHANGE_KINDS to draw from; None: all. Fewer than `number` come where zones lack what
    could fail. What each is worth: `change_worths` of the simulated site.
    """
    rng = stream(seed, "random changes")
    first, last = design.reporting
    room = max((last - first).days - first_after_days - last_before_days, 1)
    found: list[SettingChange] = []
    for place in rng.permutation(len(design.zones)).tolist():
        day = first + timedelta(days=first_after_days + int(rng.integers(room)))
        minute = int(rng.integers(7 * 60, 17 * 60))
        zone = design.zones[place]
        options = [option for option in _options(zone, rng) if kinds is None or option[2] in kinds]
        if options and len(found) < number:
            setting, value, cause = options[int(rng.integers(len(options)))]
            found.append(SettingChange(zone.id, day, setting, value, minute, cause))
    return tuple(found)


def _options(zone: ZoneDesign, rng: np.random.Generator) -> list[Option]:
    """What can go wrong in this zone, with a size drawn for each."""
    load = zone.connected_kw_after
    always: list[Option] = [
        ("lamps_failed", round(float(rng.uniform(0.05, 0.25)), 2), "lamps failed"),
        ("standby_watts", zone.commissioned.standby_watts + float(rng.uniform(1, 3)), "standby grown"),
        ("added_kw", round(load * float(rng.uniform(0.05, 0.3)), 3), "load added"),
    ]
    return always + (_outdoor_options(zone, rng) if zone.outdoor else _indoor_options(zone, rng))


def _outdoor_options(zone: ZoneDesign, rng: np.random.Generator) -> list[Option]:
    early = zone.commissioned.switching_elevation + float(rng.uniform(4, 9))
    return [
        ("photocell_stuck", True, "photocell stuck on"),
        ("switching_elevation", early, "photocell switches early"),
    ]


def _indoor_options(zone: ZoneDesign, rng: np.random.Generator) -> list[Option]:
    agreed = zone.commissioned
    options: list[Option] = [("override_on", True, "override left on")]
    if agreed.high_trim <= 0.92:
        options.append(("high_trim", 1.0, "trim removed"))
    if agreed.occupancy_sensing:
        longer = agreed.hold_minutes + float(rng.choice([10, 15, 20, 30]))
        options.append(("hold_minutes", longer, "delay lengthened"))
        options.append(("sensor_bypassed", True, "sensor bypassed"))
        raised = round(agreed.low_level + float(rng.uniform(0.15, 0.4)), 2)
        options.append(("low_level", min(raised, agreed.high_trim), "low level raised"))
    if agreed.daylight_dimming:
        options.append(("daylight_dimming", False, "daylight sensor dead"))
    scheduled = agreed.scheduled_off and (agreed.low_level > 0 or not agreed.occupancy_sensing)
    if scheduled:
        options.append(("scheduled_off", False, "schedule lost in a power cut"))
        options.append(
            ("clock_offset_minutes", float(rng.choice([-60, 60, 180])), "controller clock shifted")
        )
    return options


def random_file_faults(first: date, last: date, seed: int, *, per_year: float = 6.0) -> tuple[FileFault, ...]:
    """Gaps, doubled blocks, catch-up lumps, spikes and text marks, on random days of the local dates."""
    rng = stream(seed, "random file faults")
    days = (last - first).days - 3
    kinds: tuple[FaultKind, ...] = ("gap", "duplicate", "lump", "spike", "text")
    when = np.sort(
        rng.choice(
            np.arange(1, max(days, 2)), min(_poisson(rng, per_year * days / 365), days // 4), replace=False
        )
    )
    faults = []
    for day in when[np.append(True, np.diff(when) > 3)].tolist():
        start = datetime.combine(first + timedelta(days=int(day)), datetime.min.time())
        start += timedelta(minutes=15 * int(rng.integers(12, 92)))
        kind = kinds[int(rng.integers(len(kinds)))]
        long = 60 * int(rng.choice([1, 3, 8, 30, 60])) if kind == "gap" else 15 * int(rng.integers(1, 24))
        faults.append(FileFault(kind, start, long, float(rng.uniform(15, 80))))
    return tuple(faults)


def _poisson(rng: np.random.Generator, mean: float) -> int:
    return int(rng.poisson(max(mean, 0.0)))
