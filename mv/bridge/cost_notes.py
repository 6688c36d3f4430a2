"""Why a step between old lighting and new may cost energy: a sentence beside each negative one."""

import math
from collections.abc import Sequence
from dataclasses import replace

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.wording import with_interval
from mv.bridge.chain import DAYLIGHT, LAMPS, MEASURES, OCCUPANCY, SCHEDULE, STANDBY, TRIM, Chain
from mv.bridge.records import BridgeStep, half_width

SENSING, SCHEDULING = MEASURES.index(OCCUPANCY) + 1, MEASURES.index(SCHEDULE) + 1
NOTES = {
    LAMPS: "Negative: the new lamps' connected load is above what the old lamps drew.",
    TRIM: "Negative: while held as occupied the new lamps draw more than their stated connected load.",
    DAYLIGHT: "Negative: no dimming by daylight is seen, and the doubt in the steps before falls here.",
    SCHEDULE: "Negative: lamps burn in closed hours, or for longer, where the old lighting was off.",
    STANDBY: "Negative: what sensors and drivers draw with the lights off is a cost of the controls.",
}
VACANT_LAMPS = (
    "Negative in the stated order, which is no fault of the sensors: switched on alone, they keep "
    "vacant lamps at their low level, or hold them, in closed hours too, when the old lighting was off. "
    "Scheduling, a later step, takes that back."
)
LONG_HOLD = (
    "Negative: sensors hold the lamps for longer, or leave vacant lamps at a low level for longer, "
    "than people had let the old lighting burn."
)


def with_cost_notes(
    steps: Sequence[BridgeStep], chains: Sequence[Chain], confidence: float
) -> list[BridgeStep]:
    """The steps, each one that costs energy with the sentence that explains it."""
    scheduling = next((step.kwh for step in steps if step.step == SCHEDULE), None)
    return [
        replace(step, note=_note(step.step, scheduling, chains, confidence)) if _costs(step.kwh) else step
        for step in steps
    ]


def _costs(answer: Answer) -> bool:
    return isinstance(answer, Estimate) and answer.estimate < 0


def _note(name: str, scheduling: Answer | None, chains: Sequence[Chain], confidence: float) -> str:
    if name != OCCUPANCY:
        return NOTES[name]
    if not isinstance(scheduling, Estimate) or scheduling.estimate <= 0:
        return LONG_HOLD
    together = _together(chains, confidence)
    if together is None:
        return VACANT_LAMPS
    saved = with_interval(together.as_json(), "kWh", confidence=False)
    return f"{VACANT_LAMPS} Occupancy sensing, daylight dimming and scheduling together: {saved}."


def _together(chains: Sequence[Chain], confidence: float) -> Estimate | None:
    """Sensing, dimming and scheduling of all meters; None where a meter cannot tell them."""
    answers = [chain.steps(SENSING, SCHEDULING, confidence) for chain in chains]
    told = [answer for answer in answers if not isinstance(answer, CannotSay)]
    if not told or len(told) < len(answers):
        return None
    value = math.fsum(float(answer.estimate) for answer in told)
    half = math.hypot(*(half_width(answer) for answer in told))
    return Estimate(value, value - half, value + half, confidence)
