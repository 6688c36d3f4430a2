"""How far a meter's step may shift the mean of a small steady load."""

import numpy as np
import pytest

from mv.controls.rounding import ALIKE, CARRIED, ROUNDED, rounding_share
from mv.controls.zone_table import ZoneTable

ROWS = 4000


def _table(level):
    """Nothing but night."""
    still = np.zeros(len(level))
    return ZoneTable(
        minutes=5.0,
        start=np.arange(len(level)) * 5.0,
        level=level,
        is_open=np.zeros(len(level), dtype=bool),
        sun=still - 20.0,
        day=np.zeros(len(level), dtype=np.int64),
        hour=still,
        month=np.zeros(len(level), dtype=np.int64),
        age=still,
        age_max=still,
    )


def test_pulses_carry_what_is_left_over():
    energy = np.floor(np.cumsum(np.full(ROWS, 0.37)))
    assert rounding_share(_table(np.diff(energy, prepend=0.0) * 0.01), 0.01) == CARRIED


@pytest.mark.parametrize("share", [0.3, 0.5, 0.6])
def test_readings_rounded_each_by_itself_leave_a_part_of_the_step(share):
    noise = np.random.default_rng(3).normal(0.0, 0.2, ROWS)
    assert rounding_share(_table(np.round(2.0 + share + noise) * 0.01), 0.01) == ROUNDED


def test_readings_that_are_all_alike_leave_nearly_half_a_step():
    assert rounding_share(_table(np.full(ROWS, 0.02)), 0.01) == ALIKE
