"""From the inventory to the promised kWh and kW, and the sanity bounds."""

import pytest

from mv.base.study_records import Predicted, Zone
from mv.predicted import Inventory, InventoryRow, inventory_findings, predict, stated_prediction


def _row(line: int = 2, **changes: object) -> InventoryRow:
    values: dict[str, object] = {
        "space": f"space {line}",
        "zone": "hall",
        "quantity": 10.0,
        "watts_before": 100.0,
        "watts_after": 40.0,
        "hours_per_year": 3000.0,
        "control_saving_fraction": 0.25,
    }
    return InventoryRow(line=line, **(values | changes))  # type: ignore[arg-type]


def _inventory(*rows: InventoryRow) -> Inventory:
    return Inventory("inventory.csv", rows)


def test_the_parts_the_rows_and_the_zones_each_add_up_to_the_total() -> None:
    rows = (_row(2), _row(3, zone="office", standby_watts=0.5, hvac_energy_factor=1.1))
    promise = predict(_inventory(*rows))
    assert promise.annual_kwh == pytest.approx(sum(part.kwh for part in promise.parts))
    assert promise.annual_kwh == pytest.approx(sum(promise.by_zone.values()))
    assert promise.annual_kwh == pytest.approx(sum(row.total_kwh for row in promise.rows))
    assert set(promise.by_zone) == {"hall", "office"}


def test_a_sensor_that_draws_all_night_eats_into_the_saving() -> None:
    plain, drawing = predict(_inventory(_row())), predict(_inventory(_row(standby_watts=3.0)))
    assert plain.annual_kwh is not None and drawing.annual_kwh is not None
    off_hours = 8760 - 3000 * 0.75
    assert plain.annual_kwh - drawing.annual_kwh == pytest.approx(10 * 3.0 * off_hours / 1000)


def test_a_small_fixture_with_a_mains_fed_sensor_may_cost_more_than_it_saves() -> None:
    row = _row(watts_before=12.0, watts_after=10.0, standby_watts=3.0, control_saving_fraction=0.1)
    promise = predict(_inventory(row))
    assert promise.annual_kwh is not None and promise.annual_kwh < 0
    assert "saving-negative" in [finding.code for finding in inventory_findings(_inventory(row))]


def test_the_peak_is_not_told_where_one_row_lacks_its_coincidence_factor() -> None:
    promise = predict(_inventory(_row(2, coincidence_factor=0.8), _row(3)))
    assert promise.peak_kw is None
    assert "line 3" in promise.cannot_say[0].why


def test_lights_off_in_the_window_draw_their_standby_there() -> None:
    row = _row(coincidence_factor=0.5, standby_watts=2.0)
    assert predict(_inventory(row)).peak_kw == pytest.approx(0.6 * 0.5 - 0.020 * 0.5)


def test_two_stated_numbers_need_no_inventory() -> None:
    promise = stated_prediction(Predicted(annual_kwh=1000.0, peak_kw=2.0), None)
    assert promise.as_json() == {"annual_kwh": 1000.0, "peak_kw": 2.0}
    assert not promise.cannot_say and not promise.parts


def test_nothing_stated_is_said_to_be_nothing() -> None:
    promise = stated_prediction(Predicted(), None)
    assert promise.as_json() == {"annual_kwh": None, "peak_kw": None}
    assert len(promise.cannot_say) == 2


def test_a_stated_number_goes_before_the_inventory_and_a_difference_is_remarked() -> None:
    inventory = _inventory(_row(coincidence_factor=0.8))
    counted = predict(inventory).annual_kwh
    assert counted == pytest.approx(2100.0)
    promise = stated_prediction(Predicted(annual_kwh=2500.0), inventory)
    assert promise.annual_kwh == 2500.0
    assert promise.peak_kw == pytest.approx(0.48)
    assert [remark.code for remark in promise.remarks] == ["prediction-differs"]
    rounded = stated_prediction(Predicted(annual_kwh=2110.0), inventory)
    assert not rounded.remarks


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"hours_per_year": 9000.0}, "hours-beyond-a-year"),
        ({"watts_before": 9600.0}, "watts-unlikely"),
        ({"watts_before": 30.0}, "watts-rise"),
        ({"standby_watts": 40.0}, "standby-above-full-load"),
        ({"hvac_energy_factor": 0.10}, "hvac-factor-unlikely"),
        ({"hvac_demand_factor": 2.5}, "hvac-factor-unlikely"),
        ({"quantity": 0.0}, "no-fixtures"),
        ({"quantity": 2.5}, "part-fixture"),
    ],
)
def test_what_cannot_be_so_is_found_with_its_line(changes: dict[str, float], code: str) -> None:
    findings = inventory_findings(_inventory(_row(7, **changes)))
    assert (code, (7,), "space 7") in [(f.code, f.lines, f.space) for f in findings]


def test_a_sound_inventory_has_no_findings() -> None:
    zone = Zone(id="hall", fixtures=10, watts_before=100, watts_after=40)
    peaks = {"hall": 1.02}
    assert not inventory_findings(_inventory(_row()), zones=[zone], metered_peak_kw_before=peaks)


def test_counts_and_watts_are_set_against_the_zones_as_installed() -> None:
    zone = Zone(id="hall", fixtures=12, watts_before=100, watts_after=40)
    texts = " ".join(f.what for f in inventory_findings(_inventory(_row()), zones=[zone]))
    assert "fixtures: 12 in the study, 10 in the inventory" in texts
    assert "connected kW before: 1.2 kW in the study, 1 kW in the inventory" in texts


def test_a_zone_without_a_row_and_a_meter_above_the_load_are_found() -> None:
    findings = inventory_findings(
        _inventory(_row()), zones=[Zone(id="attic")], metered_peak_kw_after={"hall": 0.5}
    )
    assert [f.code for f in findings] == ["zone-not-in-inventory", "metered-above-connected"]
