"""A stored verification opens as it was, and a broken one says so."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mv import store
from mv.base.errors import OutputError, StudyError
from mv.base.ledger import Ledger
from mv.base.series import MeterSeries
from mv.base.study_records import Study
from mv.base.verification import Verification

TABLE = {
    "format": 1,
    "site": {"name": "Nowhere", "latitude": 1.0, "longitude": 2.0, "timezone": "Asia/Singapore"},
    "meter": [{"id": "A/1", "files": ["a.csv"]}],
    "occupancy": {"hours": {"mon-fri": "06:30-22:00"}},
}


@pytest.fixture
def verification(tmp_path: Path) -> Verification:
    (tmp_path / "study.toml").write_text("format = 1\n")
    study = Study.model_validate(TABLE).model_copy(update={"folder": tmp_path})
    index = pd.date_range("2024-03-10", periods=4, freq="15min", tz="UTC")
    account = Ledger("A/1", 5, 4, {"gap": 1}, 0, 1.0, 1.0, None, None, {"unit": "kWh"})
    series = MeterSeries(
        "A/1", 15.0, pd.Series([0.1, np.nan, 0.3, 1 / 3], index), pd.Series(False, index), account
    )
    daily = pd.DataFrame({"day": pd.to_datetime(["2024-03-10"]), "meter": ["A/1"], "actual_kwh": [0.4]})
    months = pd.DataFrame({"zone": ["z"], "month": ["2024-03"], "setting": ["high_trim"], "estimate": [0.8]})
    result = {"format": 1, "made_at": "now", "study": study.model_dump(mode="json")}
    return Verification(study, result, {"A/1": series}, daily, months)


def test_what_is_saved_opens_as_it_was(verification: Verification, tmp_path: Path) -> None:
    store.save(verification, tmp_path / "results")
    opened = store.open_results(tmp_path)
    assert opened.result == verification.result
    assert opened.study == verification.study
    pd.testing.assert_series_equal(
        opened.meters["A/1"].energy_kwh, verification.meters["A/1"].energy_kwh, check_freq=False
    )
    assert opened.meters["A/1"].ledger == verification.meters["A/1"].ledger
    pd.testing.assert_frame_equal(opened.daily, verification.daily, check_dtype=False)
    assert opened.settings_by_month["month"].tolist() == ["2024-03"]


def test_saving_again_leaves_one_result_and_one_series_file(
    verification: Verification, tmp_path: Path
) -> None:
    folder = tmp_path / "results"
    store.save(verification, folder)
    changed = Verification(
        verification.study,
        {**verification.result, "more": 1},
        verification.meters,
        verification.daily,
        verification.settings_by_month,
    )
    store.save(changed, folder)
    shown = [p.suffix for p in folder.iterdir() if not p.name.startswith(".")]
    assert sorted(shown) == [".json", ".npz"]
    assert store.open_results(tmp_path).result["more"] == 1


def test_no_results_yet_names_the_command_that_makes_them(verification: Verification, tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="tallylux verify"):
        store.open_results(tmp_path)


def test_a_damaged_result_is_reported_and_not_shown(verification: Verification, tmp_path: Path) -> None:
    path = store.save(verification, tmp_path / "results")
    path.write_text(path.read_text()[:-5])
    with pytest.raises(StudyError, match="cannot be read"):
        store.open_results(tmp_path)


def test_results_do_not_go_into_a_file(verification: Verification, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("")
    with pytest.raises(OutputError, match="is a file"):
        store.save(verification, tmp_path / "out")


def test_a_result_with_a_number_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        store.result_text({"x": float("nan")})
