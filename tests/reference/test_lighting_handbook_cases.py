"""Worked cases of lighting and controls savings.

The equations: US Department of Energy, Uniform Methods Project, chapter 2 (NREL/SR-7A40-68558,
2017) and chapter 3 (NREL/SR-7A30-53827, 2013), from memory; the case of 100 fixtures is worked
out from them by hand. The yields after heating and cooling: Bonneville Power Administration, 2012
table of lighting savings by heat type, as printed. The savings factors: Industrial Assessment
Centers' lighting-controls recommendation, as printed.
"""

import pytest

from mv.predicted import InventoryRow, predict
from mv.predicted.equations import (
    connected_load_kw,
    control_fraction,
    control_saving_kwh,
    dimmed_input_watts,
    fixture_saving_kwh,
    full_load_hours_after,
    heating_fuel_penalty,
    hvac_interaction_kwh,
    peak_saving_kw,
    standby_use_kwh,
)
from mv.predicted.records import Inventory

BEFORE_KW, AFTER_KW, HOURS, FRACTION = 9.6, 4.0, 3000.0, 0.30


def _row(**changes: float) -> InventoryRow:
    values: dict[str, float] = {
        "quantity": 100,
        "watts_before": 96,
        "watts_after": 40,
        "hours_per_year": HOURS,
        "control_saving_fraction": FRACTION,
    }
    return InventoryRow(line=2, space="hall", zone="hall", **(values | changes))


def test_a_hundred_fixtures_save_16800_kwh_by_the_lamp_change_alone() -> None:
    assert connected_load_kw(quantity=100, watts=96) == pytest.approx(BEFORE_KW)
    saved = fixture_saving_kwh(
        connected_kw_before=BEFORE_KW, connected_kw_after=AFTER_KW, hours_per_year=HOURS
    )
    assert saved == pytest.approx(16_800.0)


def test_control_savings_count_on_the_new_load_and_never_on_the_old() -> None:
    new = control_saving_kwh(
        connected_kw_after=AFTER_KW, hours_per_year=HOURS, control_saving_fraction=FRACTION
    )
    on_the_old_load = BEFORE_KW * HOURS * FRACTION
    assert new == pytest.approx(3_600.0)
    assert on_the_old_load == pytest.approx(8_640.0)
    combined = predict(Inventory("case", (_row(),))).annual_kwh
    assert combined == pytest.approx(20_400.0)
    assert combined == pytest.approx(28_800.0 - 8_400.0)  # before less after
    assert combined != pytest.approx(16_800.0 + on_the_old_load)


def test_the_cooling_factor_lifts_16800_to_18480_kwh() -> None:
    extra = hvac_interaction_kwh(lighting_saving_kwh=16_800.0, hvac_energy_factor=1.10)
    assert 16_800.0 + extra == pytest.approx(18_480.0)


def test_the_peak_saving_is_5_60_kw() -> None:
    saved = peak_saving_kw(
        connected_kw_before=BEFORE_KW,
        connected_kw_after=AFTER_KW,
        coincidence_factor=0.80,
        hvac_demand_factor=1.25,
    )
    assert saved == pytest.approx(5.60)
    row = _row(coincidence_factor=0.80, hvac_demand_factor=1.25)
    assert predict(Inventory("case", (row,))).peak_kw == pytest.approx(5.60)


def test_the_control_fraction_and_the_full_load_hours_after_are_each_others_inverse() -> None:
    after = full_load_hours_after(hours_per_year=HOURS, control_saving_fraction=FRACTION)
    assert after == pytest.approx(2_100.0)
    found = control_fraction(full_load_hours_before=HOURS, full_load_hours_after=after)
    assert found == pytest.approx(FRACTION)


@pytest.mark.parametrize(
    ("factor", "net_kwh"),
    [(1.08, 10_800.0), (0.92, 9_200.0), (1.02, 10_200.0), (1.30, 13_000.0), (0.29, 2_900.0)],
)
def test_bonnevilles_yields_after_heating_and_cooling(factor: float, net_kwh: float) -> None:
    """Office 20-100k sf, gas, resistance, heat pump; refrigerated space; hospital, resistance."""
    extra = hvac_interaction_kwh(lighting_saving_kwh=10_000.0, hvac_energy_factor=factor)
    assert 10_000.0 + extra == pytest.approx(net_kwh)


def test_bonnevilles_gas_heated_office_burns_81_9_therms_more() -> None:
    assert heating_fuel_penalty(lighting_saving_kwh=10_000.0, fuel_per_kwh_saved=0.00819) == pytest.approx(
        81.9
    )


def test_a_large_chicago_office_nets_0_968_of_its_lighting_saving() -> None:
    """Sezgen and Huang 1994 (iaeel.org): 15.8 kWh/m2 of lighting, +0.5 net of heat and cooling."""
    extra = hvac_interaction_kwh(lighting_saving_kwh=15.8, hvac_energy_factor=1.0 + (3.1 - 3.6) / 15.8)
    assert (15.8 + extra) / 15.8 == pytest.approx(0.9684, abs=5e-5)


@pytest.mark.parametrize(("factor", "kwh"), [(0.24, 144_000.0), (0.28, 168_000.0), (0.38, 228_000.0)])
def test_savings_factors_on_100_kw_and_6000_hours(factor: float, kwh: float) -> None:
    assert control_saving_kwh(
        connected_kw_after=100.0, hours_per_year=6_000.0, control_saving_fraction=factor
    ) == pytest.approx(kwh)


def test_from_occupancy_sensing_to_a_networked_system_saves_150000_kwh() -> None:
    after, before = (
        control_saving_kwh(connected_kw_after=100.0, hours_per_year=6_000.0, control_saving_fraction=factor)
        for factor in (0.49, 0.24)
    )
    assert after - before == pytest.approx(150_000.0)


@pytest.mark.parametrize(("coincidence", "kw"), [(0.198, 4.752), (0.172, 4.128)])
def test_summer_and_winter_demand_of_the_occupancy_factor(coincidence: float, kw: float) -> None:
    assert peak_saving_kw(
        connected_kw_before=100.0, connected_kw_after=76.0, coincidence_factor=coincidence
    ) == pytest.approx(kw)


@pytest.mark.parametrize(("sensor_watts", "watts"), [(3.0, 4.0), (0.1, 1.1), (0.0, 1.0)])
def test_a_dimmed_ten_watt_fixture_with_its_sensor(sensor_watts: float, watts: float) -> None:
    """Common practice, no source: light power falls with the level, the sensor's own draw stays."""
    assert dimmed_input_watts(
        light_watts=10.0, level_fraction=0.10, sensor_watts=sensor_watts
    ) == pytest.approx(watts)


@pytest.mark.parametrize(
    ("watts", "full_load_hours", "standby_watts", "share"),
    [
        (30.0, 2600.0, 0.5, 0.038),
        (30.0, 2600.0, 1.0, 0.073),
        (18.0, 1500.0, 0.5, 0.119),
        (18.0, 1500.0, 1.0, 0.212),
    ],
)
def test_the_share_of_a_years_energy_that_standby_takes(
    watts: float, full_load_hours: float, standby_watts: float, share: float
) -> None:
    """sb (8760 - EFLH) / (W EFLH + sb (8760 - EFLH)), worked out by hand; no published source."""
    standby = standby_use_kwh(quantity=1, standby_watts=standby_watts, full_load_hours=full_load_hours)
    light = watts * full_load_hours / 1000.0
    assert standby / (light + standby) == pytest.approx(share, abs=5e-4)
