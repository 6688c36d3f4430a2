"""Whatever a meter and a log hold, every agreed setting gets a finding and nothing breaks."""

from datetime import timedelta

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from mv.base.estimate import CannotSay, Estimate
from mv.base.ledger import Ledger
from mv.base.series import MeterSeries, MotionLog
from mv.base.study_records import Commissioned, Span, Zone
from mv.controls import infer_settings
from mv.drift import DriftSeries, find_drift

EMPTY = Ledger("m", 0, 0, {}, 0, None, None, None, None, {})
AGREED = Commissioned(
    high_trim=0.8,
    low_level=0.2,
    hold_minutes=10.0,
    daylight_dimming=True,
    scheduled_off=True,
    standby_watts=0.4,
)


def load(kind, n, rng):
    steady = {"nothing": 0.0, "constant": 0.5, "negative": -0.1}
    if kind in steady:
        return np.full(n, steady[kind])
    if kind == "gaps":
        return np.where(rng.random(n) < 0.6, np.nan, 0.4)
    if kind == "missing":
        return np.full(n, np.nan)
    if kind == "random":
        return rng.random(n)
    return np.where((np.arange(n) // 40) % 2 == 0, 0.8, 0.0)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    kind=st.sampled_from(["nothing", "constant", "negative", "gaps", "missing", "random", "blocks"]),
    days=st.integers(1, 50),
    minutes=st.sampled_from([5, 15, 30, 60]),
    hours=st.sampled_from(["day", "never", "always"]),
    changes=st.sampled_from([None, 0, 1, 2, 400]),
    place=st.sampled_from([None, "indoor", "outdoor"]),
    fixtures=st.sampled_from([None, 10]),
    sun=st.sampled_from(["turning", "never up", "always up"]),
    seed=st.integers(0, 5),
)
def test_every_agreed_setting_gets_a_finding(kind, days, minutes, hours, changes, place, fixtures, sun, seed):
    rng = np.random.default_rng(seed)
    n = days * 1440 // minutes
    index = pd.date_range("2024-02-20", periods=n, freq=f"{minutes}min", tz="UTC")
    hour = np.asarray((index.hour * 60 + index.minute) / 60.0)
    elevation = {"turning": 40 * np.sin((hour - 6) / 12 * np.pi), "never up": np.full(n, -20.0)}
    conditions = pd.DataFrame(
        {
            "sun_elevation_deg": elevation.get(sun, np.full(n, 20.0)),
            "is_open": {"day": (hour >= 8) & (hour < 18), "never": np.zeros(n, dtype=bool)}.get(
                hours, np.ones(n, dtype=bool)
            ),
            "is_holiday": False,
            "local_day": index.tz_localize(None).normalize(),
            "local_hour": hour,
        },
        index=index,
    )
    energy = pd.Series(load(kind, n, rng) * minutes / 60.0, index)
    log = None
    if changes is not None:
        at = np.sort(rng.integers(0, days * 86400, changes))
        stamps = index[0] + pd.to_timedelta(at, unit="s")
        state = pd.Series((np.arange(changes) % 2 == 0).astype("int8"), pd.DatetimeIndex(stamps))
        log = MotionLog("z", state, index[0], index[-1], EMPTY)
    first = index[0].date()
    result = infer_settings(
        Zone(
            id="z", fixtures=fixtures, watts_after=50 if fixtures else None, place=place, commissioned=AGREED
        ),
        MeterSeries("m", float(minutes), energy, pd.Series(False, index), EMPTY),
        log,
        conditions,
        reporting=Span(first=first, last=first + timedelta(days=days - 1)),
        timezone="UTC",
        confidence=0.90,
    )
    assert [f.setting for f in result.findings] == list(AGREED.model_dump())
    for finding in result.findings:
        assert isinstance(finding.observed, Estimate | CannotSay)
        assert (finding.verdict == "cannot tell") or isinstance(finding.observed, Estimate)
        assert finding.why
    daily = energy.groupby(conditions["local_day"].to_numpy()).sum(min_count=1)
    drivers = pd.DataFrame({"is_open_day": True}, index=daily.index)
    for finding in find_drift([DriftSeries("z", daily, drivers, ("z",))], [result], confidence=0.90):
        assert finding.likely_causes
        assert finding.check_first
