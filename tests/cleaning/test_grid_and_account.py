"""The grid, the periods, gaps and the account: totals kept, resolution told, rows balanced."""

import json

import numpy as np
import pandas as pd
import pytest

from mv.cleaning import AFTER_REPORTING, ledger_as_json
from mv.cleaning.grid import onto_grid

PERIODS = {"baseline": ["2024-01-08", "2024-01-14"], "reporting": ["2024-01-22", "2024-01-28"]}


def test_files_of_different_intervals_share_the_finest_grid(clean, raw, quarter_hours):
    coarse, fine = quarter_hours(2), quarter_hours(2, "2024-01-10", minutes=5)
    series = clean(
        raw(coarse, np.full(len(coarse), 0.75), name="a.csv"),
        raw(fine, np.full(len(fine), 0.25), name="b.csv", minutes=5),
    )
    assert series.interval_minutes == 5
    assert series.energy_kwh.to_numpy() == pytest.approx(np.full(4 * 288, 0.25))
    assert series.spread is not None
    assert series.spread.iloc[: 2 * 288].all()
    assert not series.spread.iloc[2 * 288 :].any()
    assert [span.interval_minutes for span in series.native_spans] == [15, 5]
    assert series.native_spans[0].after == series.native_spans[1].first == fine[0]


def test_a_coarse_file_over_the_same_time_as_a_fine_one_is_left_out(clean, raw, quarter_hours):
    coarse, fine = quarter_hours(2, minutes=60), quarter_hours(1)
    series = clean(
        raw(coarse, np.full(48, 3.0), name="a.csv", minutes=60),
        raw(fine, np.full(96, 1.0), name="b.csv"),
    )
    assert dict(series.ledger.set_aside) == {"overlaps another reading": 24}
    assert series.energy_kwh.sum() == pytest.approx(96 + 24 * 3)


def test_the_same_rows_in_two_files_count_once(clean, raw, quarter_hours, timetable):
    stamps = quarter_hours(4)
    kwh = timetable(stamps)
    series = clean(raw(stamps[:300], kwh[:300]), raw(stamps[200:], kwh[200:], name="b.csv"))
    assert dict(series.ledger.set_aside) == {"in another file too": 100}
    assert series.energy_kwh.sum() == pytest.approx(kwh.sum())
    assert sum(file.rows_read for file in series.ledger.files) == series.ledger.rows_read


def test_loggers_started_at_odd_minutes_keep_their_own_grid(clean, raw, quarter_hours, timetable):
    stamps = quarter_hours(4) + pd.Timedelta(minutes=7)
    kwh = timetable(stamps)
    series = clean(raw(stamps, kwh))
    assert series.energy_kwh.index[0] == stamps[0]
    np.testing.assert_allclose(series.energy_kwh.to_numpy(), kwh)


def test_rows_between_and_outside_the_periods_are_set_aside_by_local_days(clean, raw, study, quarter_hours):
    stamps = quarter_hours(28, "2024-01-05")
    series = clean(raw(stamps, np.ones(len(stamps))), study=study(periods=PERIODS))
    ledger = series.ledger
    assert dict(ledger.set_aside) == {"installation period": 7 * 96, "outside the periods": 7 * 96}
    assert (ledger.coverage_baseline, ledger.coverage_reporting) == (1.0, 1.0)
    used = series.energy_kwh[series.energy_kwh.notna()].index.tz_convert("America/Chicago")
    assert str(used[0].date()) == "2024-01-08"
    assert str(used[-1].date()) == "2024-01-28"


@pytest.mark.parametrize(("days", "told"), [(27, False), (35, True)])
def test_a_week_of_readings_after_the_reporting_period_is_told_with_its_last_day(
    clean, raw, study, quarter_hours, days, told
):
    stamps = quarter_hours(days, "2024-01-05")
    series = clean(raw(stamps, np.ones(len(stamps))), study=study(periods=PERIODS))
    found = [remark for remark in series.ledger.remarks if remark.code == AFTER_REPORTING]
    assert len(found) == told
    for remark in found:
        assert "go on to 2024-02-08, past the reporting period's last day, 2024-01-28" in remark.what
        assert "[periods]" in str(remark.remedy)


def test_coverage_counts_readings_and_not_what_was_filled(clean, raw, study, quarter_hours):
    stamps = quarter_hours(28, "2024-01-05")
    keep = np.ones(len(stamps), bool)
    keep[500:502] = False
    series = clean(raw(stamps[keep], np.ones(int(keep.sum()))), study=study(periods=PERIODS))
    assert series.ledger.filled_intervals == 2
    assert series.ledger.estimated_rows == 2
    assert series.ledger.energy_filled_kwh == 2.0
    assert series.ledger.coverage_baseline == pytest.approx(1 - 2 / 672)
    assert series.ledger.energy_used_kwh == 14 * 96 - 2


@pytest.mark.parametrize(
    ("length", "edge", "filled"), [(4, False, 4), (5, False, 0), (4, True, 0), (1, True, 0)]
)
def test_a_gap_is_filled_only_when_short_and_away_from_an_edge(
    clean, raw, quarter_hours, length, edge, filled
):
    stamps = quarter_hours(2)
    kwh = np.full(len(stamps), 2.0)
    if edge:
        kwh[100:] = 0.1
    keep = np.ones(len(stamps), bool)
    keep[100 : 100 + length] = False
    series = clean(raw(stamps[keep], kwh[keep]))
    assert series.ledger.filled_intervals == filled
    assert int(series.energy_kwh.isna().sum()) == length - filled


def test_estimated_readings_count_and_are_marked(clean, raw, quarter_hours):
    stamps = quarter_hours(1)
    flags = np.zeros(96, bool)
    flags[10:20] = True
    series = clean(raw(stamps, np.ones(96), estimated=flags))
    assert series.ledger.estimated_rows == 10
    assert series.energy_kwh.sum() == 96
    assert series.estimated.to_numpy().tolist() == flags.tolist()


def test_an_on_off_log_takes_the_load_of_its_period(clean, raw, study):
    stamps = pd.DatetimeIndex(
        ["2024-01-08 14:00", "2024-01-08 16:00", "2024-01-22 14:00", "2024-01-22 16:00"], tz="UTC"
    )
    zones = [{"id": "z", "meter": "m", "fixtures": 10, "watts_before": 100.0, "watts_after": 40.0}]
    series = clean(
        raw(stamps, np.array([1, 0, 1, 0.0]), quantity="on-off", minutes=None),
        study=study(zones=zones, periods=PERIODS),
    )
    monthly = series.energy_kwh.groupby(series.energy_kwh.index.day).sum()
    assert monthly[8] == pytest.approx(2.0)
    assert monthly[22] == pytest.approx(0.8)


def test_the_ledger_as_json_has_the_interfaces_keys(clean, raw, quarter_hours, timetable):
    stamps = quarter_hours(4)
    entry = ledger_as_json(clean(raw(stamps, timetable(stamps))).ledger)
    wanted = {
        "meter", "rows_read", "rows_used", "set_aside", "estimated_rows", "energy_read_kwh",
        "energy_used_kwh", "coverage_baseline", "coverage_reporting", "inferred",
    }  # fmt: skip
    assert wanted <= entry.keys()
    assert {"remarks", "files", "set_aside_lines"} <= entry.keys()
    json.dumps(entry, allow_nan=False)


@pytest.mark.parametrize("factor", [0.99, 1.01, 4.0])
def test_a_series_that_gains_or_loses_energy_is_our_own_defect(
    clean, raw, quarter_hours, timetable, monkeypatch, factor
):
    stamps = quarter_hours(4)

    def leaky(*given, **named):
        cells = onto_grid(*given, **named)
        cells.kwh *= factor
        return cells

    monkeypatch.setattr("mv.cleaning.meter.onto_grid", leaky)
    with pytest.raises(AssertionError, match="do not agree"):
        clean(raw(stamps, timetable(stamps)))
