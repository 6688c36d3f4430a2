"""Whatever the figures, bridges add up exactly and samples and prices keep their bounds."""

from hypothesis import given, settings
from hypothesis import strategies as st

from mv.base.estimate import CannotSay, Estimate
from mv.base.programme_records import Incentive
from mv.bridge import InstalledZone, VerifiedMeter, predicted_to_verified
from mv.bridge.records import BridgeStep, closed
from mv.money import incentive_amount
from mv.predicted import Inventory, InventoryRow, predict
from mv.sampling import sampling_plan

ENERGY = st.floats(-1e7, 1e7, allow_nan=False).map(lambda value: round(value, 6))
POSITIVE = st.floats(0.1, 1e5, allow_nan=False)
FRACTION = st.floats(0.0, 1.0)


def _about(value: float, half: float = 0.0) -> Estimate:
    return Estimate(value, value - half, value + half, 0.90)


def _row(zone: str, numbers: tuple[float, float, float, float, float]) -> InventoryRow:
    quantity, before, after, hours, fraction = numbers
    return InventoryRow(
        line=2,
        space=zone,
        zone=zone,
        quantity=quantity,
        watts_before=before,
        watts_after=after,
        hours_per_year=hours,
        control_saving_fraction=fraction,
    )


ROWS = st.lists(
    st.tuples(st.floats(1, 500), st.floats(1, 500), st.floats(1, 500), st.floats(1, 8760), FRACTION),
    min_size=1,
    max_size=5,
)


@given(steps=st.lists(ENERGY, max_size=8), total=ENERGY.filter(lambda value: abs(value) > 1.0))
def test_a_closed_bridge_sums_to_its_total(steps: list[float], total: float) -> None:
    parts = [BridgeStep(str(k), _about(value, 1.0), "") for k, value in enumerate(steps)]
    told = [
        step.kwh.estimate
        for step in closed(parts, _about(total, 2.0), remainder_why="")
        if isinstance(step.kwh, Estimate)
    ]
    assert abs(sum(told) - total) <= 1e-9 * max(1.0, *(abs(value) for value in told))


@given(rows=ROWS, before=POSITIVE, after=POSITIVE, verified=ENERGY)
@settings(max_examples=60)
def test_promise_to_proof_always_closes(
    rows: list[tuple[float, float, float, float, float]],
    before: float,
    after: float,
    verified: float,
) -> None:
    inventory = Inventory("x", tuple(_row(f"zone {k}", row) for k, row in enumerate(rows)))
    promise = predict(inventory)
    assert promise.annual_kwh is not None
    zones = tuple(InstalledZone(zone, 1.0, 0.5) for zone in inventory.zones)
    bridge = predicted_to_verified(
        predicted_kwh=promise.annual_kwh,
        verified_kwh=_about(verified, 10.0),
        rows=inventory.rows,
        meters=[VerifiedMeter("M", zones, _about(before, 5.0), _about(after, 5.0))],
    )
    assert not isinstance(bridge.total, CannotSay)
    told = [step.kwh.estimate for step in bridge.steps if isinstance(step.kwh, Estimate)]
    scale = max(1.0, *(abs(value) for value in told))
    assert abs(sum(told) - bridge.total.estimate) <= 1e-9 * scale


@given(rows=ROWS)
def test_the_parts_of_a_prediction_add_up(
    rows: list[tuple[float, float, float, float, float]],
) -> None:
    promise = predict(Inventory("x", tuple(_row(f"{k}", row) for k, row in enumerate(rows))))
    assert promise.annual_kwh is not None
    parts = sum(part.kwh for part in promise.parts)
    assert abs(parts - promise.annual_kwh) <= 1e-9 * max(1.0, abs(parts))


@settings(deadline=None)  # the first example loads the library of quantiles
@given(
    population=st.integers(1, 100_000),
    cv=st.floats(0.0, 5.0),
    precision=st.floats(0.01, 0.99),
    confidence=st.floats(0.5, 0.999),
)
def test_a_sample_is_never_more_than_the_population_nor_the_unlimited_sample(
    population: int, cv: float, precision: float, confidence: float
) -> None:
    plan = sampling_plan(population, cv=cv, precision=precision, confidence=confidence)
    free = sampling_plan(None, cv=cv, precision=precision, confidence=confidence)
    assert 1 <= plan.loggers <= min(population, max(1, free.loggers))


@given(
    kwh=st.floats(-1e6, 1e6),
    half=st.floats(0, 1e6),
    rate=st.floats(0, 1),
    cap=st.floats(0, 1e5),
)
def test_an_incentive_lies_between_nothing_and_its_cap(
    kwh: float, half: float, rate: float, cap: float
) -> None:
    incentive = Incentive(per_kwh=rate, cap_amount=cap)
    paid = incentive_amount(incentive, annual_kwh=_about(kwh, half), peak_kw=CannotSay("peak", "none")).amount
    assert isinstance(paid, Estimate) and paid.low is not None and paid.high is not None
    assert 0.0 <= paid.low <= paid.estimate <= paid.high <= cap
