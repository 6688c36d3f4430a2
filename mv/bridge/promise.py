"""The bridge from the predicted to the verified annual saving."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.bridge.promise_meter import (
    CONTROL,
    HOURS,
    QUANTITY_AND_WATTS,
    STANDBY,
    PromisedRow,
    VerifiedMeter,
    about,
    exact,
    meter_steps,
    row_saving_kwh,
    shifted,
    strategies,
)
from mv.bridge.records import Bridge, BridgeStep, closed, half_width, on_grid

STATED = "stated promise against inventory"
HVAC = "HVAC interaction"


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
    total = shifted(verified_kwh, -predicted_kwh)
    why = _remainder_why(rows, steps)
    start = exact(predicted_kwh, verified_kwh.confidence)
    return Bridge(
        "predicted",
        start,
        "verified",
        verified_kwh,
        total,
        closed(steps, total, remainder_why=why, remainder_half=_remainder_half(steps, meters, total)),
    )


def _remainder_half(steps: Sequence[BridgeStep], meters: Sequence[VerifiedMeter], total: Estimate) -> float:
    """Half-width of the rest: that of the savings of the meters without steps of their own.

    A meter's steps are worked out from its own use before and after and add up to its saving;
    what is left holds no doubt of that meter.
    """
    hours = next((step for step in steps if step.step == HOURS), None)
    if hours is None:
        return half_width(total)
    untold = [m for m in meters if not isinstance(hours.by_part.get(m.meter), Estimate)]
    return min(half_width(total), math.hypot(*(m.saving_half_width for m in untold)))


def _steps(
    predicted_kwh: float, rows: Sequence[PromisedRow], meters: Sequence[VerifiedMeter]
) -> list[BridgeStep]:
    confidence = next((m.before_kwh.confidence for m in meters if isinstance(m.before_kwh, Estimate)), 0.90)
    steps = []
    promised = math.fsum(math.fsum(row_saving_kwh(row)) for row in rows)
    if abs(promised - predicted_kwh) > 1e-6 * max(1.0, abs(predicted_kwh)):
        why = "the inventory's sum less the number stated in the study"
        steps.append(BridgeStep(STATED, exact(promised - predicted_kwh, confidence), why))
    steps.append(_hvac_step(rows, meters, confidence))
    told = {meter.meter: meter_steps(rows, meter, confidence) for meter in meters}
    metered = {zone.zone for meter in meters for zone in meter.zones}
    unmetered = sorted({row.zone for row in rows} - metered)
    for name, why in (
        (QUANTITY_AND_WATTS, "counts and watts as the study states them, at the promised hours and controls"),
        (HOURS, "full-load hours before of that load, from the meter, at the promised control fraction"),
        (CONTROL, "full-load hours after of that load, from the meter, against those promised"),
        (STANDBY, "draw with the light off, metered against promised"),
    ):
        step = _summed(name, why, {m: s[name] for m, s in told.items()}, unmetered)
        if name == CONTROL:
            control = on_grid(step.kwh)
            step = replace(step, kwh=control, by_strategy=strategies(rows, meters, control))
        steps.append(step)
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
    return BridgeStep(HVAC, exact(-unseen, confidence), why)


def _summed(name: str, why: str, by_meter: Mapping[str, Answer], unmetered: Sequence[str]) -> BridgeStep:
    """The sum over the meters that can tell; CannotSay where none can."""
    by_meter = {meter: on_grid(answer) for meter, answer in by_meter.items()}
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
    return BridgeStep(name, about(value, half, told[0].confidence), told_why, by_meter)


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
        start = exact(predicted_kwh, 0.90)
    return Bridge("predicted", start, "verified", verified_kwh, unsaid, ())
