"""One meter's share of the bridge from promise to proof: counts, hours, controls, standby."""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.bridge.chain import DAYLIGHT, OCCUPANCY, SCHEDULE, TRIM
from mv.bridge.chain import STANDBY as STANDBY_MEASURE
from mv.bridge.records import half_width, on_grid

HOURS_PER_YEAR = 8760.0
QUANTITY_AND_WATTS = "quantity and watts"
HOURS = "hours"
CONTROL = "control fraction"
STANDBY = "standby"
STRATEGIES = (TRIM, OCCUPANCY, DAYLIGHT, SCHEDULE)
PROMISED = "promised"
NOT_TOLD_APART = "not told apart"


class PromisedRow(Protocol):
    """What the bridge asks of an inventory row; watts are per fixture, factors multiply."""

    @property
    def zone(self) -> str: ...
    @property
    def quantity(self) -> float: ...
    @property
    def watts_before(self) -> float: ...
    @property
    def watts_after(self) -> float: ...
    @property
    def hours_per_year(self) -> float: ...
    @property
    def control_saving_fraction(self) -> float: ...
    @property
    def standby_watts(self) -> float: ...
    @property
    def hvac_energy_factor(self) -> float: ...


@dataclass(frozen=True, slots=True)
class InstalledZone:
    """A zone as found: connected load, kW, before and after; None where nobody counted."""

    zone: str
    connected_kw_before: float | None = None
    connected_kw_after: float | None = None


@dataclass(frozen=True, slots=True)
class VerifiedMeter:
    """A meter's verified year: use before and after at the same conditions, kWh, and its zones.

    `measures_kwh` is what each measure saved in that year, by the names of the bridge from
    baseline to reporting; empty where it was not told. `standby_kwh` is what sensors and drivers
    used of `after_kwh` with the light off; None takes it from `measures_kwh`.
    """

    meter: str
    zones: tuple[InstalledZone, ...]
    before_kwh: Answer
    after_kwh: Answer
    measures: str = "lighting"
    standby_kwh: Answer | None = None
    measures_kwh: Mapping[str, Answer] = field(default_factory=dict)

    @property
    def saving_half_width(self) -> float:
        """Half of the interval of the year's saving, kWh; 0 where it cannot be said."""
        uses = [use for use in (self.before_kwh, self.after_kwh) if isinstance(use, Estimate)]
        return math.hypot(*(half_width(use) for use in uses))

    @property
    def standby_used(self) -> Answer | None:
        """Standby use of the year, kWh."""
        if self.standby_kwh is not None:
            return self.standby_kwh
        saved = self.measures_kwh.get(STANDBY_MEASURE)
        return saved.scaled(-1.0) if isinstance(saved, Estimate) else saved


@dataclass(frozen=True, slots=True)
class _Sums:
    """Sums over the rows of one meter: loads in kW, energies in kWh a year."""

    before: float  # kW before x hours
    after_full: float  # kW after x hours
    after_controlled: float  # kW after x hours x (1 - control fraction)
    standby: float


def row_saving_kwh(row: PromisedRow) -> tuple[float, float]:
    """A row's promised annual saving, kWh: (lighting alone, HVAC interaction on top)."""
    sums = _sums([row])
    lighting = sums.before - sums.after_controlled - sums.standby
    return lighting, lighting * (row.hvac_energy_factor - 1.0)


def meter_steps(rows: Sequence[PromisedRow], meter: VerifiedMeter, confidence: float) -> dict[str, Answer]:
    """The four steps of one meter, or the reasons why not."""
    reason = _reason_against(rows, meter)
    if reason:
        return {
            name: CannotSay(name, f"{meter.meter}: {reason}")
            for name in (QUANTITY_AND_WATTS, HOURS, CONTROL, STANDBY)
        }
    mine = [row for row in rows if row.zone in {zone.zone for zone in meter.zones}]
    before, after = meter.before_kwh, meter.after_kwh
    assert isinstance(before, Estimate) and isinstance(after, Estimate)  # as the reason says
    promised, found = _sums(mine), _sums_as_found(mine, meter.zones)
    ratio = float(before.estimate) / found.before
    slope = 1.0 - found.after_controlled / found.before  # hours step per kWh of use before
    standby = _standby_kwh(meter, promised.standby, confidence)
    used = float(standby.estimate)
    controlled = found.after_controlled * ratio
    promised_load = promised.before - promised.after_controlled
    found_load = found.before - found.after_controlled
    hours_half = abs(slope) * half_width(before)
    control_half = math.hypot(
        half_width(before) * found.after_controlled / found.before,
        half_width(after),
        half_width(standby),
    )
    quantity: Answer = exact(found_load - promised_load, confidence)
    if not all(_counted(zone) for zone in meter.zones):
        quantity = CannotSay(QUANTITY_AND_WATTS, f"{meter.meter}: {_UNCOUNTED}")
    lit_after = float(after.estimate) - used
    return {
        QUANTITY_AND_WATTS: quantity,
        HOURS: about((ratio - 1.0) * found_load, hours_half, confidence),
        CONTROL: about(controlled - lit_after, control_half, confidence),
        STANDBY: _standby_step(meter, promised.standby, standby),
    }


_UNCOUNTED = "installed counts and watts are not in the study, so the inventory's are taken"


def _reason_against(rows: Sequence[PromisedRow], meter: VerifiedMeter) -> str | None:
    zones = {zone.zone for zone in meter.zones}
    listed = {row.zone for row in rows}
    if meter.measures == "whole building":
        return "a whole-building meter does not show the lighting alone"
    if not zones or not zones & listed:
        return "the inventory has no row for what this meter feeds"
    if zones - listed:
        return f"the inventory has no row for zone {', '.join(sorted(zones - listed))}"
    for answer in (meter.before_kwh, meter.after_kwh):
        if isinstance(answer, CannotSay):
            return answer.why
    if _sums_as_found([r for r in rows if r.zone in zones], meter.zones).before <= 0:
        return "the inventory promises no use before the retrofit"
    return None


def _counted(zone: InstalledZone) -> bool:
    return zone.connected_kw_before is not None and zone.connected_kw_after is not None


def _sums(rows: Sequence[PromisedRow]) -> _Sums:
    before = [r.quantity * r.watts_before * r.hours_per_year / 1000.0 for r in rows]
    after = [r.quantity * r.watts_after * r.hours_per_year / 1000.0 for r in rows]
    used = [kwh * (1.0 - r.control_saving_fraction) for kwh, r in zip(after, rows, strict=True)]
    standby = [
        r.quantity
        * r.standby_watts
        * max(0.0, HOURS_PER_YEAR - r.hours_per_year * (1.0 - r.control_saving_fraction))
        / 1000.0
        for r in rows
    ]
    return _Sums(*(math.fsum(values) for values in (before, after, used, standby)))


def _sums_as_found(rows: Sequence[PromisedRow], zones: Collection[InstalledZone]) -> _Sums:
    """The promised sums with each zone's connected load as installed."""
    parts = []
    for zone in zones:
        mine = [row for row in rows if row.zone == zone.zone]
        sums = _sums(mine)
        before_kw = math.fsum(row.quantity * row.watts_before / 1000.0 for row in mine)
        after_kw = math.fsum(row.quantity * row.watts_after / 1000.0 for row in mine)
        b = _factor(zone.connected_kw_before, before_kw)
        a = _factor(zone.connected_kw_after, after_kw)
        parts.append(_Sums(sums.before * b, sums.after_full * a, sums.after_controlled * a, sums.standby))
    return _Sums(
        math.fsum(p.before for p in parts),
        math.fsum(p.after_full for p in parts),
        math.fsum(p.after_controlled for p in parts),
        math.fsum(p.standby for p in parts),
    )


def _factor(found_kw: float | None, promised_kw: float) -> float:
    return 1.0 if found_kw is None or promised_kw <= 0 else found_kw / promised_kw


def _standby_kwh(meter: VerifiedMeter, promised: float, confidence: float) -> Estimate:
    found = meter.standby_used
    return found if isinstance(found, Estimate) else exact(promised, confidence)


def _standby_step(meter: VerifiedMeter, promised: float, found: Estimate) -> Answer:
    used = meter.standby_used
    if isinstance(used, Estimate):
        return shifted(found.scaled(-1.0), promised)
    why = "the draw with the light off was not told apart; it lies in the control fraction"
    if isinstance(used, CannotSay):
        why = f"{used.why}; it lies in the control fraction"
    return CannotSay(STANDBY, f"{meter.meter}: {why}")


def strategies(
    rows: Sequence[PromisedRow], meters: Sequence[VerifiedMeter], control: Answer
) -> dict[str, Answer]:
    """The control step by strategy, kWh a year: the promised saving taken off, each found one put in.

    The promised one is at the found load and hours. "not told apart" is the rest of the step, and
    the parts add up to it exactly. Empty where no strategy was told.
    """
    telling = [meter for meter in meters if not _reason_against(rows, meter)]
    found = {name: _told(telling, name) for name in STRATEGIES}
    known = {name: answer for name, answer in found.items() if answer is not None}
    if not known or isinstance(control, CannotSay):
        return {}
    promised = math.fsum(_promised_control_kwh(rows, meter) for meter in telling)
    parts: dict[str, Answer] = {
        name: on_grid(answer)
        for name, answer in {PROMISED: exact(-promised, control.confidence), **known}.items()
    }
    told = [answer for answer in parts.values() if isinstance(answer, Estimate)]
    rest = float(control.estimate) - math.fsum(float(answer.estimate) for answer in told)
    half = math.hypot(half_width(control), *(half_width(answer) for answer in told))
    parts[NOT_TOLD_APART] = about(rest, half, control.confidence)
    return parts


def _told(meters: Sequence[VerifiedMeter], name: str) -> Estimate | None:
    """What a strategy saved on the meters that tell it; None where none does."""
    answers = [meter.measures_kwh.get(name) for meter in meters]
    told = [answer for answer in answers if isinstance(answer, Estimate)]
    if not told:
        return None
    half = math.hypot(*(half_width(answer) for answer in told))
    return about(math.fsum(float(a.estimate) for a in told), half, told[0].confidence)


def _promised_control_kwh(rows: Sequence[PromisedRow], meter: VerifiedMeter) -> float:
    mine = [row for row in rows if row.zone in {zone.zone for zone in meter.zones}]
    found = _sums_as_found(mine, meter.zones)
    assert isinstance(meter.before_kwh, Estimate)  # as no reason speaks against the meter
    ratio = float(meter.before_kwh.estimate) / found.before
    return (found.after_full - found.after_controlled) * ratio


def exact(value: float, confidence: float) -> Estimate:
    value += 0.0  # no negative nothing
    return Estimate(value, value, value, confidence, 0.0)


def about(value: float, half: float, confidence: float) -> Estimate:
    return Estimate(value, value - half, value + half, confidence)


def shifted(answer: Estimate, by: float) -> Estimate:
    value = float(answer.estimate) + by
    low = None if answer.low is None else answer.low + by
    high = None if answer.high is None else answer.high + by
    return Estimate(value, low, high, answer.confidence, answer.standard_error)
