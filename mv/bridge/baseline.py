"""The bridge from baseline to reporting: what each measure saved."""

import math
from collections.abc import Sequence

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.bridge.chain import MEASURES, Chain
from mv.bridge.cost_notes import with_cost_notes
from mv.bridge.evidence import MeterEvidence
from mv.bridge.meter_chain import meter_chain
from mv.bridge.records import Bridge, BridgeStep, closed, half_width, on_grid

UNTOLD_MOST = 0.10
"""Share of the total that may lie with meters that cannot tell a step, for the others' sum to
stand for the site with that share in its interval. Common practice, no source."""

HIDDEN_SHARE = 0.5
"""Share of the energy before a run of untold steps that one of them may be. No source."""


def baseline_to_reporting(
    meters: Sequence[MeterEvidence],
    *,
    avoided_kwh: Answer,
    timezone: str,
    confidence: float = 0.90,
) -> Bridge:
    """What each measure saved over the reporting period, kWh, adding up to `avoided_kwh`.

    Stated order (each measure on top of those before): lamp and fixture change, high trim,
    occupancy sensing, daylight dimming, scheduling, standby (negative: it costs), unexplained.
    A step that only some meters can tell is their sum, with the rest's share in its interval
    where that is small; else it cannot be told, and `by_part` still shows what could.
    """
    if isinstance(avoided_kwh, CannotSay):
        unsaid = CannotSay("bridge from baseline to reporting", avoided_kwh.why)
        return Bridge("baseline", unsaid, "reporting", unsaid, unsaid, ())
    chains = {meter.meter: meter_chain(meter, timezone) for meter in meters}
    steps = [_step(number, chains, avoided_kwh, confidence) for number in range(1, 7)]
    steps = with_cost_notes(steps, tuple(chains.values()), confidence)
    actual = math.fsum(meter.actual_kwh for meter in meters)
    reporting = Estimate(actual, actual, actual, confidence, 0.0)
    baseline = _plus(avoided_kwh, actual)
    return Bridge(
        "baseline",
        baseline,
        "reporting",
        reporting,
        avoided_kwh,
        closed(steps, avoided_kwh, remainder_why=_remainder_why(steps, chains)),
    )


def _step(number: int, chains: dict[str, Chain], avoided_kwh: Estimate, confidence: float) -> BridgeStep:
    name = MEASURES[number - 1]
    by_meter = {meter: on_grid(chain.step(number, confidence)) for meter, chain in chains.items()}
    told = [answer for answer in by_meter.values() if isinstance(answer, Estimate)]
    untold = {m: a for m, a in by_meter.items() if isinstance(a, CannotSay)}
    reasons = "; ".join(f"{meter}: {answer.why}" for meter, answer in untold.items())
    if not told:
        return BridgeStep(name, CannotSay(name, reasons or "there is no meter"), reasons, by_meter)
    share = math.fsum(_at_stake(chains[meter], number) for meter in untold)
    if share > UNTOLD_MOST * abs(float(avoided_kwh.estimate)):
        why = f"cannot be told for the whole site: {reasons}"
        return BridgeStep(name, CannotSay(name, why), why, by_meter)
    value = math.fsum(float(answer.estimate) for answer in told)
    half = math.hypot(*(half_width(answer) for answer in told)) + share
    whys = [chains[meter].why[number] for meter in by_meter if meter not in untold]
    why = "; ".join(dict.fromkeys(whys))
    if untold:
        why = f"{why}; not told, and at most {share:,.0f} kWh of the rest: {reasons}"
    return BridgeStep(name, Estimate(value, value - half, value + half, confidence), why, by_meter)


def _at_stake(chain: Chain, number: int) -> float:
    """kWh that the step may be where it cannot be told: a scale for its size.

    The sum of the run of untold steps that holds it, but at least half of the energy before the
    run: steps of opposite sign may hide each other in the sum.
    """
    known = [k for k, energy in enumerate(chain.energy) if energy is not None]
    before = [k for k in known if k < number]
    after = [k for k in known if k >= number]
    if not before or not after:
        return math.inf
    start, end = chain.energy[before[-1]] or 0.0, chain.energy[after[0]] or 0.0
    return max(abs(start - end), HIDDEN_SHARE * abs(start))


def _remainder_why(steps: Sequence[BridgeStep], chains: dict[str, Chain]) -> str:
    untold = [step.step for step in steps if isinstance(step.kwh, CannotSay)]
    if not untold:
        return "what the steps leave: rounding, and doubt in the steps"
    runs = [
        f"{meter}: {run} {kwh:,.0f} kWh together"
        for meter, chain in chains.items()
        for run, kwh in chain.joint()
    ]
    text = f"holds what cannot be told apart: {', '.join(untold)}"
    return f"{text} ({'; '.join(runs)})" if runs else text


def _plus(answer: Estimate, by: float) -> Estimate:
    low = None if answer.low is None else answer.low + by
    high = None if answer.high is None else answer.high + by
    return Estimate(float(answer.estimate) + by, low, high, answer.confidence, answer.standard_error)
