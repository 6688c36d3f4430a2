"""A step that costs energy has a sentence that says why."""

from dataclasses import replace

from mv.base.estimate import CannotSay, Estimate
from mv.bridge.chain import DAYLIGHT, MEASURES, OCCUPANCY, STANDBY, Chain
from mv.bridge.cost_notes import LONG_HOLD, NOTES, VACANT_LAMPS, with_cost_notes
from mv.bridge.records import BridgeStep

# old, lamps, trim, sensing (vacant lamps burn all night), dimming, scheduling, standby
ENERGY = (1000.0, 400.0, 320.0, 380.0, 360.0, 220.0, 230.0)
# a vacant level told too high lifts sensing and dimming alike, and the schedule takes both back
ERRORS = {"vacant level": (0.0, 0.0, 0.0, 50.0, 50.0, 0.0, 0.0), "lamps": (0.0, 3.0, 3.0, 0.0, 0.0, 0.0, 0.0)}
CHAIN = Chain(ENERGY, ERRORS, ("",) * 7)


def _steps(chain: Chain = CHAIN) -> list[BridgeStep]:
    return [BridgeStep(name, chain.step(k, 0.90), "") for k, name in enumerate(MEASURES, 1)]


def _notes(chain: Chain = CHAIN) -> dict[str, str | None]:
    return {step.step: step.note for step in with_cost_notes(_steps(chain), (chain,), 0.90)}


def test_only_steps_that_cost_have_a_note() -> None:
    notes = _notes()
    assert {name for name, note in notes.items() if note} == {OCCUPANCY, STANDBY}
    assert notes[STANDBY] == NOTES[STANDBY]
    assert notes[DAYLIGHT] is None


def test_sensing_that_costs_is_told_together_with_what_takes_it_back() -> None:
    note = _notes()[OCCUPANCY]
    assert note is not None and note.startswith(VACANT_LAMPS)
    assert "together: 100" in note  # 320 - 220
    joint = CHAIN.steps(3, 5, 0.90)
    alone = CHAIN.step(3, 0.90)
    assert isinstance(joint, Estimate) and isinstance(alone, Estimate)
    assert joint.estimate == 100.0
    assert joint.standard_error == 3.0  # the vacant level's doubt cancels
    assert alone.standard_error is not None and alone.standard_error > 50.0


def test_sensing_that_costs_without_a_schedule_holds_lamps_too_long() -> None:
    chain = replace(CHAIN, energy=(1000.0, 400.0, 320.0, 380.0, 360.0, 360.0, 370.0))
    assert _notes(chain)[OCCUPANCY] == LONG_HOLD
    untold = replace(CHAIN, energy=(1000.0, 400.0, 320.0, 380.0, None, 220.0, 230.0))
    assert _notes(untold)[OCCUPANCY] == LONG_HOLD


def test_measures_together_cannot_be_told_where_an_end_is_not() -> None:
    chain = replace(CHAIN, energy=(1000.0, 400.0, None, 380.0, 360.0, 220.0, 230.0), why=("end",) * 7)
    assert isinstance(chain.steps(3, 5, 0.90), CannotSay)
