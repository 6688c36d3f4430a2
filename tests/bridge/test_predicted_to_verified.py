"""From promise to proof: each step worked out by hand."""

import pytest

from mv.base.estimate import CannotSay, Estimate
from mv.bridge import Bridge, InstalledZone, VerifiedMeter, predicted_to_verified
from mv.bridge.chain import DAYLIGHT, OCCUPANCY, SCHEDULE, TRIM
from mv.bridge.chain import STANDBY as MEASURED_STANDBY
from mv.bridge.promise import HVAC, STATED
from mv.bridge.promise_meter import (
    CONTROL,
    HOURS,
    QUANTITY_AND_WATTS,
    STANDBY,
    row_saving_kwh,
)
from mv.predicted import InventoryRow


def _row(zone: str = "hall", **changes: float) -> InventoryRow:
    values: dict[str, float] = {
        "quantity": 100,
        "watts_before": 100,
        "watts_after": 40,
        "hours_per_year": 3000,
        "control_saving_fraction": 0.25,
    }
    return InventoryRow(line=2, space=f"{zone} space", zone=zone, **(values | changes))


def _about(value: float, half: float = 0.0) -> Estimate:
    return Estimate(value, value - half, value + half, 0.90)


def _kwh(bridge: Bridge) -> dict[str, float | None]:
    return {
        step.step: float(step.kwh.estimate) if isinstance(step.kwh, Estimate) else None
        for step in bridge.steps
    }


def _sum(bridge: Bridge) -> float:
    return sum(s.kwh.estimate for s in bridge.steps if isinstance(s.kwh, Estimate))


METER = VerifiedMeter(
    "LP-1",
    (InstalledZone("hall", 9.0, 3.6),),  # 90 of the 100 fixtures were installed
    before_kwh=_about(9.0 * 3200),
    after_kwh=_about(3.6 * 2600 + 500.0),
    standby_kwh=_about(500.0),
)


def test_two_numbers_alone_give_one_step_that_closes_the_gap() -> None:
    bridge = predicted_to_verified(predicted_kwh=1000.0, verified_kwh=_about(830.0, 40.0))
    assert [step.step for step in bridge.steps] == ["unexplained"]
    assert bridge.steps[0].kwh.as_json() == pytest.approx(
        {"estimate": -170.0, "low": -210.0, "high": -130.0, "confidence": 0.9}
    )
    assert "not explained by the data given" in bridge.steps[0].why


def test_each_step_puts_the_found_figure_in_the_place_of_the_promised_one() -> None:
    row = _row(standby_watts=1.0, hvac_energy_factor=1.10)
    lighting, interaction = row_saving_kwh(row)
    promised_standby = 100 * 1.0 * (8760 - 2250) / 1000
    assert lighting == pytest.approx(10 * 3000 - 4 * 3000 * 0.75 - promised_standby)
    verified = 9.0 * 3200 - 3.6 * 2600 - 500.0
    bridge = predicted_to_verified(
        predicted_kwh=lighting + interaction,
        verified_kwh=_about(verified, 300.0),
        rows=[row],
        meters=[METER],
    )
    steps = _kwh(bridge)
    grid = pytest.approx
    assert steps[HVAC] == grid(-interaction, abs=1e-3)
    fewer = (9.0 - 3.6 * 0.75) * 3000 - (10 - 4 * 0.75) * 3000
    assert steps[QUANTITY_AND_WATTS] == grid(fewer, abs=1e-3)
    assert steps[HOURS] == grid((9.0 - 3.6 * 0.75) * 200, abs=1e-3)
    assert steps[CONTROL] == grid(3.6 * (3200 * 0.75 - 2600), abs=1e-3)
    assert steps[STANDBY] == grid(promised_standby - 500.0, abs=1e-3)
    assert steps["unexplained"] == grid(0.0, abs=5e-3)
    assert _sum(bridge) == bridge.total.estimate == verified - (lighting + interaction)  # type: ignore[union-attr]


def test_a_stated_number_that_is_not_the_inventorys_sum_is_a_step_of_its_own() -> None:
    bridge = predicted_to_verified(
        predicted_kwh=20_000.0, verified_kwh=_about(18_000.0), rows=[_row()], meters=[]
    )
    assert _kwh(bridge)[STATED] == pytest.approx(21_000.0 - 20_000.0)


def test_the_intervals_come_from_the_metered_years() -> None:
    meter = VerifiedMeter(
        "LP-1",
        (InstalledZone("hall", 10.0, 4.0),),
        before_kwh=_about(30_000.0, 600.0),
        after_kwh=_about(9_000.0, 100.0),
    )
    bridge = predicted_to_verified(
        predicted_kwh=21_000.0, verified_kwh=_about(21_000.0, 608.0), rows=[_row()], meters=[meter]
    )
    by_name = {step.step: step.kwh for step in bridge.steps}
    hours, control = by_name[HOURS], by_name[CONTROL]
    assert isinstance(hours, Estimate) and isinstance(control, Estimate)
    assert hours.high == pytest.approx(600.0 * (1 - 0.3))
    assert control.high == pytest.approx(((600 * 0.3) ** 2 + 100.0**2) ** 0.5)


def test_standby_that_nobody_told_apart_is_said_to_lie_in_the_controls() -> None:
    meter = VerifiedMeter(
        "LP-1", METER.zones, METER.before_kwh, METER.after_kwh, standby_kwh=CannotSay("x", "no log")
    )
    bridge = predicted_to_verified(
        predicted_kwh=21_000.0, verified_kwh=_about(18_000.0), rows=[_row()], meters=[meter]
    )
    step = next(step for step in bridge.steps if step.step == STANDBY)
    assert isinstance(step.kwh, CannotSay)
    assert "no log; it lies in the control fraction" in step.kwh.why


def test_the_control_step_is_shown_by_strategy_and_standby_comes_from_the_measures() -> None:
    meter = VerifiedMeter(
        "LP-1",
        (InstalledZone("hall", 10.0, 4.0),),
        before_kwh=_about(30_000.0),
        after_kwh=_about(9_400.0),
        measures_kwh={
            "high trim": _about(2_000.0, 50.0),
            "occupancy sensing": _about(-500.0, 100.0),
            "daylight dimming": CannotSay("daylight dimming", "no log"),
            "standby": _about(-400.0, 20.0),
        },
    )
    bridge = predicted_to_verified(
        predicted_kwh=21_000.0, verified_kwh=_about(20_600.0), rows=[_row()], meters=[meter]
    )
    control = next(step for step in bridge.steps if step.step == CONTROL)
    parts = {
        name: answer.estimate for name, answer in control.by_strategy.items() if isinstance(answer, Estimate)
    }
    assert parts["promised"] == pytest.approx(-3_000.0)
    assert (parts["high trim"], parts["occupancy sensing"]) == (2_000.0, -500.0)
    assert parts["not told apart"] == pytest.approx(1_500.0)
    assert sum(parts.values()) == pytest.approx(_kwh(bridge)[CONTROL])
    assert _kwh(bridge)[STANDBY] == pytest.approx(-400.0)


@pytest.mark.parametrize(
    ("meter", "reason"),
    [
        (VerifiedMeter("M", (InstalledZone("attic"),), _about(1), _about(1)), "no row"),
        (VerifiedMeter("M", (), _about(1), _about(1)), "no row"),
        (
            VerifiedMeter("M", (InstalledZone("hall"), InstalledZone("attic")), _about(1), _about(1)),
            "attic",
        ),
        (
            VerifiedMeter("M", (InstalledZone("hall"),), CannotSay("x", "one week only"), _about(1)),
            "one week only",
        ),
        (
            VerifiedMeter("M", (InstalledZone("hall"),), _about(1), _about(1), "whole building"),
            "whole-building meter",
        ),
    ],
)
def test_a_meter_that_cannot_tell_says_why_and_the_bridge_still_closes(
    meter: VerifiedMeter, reason: str
) -> None:
    bridge = predicted_to_verified(
        predicted_kwh=21_000.0, verified_kwh=_about(18_000.0), rows=[_row()], meters=[meter]
    )
    steps = {step.step: step for step in bridge.steps}
    assert isinstance(steps[HOURS].kwh, CannotSay) and reason in steps[HOURS].kwh.why
    assert "cannot be told: " in steps["unexplained"].why
    assert _sum(bridge) == -3_000.0


def test_uninstalled_counts_are_taken_from_the_inventory_and_said_so() -> None:
    meter = VerifiedMeter("M", (InstalledZone("hall"),), _about(30_000), _about(9_000))
    bridge = predicted_to_verified(
        predicted_kwh=21_000.0, verified_kwh=_about(21_000.0), rows=[_row()], meters=[meter]
    )
    steps = {step.step: step.kwh for step in bridge.steps}
    assert isinstance(steps[QUANTITY_AND_WATTS], CannotSay)
    assert _kwh(bridge)[HOURS] == pytest.approx(0.0)


def test_zones_without_a_meter_are_named() -> None:
    bridge = predicted_to_verified(
        predicted_kwh=42_000.0,
        verified_kwh=_about(40_000.0),
        rows=[_row(), _row("yard")],
        meters=[METER],
    )
    hours = next(step for step in bridge.steps if step.step == HOURS)
    assert "no meter for zone yard" in hours.why


@pytest.mark.parametrize(
    ("predicted", "verified"), [(None, _about(1.0)), (10.0, CannotSay("savings", "no model"))]
)
def test_a_bridge_without_a_pier_has_no_steps(
    predicted: float | None, verified: Estimate | CannotSay
) -> None:
    bridge = predicted_to_verified(predicted_kwh=predicted, verified_kwh=verified)
    assert bridge.steps == () and isinstance(bridge.total, CannotSay)
    assert bridge.cannot_say


def _with_measures(**saved: float) -> VerifiedMeter:
    told = {name: _about(kwh, 30.0) for name, kwh in saved.items()}
    return VerifiedMeter(
        "LP-1",
        (InstalledZone("hall", 10.0, 4.0),),
        before_kwh=_about(30_000.0, 600.0),
        after_kwh=_about(9_000.3, 100.0),
        measures_kwh=told,
    )


def _told_by_measures() -> Bridge:
    measures = {TRIM: 1000.1, OCCUPANCY: 700.7, DAYLIGHT: 300.3, SCHEDULE: 800.9, MEASURED_STANDBY: -250.0}
    return predicted_to_verified(
        predicted_kwh=21_000.0,
        verified_kwh=_about(20_999.7, 608.0),
        rows=[_row(standby_watts=0.5)],
        meters=[_with_measures(**measures)],
    )


def test_the_control_step_by_strategy_adds_up_to_the_step_exactly() -> None:
    bridge = _told_by_measures()
    step = next(step for step in bridge.steps if step.step == CONTROL)
    assert isinstance(step.kwh, Estimate)
    parts = [answer for answer in step.by_strategy.values() if isinstance(answer, Estimate)]
    assert sum(float(part.estimate) for part in parts) == step.kwh.estimate
    assert set(step.by_strategy) == {"promised", TRIM, OCCUPANCY, DAYLIGHT, SCHEDULE, "not told apart"}
    assert step.by_strategy["promised"].estimate == pytest.approx(-4.0 * 3000 * 0.25, abs=1e-3)  # type: ignore[union-attr]


def test_standby_told_by_the_measures_leaves_the_control_step() -> None:
    bridge = _told_by_measures()
    steps = _kwh(bridge)
    promised = 100 * 0.5 * (8760 - 2250) / 1000
    assert steps[STANDBY] == pytest.approx(promised - 250.0, abs=1e-3)
    assert steps[CONTROL] == pytest.approx(9000.0 - (9000.3 - 250.0), abs=1e-3)
    assert _sum(bridge) == bridge.total.estimate  # type: ignore[union-attr]


def test_nothing_is_left_unexplained_with_doubt_where_every_meter_tells_its_steps() -> None:
    rest = _told_by_measures().steps[-1].kwh
    assert isinstance(rest, Estimate)
    assert rest.high == pytest.approx(rest.estimate) and rest.low == pytest.approx(rest.estimate)
    silent = VerifiedMeter("LP-2", (), before_kwh=_about(5000.0, 300.0), after_kwh=_about(4000.0, 400.0))
    bridge = predicted_to_verified(
        predicted_kwh=21_000.0,
        verified_kwh=_about(22_000.0, 780.0),
        rows=[_row()],
        meters=[_with_measures(), silent],
    )
    rest = bridge.steps[-1].kwh
    assert isinstance(rest, Estimate) and rest.high is not None
    assert rest.high - float(rest.estimate) == pytest.approx(500.0)
