"""The published equations of a predicted lighting saving, one function each.

Their common source is the lighting and lighting-controls chapters (2 and 3) of the US Department
of Energy's Uniform Methods Project (NREL/SR-7A40-68558, 2017; NREL/SR-7A30-53827, 2013). The
equations are given from memory; the worked case in tests/reference holds them together.
Savings are positive when less is used.
"""

HOURS_PER_YEAR = 8760.0
"""Hours of a common year; predictions are for a common year."""


def connected_load_kw(*, quantity: float, watts: float) -> float:
    """Connected load, kW = quantity x input watts / 1000 (UMP ch. 2, from memory)."""
    return quantity * watts / 1000.0


def fixture_saving_kwh(
    *, connected_kw_before: float, connected_kw_after: float, hours_per_year: float
) -> float:
    """Annual saving of the lamp and fixture change alone, kWh.

    (kW before - kW after) x hours of use (UMP ch. 2, from memory). Valid where the hours stay the
    same; a change of hours by controls is `control_saving_kwh`.
    """
    return (connected_kw_before - connected_kw_after) * hours_per_year


def control_saving_kwh(
    *, connected_kw_after: float, hours_per_year: float, control_saving_fraction: float
) -> float:
    """Annual saving of the controls, kWh: kW controlled x full-load hours before x fraction saved.

    UMP ch. 3, from memory: where fixtures change too, the controlled load is the NEW connected
    load; on the old one the same kWh would be counted twice.
    """
    return connected_kw_after * hours_per_year * control_saving_fraction


def full_load_hours_after(*, hours_per_year: float, control_saving_fraction: float) -> float:
    """Equivalent full-load hours after, EFLH = hours x (1 - fraction saved) (UMP ch. 3, memory)."""
    return hours_per_year * (1.0 - control_saving_fraction)


def control_fraction(*, full_load_hours_before: float, full_load_hours_after: float) -> float:
    """Control saving fraction = (EFLH before - EFLH after) / EFLH before (UMP ch. 3, from memory).

    Raises ZeroDivisionError where the lights never burned before.
    """
    return (full_load_hours_before - full_load_hours_after) / full_load_hours_before


def standby_use_kwh(*, quantity: float, standby_watts: float, full_load_hours: float) -> float:
    """Annual use of sensors and drivers while the light is off or dimmed, kWh, never negative.

    quantity x standby W x (8760 - EFLH) / 1000. Common practice, no source: input power runs
    linearly from the standby watts (light off) to the full input watts, so that a fixture takes
    W x EFLH + standby W x (8760 - EFLH) a year. Hours beyond 8,760 count none.
    """
    return quantity * standby_watts * max(0.0, HOURS_PER_YEAR - full_load_hours) / 1000.0


def dimmed_input_watts(*, light_watts: float, level_fraction: float, sensor_watts: float = 0.0) -> float:
    """Input power of a dimmed fixture, W = full light power x level + the sensor's own draw.

    Common practice, no source: a 10 W fixture at 10 % with a mains-fed 3 W sensor takes 4 W.
    """
    return light_watts * level_fraction + sensor_watts


def hvac_interaction_kwh(*, lighting_saving_kwh: float, hvac_energy_factor: float) -> float:
    """Electricity that heating and cooling save (or cost, negative) with it, kWh.

    total = direct x (1 + interaction), the factor being 1 + interaction (UMP ch. 2, from memory).
    A heating-fuel penalty is not electricity: see `heating_fuel_penalty`.
    """
    return lighting_saving_kwh * (hvac_energy_factor - 1.0)


def heating_fuel_penalty(*, lighting_saving_kwh: float, fuel_per_kwh_saved: float) -> float:
    """Extra heating fuel burned, in the factor's own unit (therms, kWh of gas), zero or above.

    UMP ch. 2, from memory. `fuel_per_kwh_saved` is given as a positive number.
    """
    return lighting_saving_kwh * fuel_per_kwh_saved


def peak_saving_kw(
    *,
    connected_kw_before: float,
    connected_kw_after: float,
    coincidence_factor: float,
    hvac_demand_factor: float = 1.0,
    standby_kw: float = 0.0,
) -> float:
    """Predicted reduction in the peak window, kW.

    (change of connected load) x coincidence factor x (1 + interaction) (UMP ch. 2, from memory).
    Our one addition: lights that are off in the window draw `standby_kw` x (1 - coincidence).
    Control savings within the window are left out, as in the source; so the figure is on the low
    side where controls dim in the window.
    """
    direct = (connected_kw_before - connected_kw_after) * coincidence_factor
    return (direct - standby_kw * (1.0 - coincidence_factor)) * hvac_demand_factor
