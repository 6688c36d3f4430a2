"""The bridge from the predicted to the verified annual saving."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Protocol

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.bridge.records import Bridge, BridgeStep, closed, half_width

HOURS_PER_YEAR = 8760.0
STATED = "stated promise against inventory"
HVAC = "HVAC interaction"
QUANTITY_AND_WATTS = "quantity and watts"
HOURS = "hours"
CONTROL = "control fraction"
STANDBY = "standby"


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

    `standby_kwh` is what sensors and drivers used of `after_kwh` with the light off; CannotSay
    or None where it was not told apart.
    """

    meter: str
    zones: tuple[InstalledZone, ...]
    before_kwh: Answer
    after_kwh: Answer
    measures: str = "lighting"
    standby_kwh: Answer | None = None


@dataclass(frozen=True, slots=True)
class _Sums:
    """Sums over the rows of one meter: loads in kW, energies in kWh a year."""

    before: float  # kW before x hours
    after_full: float  # kW after x hours
    after_controlled: float  # kW after x hours x (1 - control fraction)
    standby: float


def predicted_to_verified(
    *,
    predicted_kwh: float | None,
    verified_kwh: Answer,
    rows: Sequence[PromisedRow] = (),
    meters: Sequence[VerifiedMeter] = (),
) -> Bridge:
    """Where the difference between the promised and the verified annual kWh lies.

    Stated order, each step putting the found figure in the place of the promised one while all
    later ones stay as promised: (the stated number against the inventory's sum), HVAC
    interaction, quantity and watts, hours, control fraction, standby, unexplained. Steps are
    positive where more was verified than promised; they add up to verified - predicted.
    Without an inventory, or without a metered year before and after, the whole difference is
    "unexplained".
    """
    if predicted_kwh is None or isinstance(verified_kwh, CannotSay):
        return _without_pier(predicted_kwh, verified_kwh)
    steps = _steps(predicted_kwh, rows, meters) if rows else []
    total = _shifted(verified_kwh, -predicted_kwh)
    why = _remainder_why(rows, steps)
    start = _exact(predicted_kwh, verified_kwh.confidence)
    return Bridge(
        "predicted",
        start,
        "verified",
        verified_kwh,
        total,
        closed(steps, total, remainder_why=why, exact_steps=True),
    )


def row_saving_kwh(row: PromisedRow) -> tuple[float, float]:
    """A row's promised annual saving, kWh: (lighting alone, HVAC interaction on top)."""
    sums = _sums([row])
    lighting = sums.before - sums.after_controlled - sums.standby
    return lighting, lighting * (row.hvac_energy_factor - 1.0)


def _steps(
    predicted_kwh: float, rows: Sequence[PromisedRow], meters: Sequence[VerifiedMeter]
) -> list[BridgeStep]:
    confidence = next((m.before_kwh.confidence for m in meters if isinstance(m.before_kwh, Estimate)), 0.90)
    steps = []
    promised = math.fsum(math.fsum(row_saving_kwh(row)) for row in rows)
    if abs(promised - predicted_kwh) > 1e-6 * max(1.0, abs(predicted_kwh)):
        why = "the inventory's sum less the number stated in the study"
        steps.append(BridgeStep(STATED, _exact(promised - predicted_kwh, confidence), why))
    steps.append(_hvac_step(rows, meters, confidence))
    told = {meter.meter: _meter_steps(rows, meter, confidence) for meter in meters}
    metered = {zone.zone for meter in meters for zone in meter.zones}
    unmetered = sorted({row.zone for row in rows} - metered)
    for name, why in (
        (QUANTITY_AND_WATTS, "counts and watts as installed, at the promised hours and controls"),
        (HOURS, "full-load hours before from the meter, at the promised control fraction"),
        (CONTROL, "full-load hours after from the meter against those promised"),
        (STANDBY, "draw with the light off, metered against promised"),
    ):
        steps.append(_summed(name, why, {m: s[name] for m, s in told.items()}, unmetered))
    return steps


def _hvac_step(rows: Sequence[PromisedRow], meters: Sequence[VerifiedMeter], confidence: float) -> BridgeStep:
    """The promised interaction, where the meters cannot see it."""
    whole = {z.zone for m in meters if m.measures == "whole building" for z in m.zones}
    unseen = math.fsum(row_saving_kwh(row)[1] for row in rows if row.zone not in whole)
    seen = math.fsum(row_saving_kwh(row)[1] for row in rows if row.zone in whole)
    why = "promised heating and cooling effect, outside what a lighting meter sees"
    if seen:
        reason = "a whole-building meter holds the interaction together with all else"
        return BridgeStep(HVAC, CannotSay(HVAC, reason), reason)
    return BridgeStep(HVAC, _exact(-unseen, confidence), why)


def _meter_steps(rows: Sequence[PromisedRow], meter: VerifiedMeter, confidence: float) -> dict[str, Answer]:
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
    quantity: Answer = _exact(found_load - promised_load, confidence)
    if not all(_counted(zone) for zone in meter.zones):
        quantity = CannotSay(QUANTITY_AND_WATTS, f"{meter.meter}: {_UNCOUNTED}")
    lit_after = float(after.estimate) - used
    return {
        QUANTITY_AND_WATTS: quantity,
        HOURS: _about((ratio - 1.0) * found_load, hours_half, confidence),
        CONTROL: _about(controlled - lit_after, control_half, confidence),
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
    found = meter.standby_kwh
    return found if isinstance(found, Estimate) else _exact(promised, confidence)


def _standby_step(meter: VerifiedMeter, promised: float, found: Estimate) -> Answer:
    if isinstance(meter.standby_kwh, Estimate):
        return _shifted(found.scaled(-1.0), promised)
    why = "the draw with the light off was not told apart; it lies in the control fraction"
    if isinstance(meter.standby_kwh, CannotSay):
        why = f"{meter.standby_kwh.why}; it lies in the control fraction"
    return CannotSay(STANDBY, f"{meter.meter}: {why}")


def _summed(name: str, why: str, by_meter: dict[str, Answer], unmetered: Sequence[str]) -> BridgeStep:
    """The sum over the meters that can tell; CannotSay where none can."""
    told = [answer for answer in by_meter.values() if isinstance(answer, Estimate)]
    reasons = [answer.why for answer in by_meter.values() if isinstance(answer, CannotSay)]
    if unmetered:
        reasons.append(f"no meter for zone {', '.join(unmetered)}")
    if not told:
        reason = "; ".join(reasons) or "no meter is tied to the inventory"
        return BridgeStep(name, CannotSay(name, reason), reason, by_meter)
    half = math.hypot(*(half_width(answer) for answer in told))
    value = math.fsum(float(answer.estimate) for answer in told)
    told_why = why if not reasons else f"{why}; not told, and within the rest: {'; '.join(reasons)}"
    return BridgeStep(name, _about(value, half, told[0].confidence), told_why, by_meter)


def _remainder_why(rows: Sequence[PromisedRow], steps: Sequence[BridgeStep]) -> str:
    if not rows:
        return "not explained by the data given: the prediction is a number without an inventory"
    untold = [step.step for step in steps if isinstance(step.kwh, CannotSay)]
    if untold:
        return f"what the steps leave; it holds what cannot be told: {', '.join(untold)}"
    return "what the steps leave: events, conditions and loads that the inventory does not know"


def _without_pier(predicted_kwh: float | None, verified_kwh: Answer) -> Bridge:
    reason = "no annual kWh was predicted"
    if isinstance(verified_kwh, CannotSay):
        reason = verified_kwh.why
    unsaid = CannotSay("bridge from predicted to verified", reason)
    start: Answer = CannotSay("predicted annual kWh", "the study states none")
    if predicted_kwh is not None:
        start = _exact(predicted_kwh, 0.90)
    return Bridge("predicted", start, "verified", verified_kwh, unsaid, ())


def _exact(value: float, confidence: float) -> Estimate:
    return Estimate(value, value, value, confidence, 0.0)


def _about(value: float, half: float, confidence: float) -> Estimate:
    return Estimate(value, value - half, value + half, confidence)


def _shifted(answer: Estimate, by: float) -> Estimate:
    value = float(answer.estimate) + by
    low = None if answer.low is None else answer.low + by
    high = None if answer.high is None else answer.high + by
    return Estimate(value, low, high, answer.confidence, answer.standard_error)
