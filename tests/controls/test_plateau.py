"""Levels at which a load dwells."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mv.controls.plateau import lower_plateau, plateaus, upper_plateau


def test_two_levels_are_told_with_their_shares():
    rng = np.random.default_rng(0)
    values = np.concatenate((0.2 + 0.004 * rng.standard_normal(300), 0.8 + 0.004 * rng.standard_normal(100)))
    found = plateaus(values)
    assert [p.level for p in found] == pytest.approx([0.2, 0.8], abs=0.002)
    assert [p.share for p in found] == pytest.approx([0.75, 0.25], abs=0.01)
    assert upper_plateau(values, least_share=0.5).level == pytest.approx(0.2, abs=0.002)
    assert lower_plateau(values, least_share=0.1).level == pytest.approx(0.2, abs=0.002)


def test_a_lone_level_is_one_plateau_whatever_the_smoothing():
    for smoothing in (0.001, 0.02, 0.2):
        found = plateaus(np.full(50, 0.4), smoothing=smoothing)
        assert len(found) == 1
        assert found[0].level == pytest.approx(0.4)
        assert found[0].share == 1.0


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.lists(st.floats(-0.2, 2.0), min_size=0, max_size=80),
    st.floats(0.0, 0.5),
)
def test_any_readings_give_plateaus_within_their_range(values, smoothing):
    found = plateaus(np.array(values), smoothing=smoothing)
    assert bool(found) == (len(values) >= 3)
    for plateau in found:
        assert min(values) <= plateau.level <= max(values)
        assert 0 < plateau.share <= 1
