"""What each measure saved, on a site whose every minute is known by construction."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import CannotSay, Estimate
from mv.base.ledger import Ledger
from mv.base.series import MotionLog
from mv.base.setting_records import SettingFinding, ZoneSettings
from mv.bridge import Bridge, MeterEvidence, ZoneEvidence, baseline_to_reporting
from mv.bridge.chain import DAYLIGHT, LAMPS, MEASURES, OCCUPANCY, SCHEDULE, STANDBY, TRIM

ZONE = "UTC"
DAYS = 120
BEFORE_KW, AFTER_KW, EGRESS_KW = 10.0, 4.0, 0.05
HIGH, LOW, HOLD, FIXTURES, STANDBY_W = 0.8, 0.25, 10, 100, 0.5
LEDGER = Ledger("x", 0, 0, {}, 0, None, None, None, None, {})
AGREED = {
    "high_trim": HIGH,
    "low_level": LOW,
    "hold_minutes": float(HOLD),
    "daylight_dimming": True,
    "scheduled_off": True,
    "standby_watts": STANDBY_W,
}


class Known:
    """Minute by minute: motion, sun, opening, the old lamps and each stage of the new ones."""

    def __init__(
        self,
        *,
        step: int = 5,
        dims: bool = True,
        seed: int = 42,
        here: tuple[float, float] = (7.5, 18.0),
        high: float = HIGH,
        low: float = LOW,
        hold: int = HOLD,
    ) -> None:
        rng = np.random.default_rng(seed)
        minutes = DAYS * 1440
        index = pd.date_range("2024-01-01", periods=minutes, freq="1min", tz="UTC")
        hour = np.asarray(index.hour + index.minute / 60.0)
        self.open = (hour >= 7) & (hour < 19) & np.asarray(index.day_of_week < 5)
        present = self.open & (hour >= here[0]) & (hour < here[1])
        motion = present & (rng.random(minutes // 20).repeat(20) < 0.6)
        motion |= np.repeat(rng.random(minutes // 20) < 0.01, 20)
        self.motion, self.index, self.step = motion, index, step
        self.sun = 40.0 * np.sin((hour - 8.0) / 8.0 * np.pi)
        held = np.zeros(minutes, dtype=bool)
        for shift in range(hold + 1):
            held |= np.roll(motion, shift)
        level = np.full(minutes, high)
        if dims:
            level = np.where(self.sun > 0, high - 0.4 * self.sun / 40.0, high)
        old_on = present | motion
        low_lit = np.minimum(low, level)
        off = self.open
        self.stages = [
            BEFORE_KW * old_on + EGRESS_KW,
            AFTER_KW * old_on + EGRESS_KW,
            AFTER_KW * high * old_on + EGRESS_KW,
            AFTER_KW * np.where(held, high, low) + EGRESS_KW,
            AFTER_KW * np.where(held, level, low_lit) + EGRESS_KW,
            AFTER_KW * np.where(held, level, low_lit * off) + EGRESS_KW,
        ]
        dark = ~held & ~off
        self.stages.append(self.stages[-1] + dark * FIXTURES * STANDBY_W / 1000.0)
        self.kwh = [float(stage.sum()) / 60.0 for stage in self.stages]
        self.truth = dict(zip(MEASURES, -np.diff(self.kwh), strict=True))

    def series(self, minute: np.ndarray) -> pd.Series:
        means = np.asarray(minute, dtype=float).reshape(-1, self.step).mean(axis=1)
        return pd.Series(means, index=self.index[:: self.step])

    def log(self) -> MotionLog:
        edges = np.flatnonzero(np.diff(self.motion.astype(int), prepend=0))
        state = pd.Series(self.motion[edges].astype("int8"), index=self.index[edges])
        return MotionLog("hall", state, self.index[0], self.index[-1], LEDGER)

    def settings(self, **known: float) -> ZoneSettings:
        found = []
        for name, value in AGREED.items():
            answer: object = CannotSay(name, "not looked at")
            if name in known:
                answer = Estimate(known[name], known[name] - 0.01, known[name] + 0.01, 0.90)
            found.append(SettingFinding("hall", name, value, answer, "kept", None, ""))  # type: ignore[arg-type]
        return ZoneSettings("hall", tuple(found), pd.DataFrame())

    def meter(self, *, motion: bool = True, settings: ZoneSettings | None = None) -> MeterEvidence:
        avoided = self.kwh[0] - self.kwh[6]
        power = self.series(self.stages[6])
        zone = ZoneEvidence(
            "hall",
            BEFORE_KW,
            AFTER_KW,
            FIXTURES,
            is_open=self.series(self.open) > 0.5,
            motion=self.log() if motion else None,
            settings=settings,
        )
        return MeterEvidence(
            "LP-1",
            Estimate(avoided, avoided - 50.0, avoided + 50.0, 0.90),
            self.kwh[6],
            power,
            float(self.step),
            (zone,),
            baseline_power_kw=self.series(self.stages[0]),
            sun_elevation_deg=self.series(self.sun),
        )


@pytest.fixture(scope="module")
def known() -> Known:
    return Known()


def _bridge(meter: MeterEvidence) -> Bridge:
    return baseline_to_reporting([meter], avoided_kwh=meter.avoided_kwh, timezone=ZONE)


def _told(bridge: Bridge) -> dict[str, Estimate]:
    return {s.step: s.kwh for s in bridge.steps if isinstance(s.kwh, Estimate)}


def _sum(bridge: Bridge) -> float:
    return sum(answer.estimate for answer in _told(bridge).values())


@pytest.mark.parametrize("step", [1, 5, 15])
def test_motion_and_fine_metering_separate_every_measure(step: int) -> None:
    site = Known(step=step)
    bridge = _bridge(site.meter())
    found = _told(bridge)
    for name in (LAMPS, TRIM, OCCUPANCY, DAYLIGHT, SCHEDULE):
        assert found[name].estimate == pytest.approx(site.truth[name], rel=0.04), name
        half = (found[name].high or 0.0) - float(found[name].estimate)
        assert 0.0 < half < 0.25 * abs(site.truth[name]) + 60.0
    assert found[STANDBY].low is not None and found[STANDBY].high is not None
    assert found[STANDBY].low < site.truth[STANDBY] < found[STANDBY].high
    assert _sum(bridge) == bridge.total.estimate  # type: ignore[union-attr]


def test_hourly_metering_still_tells_the_large_measures() -> None:
    site = Known(step=60)
    found = _told(_bridge(site.meter(settings=site.settings(hold_minutes=HOLD))))
    for name in (LAMPS, TRIM, DAYLIGHT, SCHEDULE):
        assert found[name].estimate == pytest.approx(site.truth[name], rel=0.08), name


def test_a_told_hold_time_that_fits_far_worse_gives_way(known: Known) -> None:
    found = _told(_bridge(known.meter(settings=known.settings(hold_minutes=45.0))))
    assert found[OCCUPANCY].estimate == pytest.approx(known.truth[OCCUPANCY], rel=0.05)


def test_without_a_motion_log_what_cannot_be_told_is_said_and_lies_in_the_rest(
    known: Known,
) -> None:
    bridge = _bridge(known.meter(motion=False, settings=known.settings(high_trim=HIGH)))
    untold = [s.step for s in bridge.steps if isinstance(s.kwh, CannotSay)]
    assert {OCCUPANCY, DAYLIGHT} <= set(untold)
    found = _told(bridge)
    assert found[LAMPS].estimate == pytest.approx(known.truth[LAMPS], rel=0.03)
    assert found[TRIM].estimate == pytest.approx(known.truth[TRIM], rel=0.03)
    rest = known.truth[OCCUPANCY] + known.truth[DAYLIGHT]
    rest += known.truth[SCHEDULE] if SCHEDULE in untold else 0.0
    assert found["unexplained"].estimate == pytest.approx(rest, rel=0.1)
    assert "cannot be told apart" in bridge.steps[-1].why
    assert _sum(bridge) == bridge.total.estimate  # type: ignore[union-attr]


def test_with_the_vacant_level_told_the_schedule_needs_no_motion_log(known: Known) -> None:
    settings = known.settings(high_trim=HIGH, low_level=LOW, scheduled_off=1.0, daylight_dimming=1.0)
    found = _told(_bridge(known.meter(motion=False, settings=settings)))
    scheduled = found[SCHEDULE]
    assert scheduled.low is not None and scheduled.high is not None
    assert scheduled.low < known.truth[SCHEDULE] < scheduled.high
    assert OCCUPANCY not in found


def test_where_nothing_dims_for_daylight_that_step_is_nothing() -> None:
    site = Known(dims=False)
    settings = site.settings(daylight_dimming=0.0)
    found = _told(_bridge(site.meter(settings=settings)))
    assert found[DAYLIGHT].estimate == 0.0
    assert found[OCCUPANCY].estimate == pytest.approx(site.truth[OCCUPANCY], rel=0.05)


def test_a_load_that_came_after_hand_over_is_no_measure(known: Known) -> None:
    meter = known.meter()
    added = 0.6 * (np.arange(len(meter.power_kw)) > len(meter.power_kw) // 2)
    extra = float(added.sum()) * known.step / 60.0
    day = (known.index[0] + pd.Timedelta(days=DAYS // 2)).date()
    seen = SettingFinding("hall", "high_trim", HIGH, Estimate(0.9, 0.88, 0.92, 0.9), "moved", day, "")
    settings = replace(known.settings(), findings=(seen, *known.settings().findings[1:]))
    assert isinstance(meter.avoided_kwh, Estimate)
    later = replace(
        meter,
        power_kw=meter.power_kw + added,
        actual_kwh=meter.actual_kwh + extra,
        avoided_kwh=Estimate(
            meter.avoided_kwh.estimate - extra,
            meter.avoided_kwh.estimate - extra - 50.0,
            meter.avoided_kwh.estimate - extra + 50.0,
            0.90,
        ),
        zones=(replace(meter.zones[0], settings=settings),),
    )
    found = _told(_bridge(later))
    assert found["unexplained"].estimate == pytest.approx(-extra, rel=0.05)
    assert found[TRIM].estimate == pytest.approx(known.truth[TRIM], rel=0.05)


def test_a_whole_building_meter_tells_no_step(known: Known) -> None:
    bridge = _bridge(replace(known.meter(), measures="whole building"))
    found = _told(bridge)
    assert set(found) == {"unexplained"}
    assert found["unexplained"].estimate == bridge.total.estimate  # type: ignore[union-attr]


def test_a_zone_nobody_counted_tells_no_step(known: Known) -> None:
    meter = known.meter()
    zone = replace(meter.zones[0], connected_kw_before=None)
    bridge = _bridge(replace(meter, zones=(zone,)))
    assert set(_told(bridge)) == {"unexplained"}
    assert "fixtures and watts" in bridge.steps[0].why


def test_a_site_step_that_most_meters_cannot_tell_is_not_given(known: Known) -> None:
    telling = known.meter()
    silent = replace(known.meter(motion=False), meter="LP-2")
    assert isinstance(telling.avoided_kwh, Estimate)
    total = telling.avoided_kwh.scaled(2.0)
    bridge = baseline_to_reporting([telling, silent], avoided_kwh=total, timezone=ZONE)
    steps = {step.step: step for step in bridge.steps}
    assert isinstance(steps[DAYLIGHT].kwh, CannotSay)
    assert isinstance(steps[DAYLIGHT].by_part["LP-1"], Estimate)
    assert "LP-2" in steps[DAYLIGHT].kwh.why
    assert _sum(bridge) == total.estimate


def test_without_an_avoided_figure_there_is_no_bridge(known: Known) -> None:
    unsaid = CannotSay("avoided energy", "no baseline")
    bridge = baseline_to_reporting([known.meter()], avoided_kwh=unsaid, timezone=ZONE)
    assert bridge.steps == () and bridge.total == CannotSay(
        "bridge from baseline to reporting", "no baseline"
    )


def test_no_meter_at_all_leaves_all_unexplained() -> None:
    total = Estimate(100.0, 90.0, 110.0, 0.9)
    bridge = baseline_to_reporting([], avoided_kwh=total, timezone=ZONE)
    assert _told(bridge)["unexplained"].estimate == 100.0


def test_two_zones_on_one_meter_are_told_apart_by_their_motion(known: Known) -> None:
    other = Known(seed=7, here=(9.0, 16.0), high=0.6, low=0.1, hold=5)
    one, two = known.meter(), other.meter()
    assert isinstance(one.avoided_kwh, Estimate) and isinstance(two.avoided_kwh, Estimate)
    assert one.baseline_power_kw is not None and two.baseline_power_kw is not None
    avoided = float(one.avoided_kwh.estimate + two.avoided_kwh.estimate)
    both = replace(
        one,
        avoided_kwh=Estimate(avoided, avoided - 70.0, avoided + 70.0, 0.90),
        actual_kwh=one.actual_kwh + two.actual_kwh,
        power_kw=one.power_kw + two.power_kw,
        baseline_power_kw=one.baseline_power_kw + two.baseline_power_kw,
        zones=(one.zones[0], replace(two.zones[0], zone="office")),
    )
    found = _told(_bridge(both))
    for name in (LAMPS, TRIM, OCCUPANCY, DAYLIGHT, SCHEDULE, STANDBY):
        true = known.truth[name] + other.truth[name]
        low, high = found[name].low, found[name].high
        assert low is not None and high is not None
        assert low <= true <= high or abs(found[name].estimate - true) <= 0.05 * abs(true), name
