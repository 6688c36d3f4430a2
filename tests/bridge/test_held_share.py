"""How long a sensor holds, against a count minute by minute."""

import numpy as np
import pandas as pd
import pytest

from mv.base.ledger import Ledger
from mv.base.series import MotionLog
from mv.bridge.holding import held_share, motion_spans

START = pd.Timestamp("2024-03-01", tz="UTC")
LEDGER = Ledger("motion", 0, 0, {}, 0, None, None, None, None, {})


def _log(spans: list[tuple[float, float]], *, hours: float = 24.0) -> MotionLog:
    minutes = [edge for span in spans for edge in span]
    index = pd.DatetimeIndex([START + pd.Timedelta(minutes=m) for m in minutes])
    state = pd.Series(np.tile([1, 0], len(spans)), index=index, dtype="int8")
    return MotionLog("hall", state, START, START + pd.Timedelta(hours=hours), LEDGER)


def _held(log: MotionLog, hold: float, minutes: float, count: int) -> np.ndarray:
    spans = motion_spans(log, origin=START)
    index = pd.date_range(START, periods=count, freq=f"{minutes:g}min")
    holds = np.full(len(spans.end), hold)
    return held_share(spans, index, interval_minutes=minutes, hold_minutes=holds)


def test_a_single_motion_holds_for_its_length_and_the_delay() -> None:
    share = _held(_log([(60.0, 65.0)]), 10.0, 15.0, 96)
    assert share[4:6] == pytest.approx([1.0, 0.0])
    assert np.nansum(share) * 15 == pytest.approx(15.0)


@pytest.mark.parametrize("minutes", [1.0, 5.0, 15.0, 60.0])
def test_overlapping_holds_count_once(minutes: float) -> None:
    rng = np.random.default_rng(7)
    edges = np.sort(rng.choice(np.arange(60, 1400), size=60, replace=False)).astype(float)
    spans = [(float(a), float(b)) for a, b in edges.reshape(-1, 2)]
    lit = np.zeros(1500, dtype=bool)
    for a, b in spans:
        lit[int(a) : int(b) + 12] = True
    count = int(1440 / minutes)
    share = _held(_log(spans), 12.0, minutes, count)
    brute = lit[:1440].reshape(count, -1).mean(axis=1)
    known = np.isfinite(share)
    assert share[known] == pytest.approx(brute[known])
    assert known.sum() >= count - int(np.ceil(12 / minutes))


def test_nothing_is_known_outside_the_log() -> None:
    share = _held(_log([(60.0, 65.0)], hours=2.0), 10.0, 15.0, 16)
    assert np.isnan(share[8:]).all() and np.isfinite(share[1:8]).all()


def test_motion_that_never_ends_holds_to_the_end_of_the_log() -> None:
    state = pd.Series([1], index=pd.DatetimeIndex([START + pd.Timedelta(hours=1)]), dtype="int8")
    log = MotionLog("hall", state, START, START + pd.Timedelta(hours=3), LEDGER)
    assert _held(log, 5.0, 60.0, 3)[1:] == pytest.approx([1.0, 1.0])


def test_a_log_without_motion_holds_nothing() -> None:
    share = _held(_log([]), 5.0, 60.0, 24)
    assert (share == 0.0).all()


def test_a_lag_moves_motion_later() -> None:
    log = _log([(60.0, 65.0)])
    spans = motion_spans(log, origin=START, lag_minutes=3.0)
    assert (spans.start[0], spans.end[0]) == (63.0, 68.0)
