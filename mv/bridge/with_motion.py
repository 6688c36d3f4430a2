"""The chain of a meter whose zones have motion logs."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from mv.bridge.chain import Chain
from mv.bridge.evidence import MeterEvidence
from mv.bridge.frame import Frame, held_matrix
from mv.bridge.levels import Levels
from mv.bridge.measure_energies import always_lit, base_floor, measure_energies
from mv.bridge.motion_model import MotionSums, Told, motion_sums
from mv.bridge.old_lighting import OldUse
from mv.bridge.standby import standby_from_floor
from mv.bridge.told import (
    LAMPS_DOUBT,
    LEVEL_ERROR,
    agreed_full_kw,
    agreed_standby_kw,
    lamps_share,
    low_kw,
    scheduled,
    vacant_rise,
)

Floats = npt.NDArray[np.float64]
Energies = tuple[float, ...]

MODEL_ERROR = 0.01
"""Standard error of the held-or-vacant model of a meter's use, fraction. From the recovery bench."""
VACANT_ERROR = 0.05
"""Standard error of carrying the vacant level to closed hours, fraction. From the recovery bench."""
REACH_90 = 1.5  # a little below the two-sided normal quantile, so that the other cause lies inside
LESS_THAN_AGREED = 0.03
"""Full level below the agreed one, share, that may be failed lamps as well as a lower trim."""


@dataclass(frozen=True)
class MotionCase:
    """A meter, its frame and the constants of its chain; `lamps_share` burns in each spell."""

    meter: MeterEvidence
    table: Frame
    old: OldUse
    after_kw: float
    told: Told
    lamps_share: Floats

    def sums(self, *, shift: Floats | None = None) -> MotionSums | None:
        """Levels and sums, the hold times moved by so many standard errors."""
        zones_kw = np.array([zone.connected_kw_after or 0.0 for zone in self.meter.zones])
        return motion_sums(
            self.table,
            held_matrix(self.table, shift=shift),
            standby_kw=np.zeros(len(zones_kw)),
            zones_kw=zones_kw,
            told=self.told,
        )


def chain_with_motion(
    meter: MeterEvidence, table: Frame, old: OldUse, after_kw: float, timezone: str
) -> Chain | None:
    """The chain by the motion model; None where the meter shows no levels."""
    told = Told(
        vacant=lambda spell, z: vacant_rise(meter.zones[z], table.edges[spell], timezone),
        schedule=[tuple(scheduled(z, e, timezone) for z in meter.zones) for e in table.edges],
    )
    lamps = lamps_share(meter, table.edges, timezone)
    case = MotionCase(meter, table, old, after_kw, told, lamps)
    plain = case.sums()
    if plain is None or plain.used_kwh <= 0:
        return None
    low, low_error = low_kw(meter, table.edges[0], timezone)
    plain = replace(plain, low_kw=low)
    lit = always_lit(plain)
    at_times_dark = tuple(zone for zone, never in zip(meter.zones, lit, strict=True) if not never)
    standby, error = standby_from_floor(
        np.where(lit, 0.0, [zone.fixtures or 0.0 for zone in meter.zones]),
        base_floor(plain),
        egress=None if lit.any() else old.load.egress_after(after_kw),  # lit lamps blur the floor
        agreed_kw=agreed_standby_kw(at_times_dark),
    )
    sums = replace(plain, standby_kw=standby)
    energies = _energies(case, sums)
    parts = measure_energies(sums)
    known: list[float | None] = list(energies)
    if not parts.schedule_told:
        known[4] = None
    if not (parts.schedule_told if table.undimmed else parts.vacant_told):
        known[3] = None
    return Chain(tuple(known), _errors(case, sums, energies, error, low_error), _why(case, known))


def _energies(case: MotionCase, sums: MotionSums) -> Energies:
    """The seven energies, kWh; what does not dim for daylight has no daylight step."""
    parts = measure_energies(sums)
    scale = case.meter.actual_kwh / sums.used_kwh
    hours = sum(spell.hours for spell in sums.spells) * scale
    burning = case.old.burning_hours(hours)
    egress = parts.egress_kw * hours
    weights = np.array([max(spell.open_hours, 1e-9) for spell in sums.spells])
    lamps = float(weights @ case.lamps_share / weights.sum())
    sensing = parts.daylight if case.table.undimmed else parts.sensing
    return (
        case.old.energy,
        case.after_kw * lamps * burning + egress,
        parts.trim_kw * burning + egress,
        sensing * scale,
        parts.daylight * scale,
        parts.schedule * scale,
        case.meter.actual_kwh - parts.added * scale,
    )


def _errors(
    case: MotionCase, sums: MotionSums, energies: Energies, standby_error: Floats, low_error: Floats
) -> dict[str, Energies]:
    """What one standard error of each source of doubt does to every energy, kWh."""

    def moved(other: MotionSums, old: OldUse | None = None) -> Energies:
        there = _energies(case if old is None else replace(case, old=old), other)
        return tuple(a - b for a, b in zip(there, energies, strict=True))

    effect = VACANT_ERROR * (energies[4] - energies[5])
    misfit = max(spell.levels.misfit_fraction for spell in sums.spells)
    model = 0.0 if case.table.undimmed else max(MODEL_ERROR, misfit / 2.0) * energies[3]
    errors: dict[str, Energies] = {
        "baseline model": moved(sums, case.old.more()),
        "old load": moved(sums, case.old.heavier()),
        "standby": moved(replace(sums, standby_kw=sums.standby_kw + standby_error)),
        "vacant level told": moved(replace(sums, low_kw=sums.low_kw + low_error)),
        "new load": (0.0, LEVEL_ERROR * energies[1], 0.0, 0.0, 0.0, 0.0, 0.0),
        "failed lamps": (0.0, _lamps_doubt(case, sums), 0.0, 0.0, 0.0, 0.0, 0.0),
        "motion model": (0.0, 0.0, 0.0, model, 0.0, 0.0, 0.0),
        "vacant model": (0.0, 0.0, 0.0, effect, effect, 0.0, 0.0),
        "cause of a risen floor": _shared(moved(replace(sums, other_cause=True))),
    }
    for z in range(len(sums.zones_kw)):
        shift = np.zeros(len(sums.zones_kw))
        shift[z] = 1.0
        other = case.sums(shift=shift)
        if other is not None:
            errors[f"hold time {z}"] = moved(replace(other, standby_kw=sums.standby_kw, low_kw=sums.low_kw))
    for s, spell in enumerate(sums.spells):
        for c, column in enumerate(_columns(spell.levels)):
            spells = list(sums.spells)
            spells[s] = replace(spell, levels=_levels_moved(spell.levels, column))
            errors[f"levels {s}.{c}"] = moved(replace(sums, spells=tuple(spells)))
    return errors


def _shared(difference: Energies) -> Energies:
    """One standard error where a 90 % interval is to reach as far as the other cause."""
    return tuple(value / REACH_90 for value in difference)


def _lamps_doubt(case: MotionCase, sums: MotionSums) -> float:
    """kWh that a full level below the agreed one may be failed lamps (a lamp step) or trim."""
    agreed = agreed_full_kw(case.meter)
    found = measure_energies(sums).trim_kw
    if agreed is None or agreed - found < LESS_THAN_AGREED * agreed:
        return 0.0
    hours = sum(spell.hours for spell in sums.spells) * case.meter.actual_kwh / sums.used_kwh
    missing = (agreed - found) / agreed * case.after_kw
    return LAMPS_DOUBT * missing * case.old.burning_hours(hours)


def _columns(levels: Levels) -> list[Floats]:
    """Independent directions of the levels' doubt, one standard error long."""
    values, vectors = np.linalg.eigh(levels.covariance)
    return [np.sqrt(v) * vectors[:, k] for k, v in enumerate(values) if v > 0]


def _levels_moved(levels: Levels, by: Floats) -> Levels:
    vector = levels.vector + by
    zones = len(levels.held)
    return replace(levels, floor=float(vector[0]), held=vector[1 : 1 + zones], vacant=vector[1 + zones :])


def _why(case: MotionCase, known: list[float | None]) -> tuple[str, ...]:
    unseen = "no zone was seen vacant in opening hours, and no vacant level is agreed"
    sensing = "motion log with the hold time; full and vacant level from the meter"
    if case.table.undimmed:
        sensing = "metered use, without daylight dimming in any zone"
    return (
        "the baseline model at reporting conditions",
        f"connected load after, {case.after_kw:.4g} kW, for the old burning hours; {case.old.load.why}",
        "full level metered in the dark while held as occupied",
        unseen if known[3] is None else sensing,
        unseen if known[4] is None else "metered use, the vacant level put back in closed and vacant hours",
        "metered use without standby",
        "the power when closed and vacant, as far as it can be standby",
    )
