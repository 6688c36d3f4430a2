"""The screen says in a few lines where the promise went."""

from typing import Any

from mv.documents.promise_lines import promise_lines


def _step(name: str, kwh: float | None, half: float = 0.0) -> dict[str, Any]:
    if kwh is None:
        return {"step": name, "kwh": None, "why": "x"}
    return {"step": name, "kwh": {"estimate": kwh, "low": kwh - half, "high": kwh + half, "confidence": 0.9}}


def _result(steps: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    predicted = {"findings": more.pop("findings", [])}
    return {"bridge": {"predicted_to_verified": steps}, "predicted": predicted, **more}


def test_the_largest_steps_are_told_rounded_to_what_their_intervals_support() -> None:
    steps = [
        _step("HVAC interaction", 0.0),
        _step("quantity and watts", -2156.1279296875),
        _step("hours", -12912.6, 3480.0),
        _step("control fraction", None),
        _step("standby", 208.8, 186.0),
        _step("unexplained", 13025.9, 8000.0),
    ]
    (line,) = promise_lines(_result(steps))
    assert line == "Gap, kWh: unexplained +13,000, hours −12,900, quantity and watts −2,156."


def test_a_prediction_of_two_numbers_has_no_steps_to_tell() -> None:
    assert promise_lines(_result([_step("unexplained", -170.0, 40.0)])) == []
    assert promise_lines(_result([])) == []


def test_findings_on_the_inventory_name_their_lines_and_how_many_more() -> None:
    found = [{"what": "space 'a': quantity is 0", "lines": [3]}, {"what": "b", "lines": []}]
    assert promise_lines(_result([], findings=found)) == [
        "Inventory: space 'a': quantity is 0 (line 3); 1 more in result.json."
    ]


def test_calls_are_counted_and_the_largest_drop_told() -> None:
    drop = {"estimate": 5.2, "low": 4.0, "high": 6.4, "confidence": 0.9}
    calls = [
        {"first": "2024-07-16T15:00:00", "drop_kw": drop},
        {"first": "2024-07-18T15:00:00", "drop_kw": None},
    ]
    (line,) = promise_lines(_result([], demand_response=calls))
    assert "1 of 2 calls can be told" in line and "on 2024-07-16" in line
