"""Load that burns at all hours on a zone's meter: standby, egress lighting, or lamps never off.

Standby of the fixtures stops counting once they light (their input power holds it); egress and
night lighting adds to every reading. The two cannot be told apart from the floor alone, so what
was agreed for standby decides, and what is left open widens the intervals. Nor does the meter tell
whether the lamps that burn always are among the fixtures counted: if they are, they belong to the zone's
levels as well.
"""

from dataclasses import dataclass, replace

from mv.base.study_records import Zone
from mv.controls.tolerances import LOW, standby_tolerance
from mv.controls.vacant_days import MOST_ALWAYS_ON
from mv.controls.zone_table import ZoneRecord

SURE_ALWAYS_ON = 0.08  # level up to which a floor is taken for off-plus-egress; common practice, no source
USUAL_EGRESS = 0.06  # of the connected load, where nothing else tells; common practice, no source
RESTLESS = 0.015  # level; a smaller coming and going of the floor is noise; common practice, no source
COUNTED_SHARE = 0.5  # of egress lamps taken to be among the fixtures counted: either may be; no source
STANDBY_RANGE_W = (0.1, 1.5)  # W a fixture, plausible standby of a control node (trade rule of thumb)


@dataclass(frozen=True, slots=True)
class AlwaysOn:
    """`base`: lowest load, level. `extra` +- `doubt`: the part that adds to every reading.

    kind: "standby" (the floor is the fixtures' own), "egress" (more than that burns always),
    "lamps" (the lamps themselves are never off), "open" (cannot be told), "unknown" (no floor).
    """

    base: float
    extra: float
    doubt: float
    kind: str

    def taken_off(self, level: float, full: float) -> float:
        """What of a reading at `level` is not the zone's, where lamps wholly on read `full`.

        Egress lamps of share e of the connected load, counted among the fixtures and at the full
        level t with them, leave (P - e) / (1 - e / t) for the others; not counted, P - e.
        """
        return self.extra - COUNTED_SHARE * self.counted(level, full)

    def doubt_at(self, level: float, full: float) -> float:
        """Half-width of a level that the always-on load leaves."""
        return self.doubt + COUNTED_SHARE * self.counted(level, full)

    def counted(self, level: float, full: float) -> float:
        """What a level gains where all that burns always is lamps counted in the zone."""
        if self.kind != "egress" or full <= self.extra:
            return 0.0
        return self.extra * min(max((level - self.extra) / (full - self.extra), 0.0), 1.0)


def always_on(
    zone: Zone,
    record: ZoneRecord,
    base: float | None,
    lowest_open: float | None,
    *,
    restless: float = 0.0,
) -> AlwaysOn:
    """What the floor is made of. `lowest_open`: the lowest level when vacant in opening hours;
    `restless`: the level by which another load comes and goes."""
    if base is None:
        return AlwaysOn(0.0, 0.0, 0.0, "unknown")
    watts = 1000.0 * record.full_kw / zone.fixtures if zone.fixtures and record.load_known else None
    at_floor = lowest_open is None or lowest_open <= base + 0.02 + restless
    told_off = zone.commissioned.low_level == 0.0
    if _rests_at_low(zone, base):
        return _lamps_or_open(zone, base)
    if base > MOST_ALWAYS_ON or (base > SURE_ALWAYS_ON and at_floor and not told_off):
        return _lamps_or_open(zone, base)
    agreed = zone.commissioned.standby_watts
    if watts is None:
        return AlwaysOn(base, base / 2, base / 2, "standby" if base <= 0.03 else "egress")
    if agreed is not None:
        room = standby_tolerance(agreed, record.step_level * watts).apart / watts
        excess = base - agreed / watts
        if excess <= room:  # what lies above the agreed may be standby, or a little light that burns always
            return AlwaysOn(base, max(excess, 0.0) / 2, max(excess, 0.0) / 2, "standby")
        return AlwaysOn(base, excess, 0.1 * excess, "egress")
    least, most = (max(0.0, base - w / watts) for w in reversed(STANDBY_RANGE_W))
    kind = "standby" if base <= STANDBY_RANGE_W[1] / watts else "egress"
    return AlwaysOn(base, (least + most) / 2, (most - least) / 2, kind)


def with_restless(floor: AlwaysOn, restless: float) -> AlwaysOn:
    """The floor where another load comes and goes by `restless`, a level: it is in a reading or not."""
    if restless <= RESTLESS:
        return floor
    return replace(floor, extra=floor.extra + restless / 2, doubt=floor.doubt + restless / 2)


def _rests_at_low(zone: Zone, base: float) -> bool:
    """True where lamps were agreed to stay at their low level at all hours, and the floor is about that."""
    low = zone.commissioned.low_level
    return bool(low) and zone.commissioned.scheduled_off is False and abs(base - (low or 0.0)) <= LOW.apart


def _lamps_or_open(zone: Zone, base: float) -> AlwaysOn:
    """The floor is high: lamps at their low level all night, with or without egress on top.

    Where no low level is agreed, lamps that are never off are at their full level all night.
    """
    agreed = zone.commissioned.low_level
    agreed = zone.commissioned.high_trim if agreed is None else agreed
    egress = USUAL_EGRESS
    if agreed is not None and agreed > 0.0 and -LOW.apart <= base - agreed <= SURE_ALWAYS_ON:
        egress = max(base - agreed, 0.0)
        return AlwaysOn(base, egress / 2, egress / 2 + 0.005, "lamps")
    if base > MOST_ALWAYS_ON:
        return AlwaysOn(base, egress / 2, egress / 2, "lamps")
    return AlwaysOn(base, base / 2, base / 2, "open")
