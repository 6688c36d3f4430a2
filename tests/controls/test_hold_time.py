"""The area rule for hold times on loads drawn by hand."""

import numpy as np
import pytest

from mv.controls.hold_time import half_sample_mode, hold_events, typical_hold
from mv.controls.motion_age import MotionRuns, ages, lit_minutes, motion_share
from mv.controls.zone_table import ZoneTable, shortest_motion


def runs_of(starts, ends, last=10_000.0):
    return MotionRuns(None, np.array(starts, float), np.array(ends, float), 0.0, last)


def table_of(runs, minutes, *, hold, high=0.8, low=0.2, n_minutes=10_000):
    start = np.arange(0, n_minutes, minutes, dtype=float)
    share = motion_share(runs, start, minutes, hold)
    age, age_max = ages(runs, start, minutes)
    n = len(start)
    return ZoneTable(
        minutes=minutes,
        start=start,
        level=low + (high - low) * share,
        is_open=np.ones(n, dtype=bool),
        sun=np.full(n, -20.0),
        day=(start // 1440).astype(np.int64),
        hour=(start % 1440) / 60,
        month=np.zeros(n, dtype=np.int64),
        age=age,
        age_max=age_max,
    )


def visits(seed, n_minutes=10_000.0):
    rng = np.random.default_rng(seed)
    starts, ends, at = [], [], 30.0
    while at < n_minutes - 200:
        stay = rng.uniform(20, 60)
        starts.append(at)
        ends.append(at + stay)
        at += stay + rng.uniform(5, 150)
    return runs_of(starts, ends, n_minutes)


@pytest.mark.parametrize("minutes", [1.0, 5.0, 15.0])
@pytest.mark.parametrize("hold", [3.0, 10.0, 20.0, 45.0])
def test_the_area_is_the_hold_time_on_any_grid(minutes, hold):
    runs = visits(1)
    events = hold_events(table_of(runs, minutes, hold=hold), runs, safe_age=2.0)
    assert len(events.minutes) >= 8
    value, _ = typical_hold(events.minutes, events.half)
    assert value == pytest.approx(hold, abs=0.05)


def test_lamps_that_never_fall_give_no_events_but_windows_without_a_fall():
    runs = visits(2)
    events = hold_events(table_of(runs, 5.0, hold=10.0, low=0.8), runs, safe_age=2.0)
    assert len(events.minutes) == 0
    assert len(events.undropped_minutes) > 10


@pytest.mark.parametrize(("minutes", "room"), [(1.0, 0.3), (5.0, 0.5), (15.0, 2.0)])
def test_several_sensors_are_told_by_the_last_fall(minutes, room):
    """Three sensors hold a third of the lamps each; the log tells of any of them."""
    groups = [visits(seed) for seed in (3, 4, 5)]
    start = np.arange(0, 10_000, minutes)
    level = 0.1 + 0.7 * np.mean([motion_share(g, start, minutes, 12.0) for g in groups], axis=0)
    spans = sorted(
        zip(np.concatenate([g.start for g in groups]), np.concatenate([g.end for g in groups]), strict=True)
    )
    merged = [list(spans[0])]
    for begin, end in spans[1:]:
        if begin <= merged[-1][1]:
            merged[-1][1] = max(end, merged[-1][1])
        else:
            merged.append([begin, end])
    runs = runs_of([m[0] for m in merged], [m[1] for m in merged])
    base = table_of(runs, minutes, hold=12.0)
    table = ZoneTable(**{**{f: getattr(base, f) for f in base.__dataclass_fields__}, "level": level})
    events = hold_events(table, runs, safe_age=2.0)
    assert events.several
    value, _ = typical_hold(events.minutes, events.half)
    assert value == pytest.approx(12.0, abs=room)


def test_holds_never_overlap_and_add_up():
    runs = runs_of([0.0, 10.0, 100.0], [5.0, 12.0, 110.0])
    assert lit_minutes(runs, np.array([200.0]), 20.0)[0] == pytest.approx(32.0 + 30.0)
    assert motion_share(runs, np.array([30.0]), 10.0, 20.0)[0] == pytest.approx(0.2)


def test_age_counts_from_the_end_of_motion_and_is_unknown_before_any():
    runs = runs_of([10.0, 50.0], [12.0, 60.0])
    age, longest = ages(runs, np.array([0.0, 15.0, 45.0, 55.0]), 15.0)
    assert np.isnan(age[0])
    assert age[1:].tolist() == [3.0, 33.0, 0.0]
    assert longest[1:].tolist() == [18.0, 38.0, 10.0]


def test_the_mode_ignores_a_long_tail():
    rng = np.random.default_rng(0)
    values = np.concatenate((10 + 0.1 * rng.standard_normal(60), 10 + rng.exponential(15, 60)))
    assert half_sample_mode(values) == pytest.approx(10.0, abs=0.3)


def test_a_log_that_never_shows_short_motion_widens_the_interval_by_its_own_delay():
    start = np.arange(0.0, 2000.0, 10.0)
    kept = [runs_of(start, start + length) for length in (0.25, 5.0)]
    assert shortest_motion(kept[0]) == pytest.approx(0.25)
    assert shortest_motion(kept[1]) == 0.0  # so long is people staying, or the stamps' own step
    assert shortest_motion(None) == 0.0
