"""Thinning leaves the picture as it was: extremes, order and gaps."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from mv.figures import thinned

VALUES = arrays(
    np.float64, st.integers(0, 400), elements=st.one_of(st.floats(-1e6, 1e6), st.just(float("nan")))
)


def test_few_readings_are_all_kept() -> None:
    values = np.array([3.0, np.nan, 1.0, 2.0])
    kept = thinned(values, target_points=10)
    assert kept.positions.tolist() == [0, 2, 3]
    assert kept.breaks_after.tolist() == [True, False, False]
    assert kept.per_bucket == 1


def test_a_single_spike_in_a_year_survives() -> None:
    values = np.ones(35_040)
    values[12_345] = 9.0
    values[23_456] = -4.0
    kept = thinned(values)
    assert {12_345, 23_456} <= set(kept.positions.tolist())
    assert len(kept.positions) <= 2000


def test_a_gap_of_one_reading_breaks_the_line() -> None:
    values = np.sin(np.arange(10_000.0))
    values[5_000] = np.nan
    kept = thinned(values, target_points=200)
    (place,) = np.flatnonzero(kept.breaks_after)
    assert kept.positions[place] < 5_000 < kept.positions[place + 1]


def test_what_is_missing_takes_no_room_from_what_was_read() -> None:
    values = np.full(100_000, np.nan)
    values[40_000:41_500] = np.arange(1500.0)
    assert len(thinned(values, target_points=2000).positions) == 1500


def test_a_target_too_small_to_draw_is_refused() -> None:
    with pytest.raises(ValueError, match="target_points"):
        thinned(np.ones(10), target_points=2)


@given(values=VALUES, target=st.integers(4, 60))
def test_thinning_keeps_extremes_order_and_every_gap(values: np.ndarray, target: int) -> None:
    kept = thinned(values, target_points=target)
    finite = np.isfinite(values)
    drawn = values[kept.positions]
    assert np.isfinite(drawn).all()
    assert (np.diff(kept.positions) > 0).all()
    assert len(kept.positions) <= max(target, 0) or len(values) <= target
    if finite.any():
        assert drawn.min() == values[finite].min()
        assert drawn.max() == values[finite].max()
    for first, second, broken in zip(
        kept.positions[:-1], kept.positions[1:], kept.breaks_after[:-1], strict=True
    ):
        assert broken == (~finite[first:second]).any()
