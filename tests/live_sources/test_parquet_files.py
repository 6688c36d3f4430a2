"""A Parquet file is read as the same readings written as text would be."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mv.base.errors import ReadingError
from mv.base.meter_records import Meter
from mv.base.study_records import Occupancy, Zone
from mv.readers import read_meter, read_motion, read_occupancy

ZONE = "America/Chicago"


def meter(name: str, **keys: object) -> Meter:
    return Meter.model_validate({"id": "LP-1", "files": [name], **keys})


def energy(
    frame: pd.DataFrame, folder: Path, **keys: object
) -> tuple[np.ndarray, np.ndarray, dict[str, str]]:
    frame.to_parquet(folder / "lp1.parquet", index=False)
    (file,) = read_meter(meter("lp1.parquet", **keys), folder, ZONE).files
    return file.start, file.value, dict(file.inferred)


def seconds(stamps: pd.Series) -> np.ndarray:
    return stamps.dt.tz_convert("UTC").dt.tz_localize(None).astype("datetime64[s]").astype("int64").to_numpy()


def test_stamps_with_a_zone_keep_their_instants_over_the_autumn_change(
    readings: pd.DataFrame, tmp_path: Path
) -> None:
    start, value, _ = energy(readings, tmp_path)
    assert np.array_equal(start, seconds(readings["read_at"]))
    assert np.allclose(value, readings["kwh"])


def test_stamps_without_a_zone_are_read_by_the_sites_clock(readings: pd.DataFrame, tmp_path: Path) -> None:
    naive = readings.assign(read_at=readings["read_at"].dt.tz_localize(None))
    start, _, _ = energy(naive, tmp_path)
    assert np.array_equal(start, seconds(readings["read_at"]))


def test_seconds_since_1970_and_words_as_categories_are_read(readings: pd.DataFrame, tmp_path: Path) -> None:
    frame = readings.assign(
        read_at=seconds(readings["read_at"]), meter=pd.Categorical(["LP-1"] * len(readings))
    )
    start, value, _ = energy(frame, tmp_path)
    assert np.array_equal(start, frame["read_at"])
    assert np.allclose(value, readings["kwh"])


def test_columns_of_lists_are_left_out(readings: pd.DataFrame, tmp_path: Path) -> None:
    _, value, _ = energy(readings.assign(raw=[[1, 2]] * len(readings)), tmp_path)
    assert np.allclose(value, readings["kwh"])


def test_two_columns_of_energy_need_a_name(readings: pd.DataFrame, tmp_path: Path) -> None:
    frame = readings.assign(other_kwh=readings["kwh"] * 2)
    with pytest.raises(ReadingError, match="other_kwh"):
        energy(frame, tmp_path)
    _, value, _ = energy(frame, tmp_path, value_column="other_kwh")
    assert np.allclose(value, readings["kwh"] * 2)


def test_motion_and_occupancy_may_be_parquet_too(tmp_path: Path) -> None:
    stamps = pd.date_range("2024-05-01 08:00", periods=6, freq="10min")
    pd.DataFrame({"time": stamps, "motion": [True, False] * 3}).to_parquet(tmp_path / "motion.parquet")
    zone = Zone.model_validate({"id": "workshop", "motion": ["motion.parquet"]})
    assert read_motion(zone, tmp_path, ZONE).state.tolist() == [1, 0] * 3
    hours = pd.date_range("2024-05-01", periods=72, freq="h")
    frame = pd.DataFrame({"time": hours, "fraction": np.tile([0.0, 0.5, 1.0], 24)})
    frame.to_parquet(tmp_path / "occupancy.parquet")
    read = read_occupancy(Occupancy.model_validate({"files": ["occupancy.parquet"]}), tmp_path, ZONE)
    assert read.value.mean() == pytest.approx(0.5)


@pytest.mark.parametrize("keep", [8, 400, -12])
def test_a_damaged_file_is_refused_by_name(readings: pd.DataFrame, tmp_path: Path, keep: int) -> None:
    whole = tmp_path / "whole.parquet"
    readings.to_parquet(whole)
    (tmp_path / "cut.parquet").write_bytes(whole.read_bytes()[:keep])
    with pytest.raises(ReadingError, match=r"cut\.parquet.*(damaged|no Parquet)"):
        read_meter(meter("cut.parquet"), tmp_path, ZONE)
