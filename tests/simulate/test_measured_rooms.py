"""Simulated teaching rooms beside measured ones: light burnt with nobody there, and switching per day.

Measured: two university rooms with manual switches and true occupancy, 29 days at 5 minutes (Tekler et al.,
"ROBOD, room-level occupancy and building operation dataset", Building Simulation 15 (2022) 2127-2137).
Two rooms do not fix a distribution: the check is that they would not be strangers among ours.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mv.simulate import random_site, simulate_site

Habits = tuple[float, float]  # share of energy while vacant, switch-ons per day


@pytest.fixture(scope="module")
def simulated_rooms() -> np.typing.NDArray[np.float64]:
    found = []
    for seed in range(20):
        design = random_site(seed, kinds=("classroom",), baseline_months=2, reporting_months=1)
        site = simulate_site(design, seed)
        zone, span = site.zones[0], site.baseline
        lit = zone.baseline_kw[span] - zone.design.egress_kw_before
        found.append(habits(lit, zone.people[span] > 0, minutes=1))
    return np.array(found)


def habits(
    power: np.typing.NDArray[np.float64], present: np.typing.NDArray[np.bool_], *, minutes: int
) -> Habits:
    on = power > 0.1 * np.quantile(power, 0.99)
    days = len(power) * minutes / 1440
    return float(power[~present].sum() / power.sum()), float((np.diff(on.astype(int)) == 1).sum() / days)


@pytest.mark.parametrize("room", [1, 2])
def test_a_measured_room_would_not_be_a_stranger_among_simulated_ones(
    room: int, datasets: Path, simulated_rooms: np.typing.NDArray[np.float64]
) -> None:
    table = pd.read_csv(datasets / "05_robod_lighting_occupancy" / f"combined_Room{room}.csv.gz")
    good = table[["lighting_energy [kWh]", "occupant_presence [binary]"]].dropna()
    power = good["lighting_energy [kWh]"].to_numpy() * 12
    power = np.minimum(power, 1.2 * np.quantile(power, 0.99))  # one reading is a spike
    measured = habits(power, good["occupant_presence [binary]"].to_numpy() == 1, minutes=5)
    vacant, switching = simulated_rooms.T
    assert vacant.min() < measured[0] < vacant.max()
    assert switching.min() < measured[1] < switching.max()
