"""Meters conserve energy within their errors; faults do to the rows what they say."""

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from mv.simulate import FileFault, MeterDesign, SimulatedSite, meter_series, random_site, simulate_site
from mv.simulate.file_faults import with_faults
from mv.simulate.layouts import decimals_of, gzipped, meter_text, stamp_texts
from mv.simulate.meter import interval_energy_kwh, meter_power_kw, read_meter

PLAIN = MeterDesign("m", (), noise_fraction=0.0, whole_building=True)


@pytest.fixture(scope="module")
def site() -> SimulatedSite:
    return simulate_site(random_site(3, zones=2, latitude=44.5, baseline_months=2, reporting_months=2), 3)


@pytest.mark.parametrize("interval", [1, 5, 15, 30, 60])
def test_interval_energy_is_the_integral_of_minute_power(site: SimulatedSite, interval: int) -> None:
    power = meter_power_kw(site, PLAIN)
    energy = interval_energy_kwh(power, interval)
    assert energy.sum() == pytest.approx(power.sum() / 60, rel=1e-12)
    assert energy[7] == pytest.approx(power[7 * interval : 8 * interval].mean() * interval / 60)


@pytest.mark.parametrize("resolution", [0.001, 0.01, 1.0])
def test_counting_in_whole_steps_loses_no_energy(site: SimulatedSite, resolution: float) -> None:
    readings = read_meter(site, replace(PLAIN, resolution=resolution))
    steps = readings.values / resolution
    assert np.abs(steps - np.round(steps)).max() < 1e-6
    assert readings.values.sum() == pytest.approx(
        meter_power_kw(site, PLAIN).sum() / 60, abs=1.01 * resolution
    )


def test_gain_and_noise_act_as_designed(site: SimulatedSite) -> None:
    fine = replace(PLAIN, resolution=1e-6)
    true = read_meter(site, fine).values
    high = read_meter(site, replace(fine, gain=1.02)).values
    assert high.sum() == pytest.approx(1.02 * true.sum(), rel=1e-6)
    noisy = read_meter(site, replace(fine, noise_fraction=0.02)).values
    busy = true > 0.05
    assert (noisy[busy] / true[busy] - 1).std() == pytest.approx(0.02, rel=0.1)


def test_a_register_shows_what_was_used_before_each_instant(site: SimulatedSite) -> None:
    energy = read_meter(site, PLAIN)
    register = read_meter(site, replace(PLAIN, quantity="register", register_start=100.0))
    assert register.values[0] == 100.0
    assert len(register.values) == len(energy.values) + 1
    assert np.diff(register.values) == pytest.approx(energy.values, abs=1e-6)


def test_power_readings_are_rounded_means(site: SimulatedSite) -> None:
    watts = read_meter(site, replace(PLAIN, quantity="power", unit="W", resolution=1.0, interval_minutes=5))
    mean = meter_power_kw(site, PLAIN).reshape(-1, 5).mean(axis=1) * 1000
    assert np.abs(watts.values - mean).max() <= 0.5 + 1e-9


def test_each_file_fault_touches_its_rows_alone(site: SimulatedSite) -> None:
    when, zone = datetime(2022, 12, 7, 9, 0), site.design.timezone
    clean = read_meter(site, PLAIN)

    def faulty(kind: str, **rest: float) -> tuple[int, float]:
        fault = FileFault(kind, when, 120, **rest)  # type: ignore[arg-type]
        found = with_faults(clean, replace(PLAIN, faults=(fault,)), zone)
        return len(found.values) - len(clean.values), float(np.nansum(found.values) - clean.values.sum())

    hit = clean.stamps.tz_convert(zone).tz_localize(None)
    rows = (hit >= when) & (hit < datetime(2022, 12, 7, 11, 0))
    energy = clean.values[rows].sum()
    assert rows.sum() == 8
    assert faulty("gap") == (-8, pytest.approx(-energy))
    assert faulty("lump") == (-8, pytest.approx(0.0, abs=1e-9))
    assert faulty("duplicate") == (8, pytest.approx(energy))
    assert faulty("text") == (0, pytest.approx(-energy))
    spiked = faulty("spike", size=50.0)
    assert spiked[0] == 0 and spiked[1] > 40 * np.median(clean.values)


def test_the_repeated_hour_is_written_twice_and_the_skipped_one_never(site: SimulatedSite) -> None:
    year = simulate_site(random_site(1, latitude=44.5, baseline_months=12, reporting_months=1), 1)
    meter = replace(PLAIN, time_style="iso local", time_column="t")
    lines = meter_text(read_meter(year, meter), meter, "America/Chicago").splitlines()
    assert sum(line.startswith("2022-11-06 01:15") for line in lines) == 2
    assert sum(line.startswith("2022-11-06 02:15") for line in lines) == 1
    assert not any(line.startswith("2022-03-13 02") for line in lines)


def test_stamps_read_as_their_style_says(site: SimulatedSite) -> None:
    stamp = (
        site.clock.stamps(15)[:1].tz_convert("UTC")
        - site.clock.stamps(15)[0]
        + np.datetime64("2024-07-04T17:05")
    )
    index = stamp.tz_localize("UTC") if stamp.tz is None else stamp
    chicago = "America/Chicago"
    texts = {
        style: stamp_texts(index, style, chicago)[0]  # type: ignore[arg-type]
        for style in ("iso offset", "iso local", "utc", "day first", "month first")
    }
    assert texts == {
        "iso offset": "2024-07-04T12:05-05:00",
        "iso local": "2024-07-04 12:05",
        "utc": "2024-07-04T17:05Z",
        "day first": "04.07.2024 12:05",
        "month first": "07/04/2024 12:05",
    }


def test_resolution_decides_the_decimals() -> None:
    assert [decimals_of(r) for r in (1.0, 0.1, 0.01, 0.5, 0.001, 10.0)] == [0, 1, 2, 1, 3, 0]


def test_compressed_files_are_gzip_without_a_time_stamp() -> None:
    import gzip

    packed = gzipped("a,b\n1,2\n")
    assert gzip.decompress(packed) == b"a,b\n1,2\n"
    assert packed[4:8] == b"\0\0\0\0"


def test_series_in_memory_leave_out_what_a_perfect_cleaner_would(site: SimulatedSite) -> None:
    faults = (
        FileFault("gap", datetime(2022, 12, 7, 9, 0), 60),
        FileFault("lump", datetime(2022, 12, 8, 9, 0), 60),
        FileFault("duplicate", datetime(2022, 12, 9, 9, 0), 60),
        FileFault("spike", datetime(2022, 12, 10, 9, 0), 15, 50.0),
    )
    series = meter_series(site, replace(PLAIN, faults=faults))
    assert series.energy_kwh.isna().sum() == 4 + 5 + 1
    clean = meter_series(site, PLAIN).energy_kwh
    assert (series.energy_kwh - clean).abs().max() == 0
    for quantity, unit in (("power", "W"), ("register", "kWh")):
        other = meter_series(site, replace(PLAIN, quantity=quantity, unit=unit, resolution=0.01))  # type: ignore[arg-type]
        assert other.energy_kwh.sum() == pytest.approx(clean.sum(), rel=1e-3)


def test_a_wrong_clock_moves_stamps_and_no_energy(site: SimulatedSite) -> None:
    fault = FileFault("clock", datetime(2022, 12, 7, 9, 0), 24 * 60, 60.0)
    clean = read_meter(site, PLAIN)
    late = with_faults(clean, replace(PLAIN, faults=(fault,)), site.design.timezone)
    moved = (late.stamps - clean.stamps).total_seconds().to_numpy() / 60
    assert set(moved) == {0.0, 60.0} and (moved == 60).sum() == 96
    assert np.array_equal(late.values, clean.values)


def test_a_state_logger_tells_when_lamps_went_on_and_off(site: SimulatedSite) -> None:
    zone = site.zones[0]
    log = read_meter(site, MeterDesign("L", (zone.design.id,), quantity="on-off", resolution=1.0))
    assert np.array_equal(np.abs(np.diff(log.values)), np.ones(len(log.values) - 1))
    ends = log.stamps[1:].append(site.clock.stamps()[-1:] + np.timedelta64(1, "m"))
    hours = ((ends - log.stamps).total_seconds().to_numpy() * log.values).sum() / 3600
    assert hours == pytest.approx((zone.actual_kw > 0.05 * zone.actual_kw.max()).sum() / 60)


def test_a_deaf_meter_misses_standby(site: SimulatedSite) -> None:
    heard = read_meter(site, replace(PLAIN, resolution=1e-6)).values
    deaf = read_meter(site, replace(PLAIN, resolution=1e-6, starting_kw=0.5)).values
    assert deaf[heard < 0.12].max() < 1e-5
    assert deaf[heard > 0.13] == pytest.approx(heard[heard > 0.13], abs=1e-5)
