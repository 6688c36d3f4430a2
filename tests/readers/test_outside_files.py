"""Files that a study names outside its folder are read and said, and never quoted in a message."""

from pathlib import Path

import pytest

from mv.base.errors import ReadingError
from mv.base.meter_records import Meter
from mv.base.study_records import Occupancy
from mv.readers import read_meter, read_occupancy

SECRET = "root:x:0:0:secret-of-the-house"
TABLE = "time,kWh\n" + "".join(f"2024-01-10 {hour:02d}:00,1.5\n" for hour in range(24))


@pytest.fixture
def study(tmp_path: Path) -> Path:
    folder = tmp_path / "study"
    folder.mkdir()
    (tmp_path / "secret.txt").write_text(f"{SECRET}\n{SECRET}\n")
    (tmp_path / "headed.csv").write_text(
        f"time,{SECRET} a,{SECRET} b\n2024-01-10 00:00,1,2\n2024-01-10 01:00,1,2\n"
    )
    (tmp_path / "data.csv").write_text(TABLE)
    return folder


def read(folder: Path, name: str):
    return read_meter(Meter(id="m", files=(name,)), folder, "America/Chicago")


@pytest.mark.parametrize("name", ["secret.txt", "headed.csv"])
@pytest.mark.parametrize("way", ["absolute", "dots", "link"])
def test_no_message_quotes_a_file_outside(study, name, way):
    target = study.parent / name
    if way == "link":
        (study / "a.csv").symlink_to(target)
    given = {"absolute": str(target), "dots": f"../{name}", "link": "a.csv"}[way]
    with pytest.raises(ReadingError) as caught:
        read(study, given)
    assert "secret-of-the-house" not in str(caught.value)
    assert caught.value.remedy
    with pytest.raises(ReadingError) as caught:
        read_occupancy(Occupancy(files=(given,)), study, "America/Chicago")
    assert "secret-of-the-house" not in str(caught.value)


def test_a_file_inside_is_quoted_as_before(study):
    (study / "a.csv").write_text(f"{SECRET}\n{SECRET}\n")
    with pytest.raises(ReadingError, match="secret-of-the-house"):
        read(study, "a.csv")


@pytest.mark.parametrize("given", ["../data.csv", "../d*.csv"])
def test_data_beside_the_study_are_read_and_said(study, given):
    raw = read(study, given)
    assert sum(len(file.start) for file in raw.files) == 24
    assert [remark.code for remark in raw.remarks] == ["outside-folder"]


@pytest.mark.parametrize("name", ["/proc/self/environ", "/dev/null", "/proc/cpuinfo"])
def test_windows_into_the_system_are_refused(study, name):
    with pytest.raises(ReadingError) as caught:
        read(study, name)
    assert caught.value.value is None
    assert caught.value.remedy
