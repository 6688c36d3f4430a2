"""Files that hold no table of readings are refused by what they are, with what to do instead."""

from pathlib import Path

import pytest

from mv.base.errors import ReadingError
from mv.base.meter_records import Meter
from mv.base.study_records import Weather
from mv.readers import read_meter, read_weather

ROWS = "2024-01-10 00:00,1.5\n2024-01-10 00:15,2.5\n"


@pytest.mark.parametrize(
    ("beginning", "words"),
    [
        (b"%PDF-1.7\n", "PDF"),
        (b"{\\rtf1\\ansi ", "RTF"),
        (b'[{"ts":"2024-01-10T00:00:00","kwh":1.5},\n', "JSON"),
        (b'{"ts":"2024-01-10T00:00:00","kwh":1.5}\n', "JSON"),
        (b"('2024-01-10 00:00','1.5'),\n", "SQL"),
        (b"<html><body>", "XML or HTML"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "old binary kind"),
        (b"7z\xbc\xaf\x27\x1c" + bytes(range(32)) * 8, "not a text table"),
    ],
)
def test_a_file_of_another_kind_is_named(tmp_path: Path, beginning: bytes, words: str) -> None:
    (tmp_path / "a.csv").write_bytes(beginning + ROWS.encode())
    with pytest.raises(ReadingError, match=words) as caught:
        read_meter(Meter(id="m", files=("a.csv",)), tmp_path, "America/Chicago")
    assert caught.value.remedy


def test_a_typical_year_is_no_weather_of_the_studys_years(datasets: Path) -> None:
    folder = datasets / "13_weather_epw_tmy"
    with pytest.raises(ReadingError, match="typical year") as caught:
        read_weather(Weather(files=("chicago.epw",)), folder, "America/Chicago")
    assert "[weather]" in str(caught.value.remedy)


def test_years_of_another_era_are_refused(tmp_path: Path) -> None:
    rows = "".join(f"{day:02d}/02/2567 00:00,{day}\n" for day in range(1, 20))
    (tmp_path / "a.csv").write_text(f"time,kWh\n{rows}")
    with pytest.raises(ReadingError, match="2567"):
        read_meter(Meter(id="m", files=("a.csv",)), tmp_path, "Asia/Bangkok")
