"""Steps that add up exactly, whatever their sizes."""

import pytest

from mv.base.estimate import CannotSay, Estimate
from mv.bridge.records import UNEXPLAINED, BridgeStep, closed, half_width


def _about(value: float, half: float = 1.0) -> Estimate:
    return Estimate(value, value - half, value + half, 0.90)


def test_the_remainder_closes_the_sum_to_the_last_digit() -> None:
    steps = [BridgeStep(str(k), _about(0.1 * k + 1 / 3), "") for k in range(20)]
    total = _about(12_345.678901)
    done = closed(steps, total, remainder_why="the rest")
    assert sum(step.kwh.estimate for step in done if isinstance(step.kwh, Estimate)) == 12_345.678901
    assert done[-1].step == UNEXPLAINED


def test_a_step_that_cannot_be_told_lies_in_the_remainder() -> None:
    steps = [
        BridgeStep("a", _about(30.0), ""),
        BridgeStep("b", CannotSay("b", "no log"), "no log"),
    ]
    rest = closed(steps, _about(100.0), remainder_why="holds b")[-1]
    assert isinstance(rest.kwh, Estimate)
    assert rest.kwh.estimate == pytest.approx(70.0)
    assert half_width(rest.kwh) == pytest.approx(2.0**0.5)


def test_rounding_to_the_grid_keeps_the_estimate_within_its_interval() -> None:
    exact = Estimate(1.00049, 1.00049, 1.00049, 0.9)
    step = closed([BridgeStep("a", exact, "")], _about(5.0), remainder_why="")[0]
    assert isinstance(step.kwh, Estimate) and step.kwh.low is not None and step.kwh.high is not None
    assert step.kwh.low <= step.kwh.estimate <= step.kwh.high
    assert step.kwh.estimate == pytest.approx(1.00049, abs=1 / 2048)


def test_json_carries_null_for_what_cannot_be_told() -> None:
    step = BridgeStep("b", CannotSay("b", "no log"), "no log", {"LP-1": _about(2.0)})
    record = step.as_json()
    assert record["kwh"] is None and record["step"] == "b"
    assert record["by_part"]["LP-1"]["estimate"] == 2.0
