"""A wrong study file is an ordinary case: everything wrong is said at once, with place and remedy."""

from pathlib import Path

import pytest

from mv.base.errors import StudyError
from mv.study import load_study, require_for_verification

WHOLE = """
format = 1
[study]
title = "A test"
[site]
name = "Nowhere Works"
latitude = 44.5
longitude = -89.6
timezone = "America/Chicago"
[periods]
baseline = ["2023-01-01", "2023-12-31"]
reporting = ["2024-03-01", "2025-02-28"]
[[meter]]
id = "LP-1"
files = ["a.csv"]
zones = ["hall"]
[occupancy.hours]
mon-fri = "06:30-22:00"
sat = ["07:00-12:00", "13:00-15:00"]
[[zone]]
id = "hall"
meter = "LP-1"
fixtures = 10
watts_before = 100
watts_after = 40
[zone.commissioned]
high_trim = 0.8
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "study.toml"
    path.write_text(text, encoding="utf-8")
    return path


def message_of(folder: Path, text: str) -> str:
    with pytest.raises(StudyError) as caught:
        load_study(written(folder, text))
    return str(caught.value)


def test_a_whole_study_loads_from_its_file_or_its_folder(tmp_path: Path) -> None:
    path = written(tmp_path, WHOLE)
    study = load_study(path)
    assert load_study(tmp_path) == study
    assert study.folder == tmp_path
    assert study.periods is not None and study.periods.baseline.days == 365
    assert study.zones_of("LP-1")[0].connected_kw_after == pytest.approx(0.4)
    assert study.occupancy.hours is not None
    assert study.occupancy.hours.week[5] == ((7.0, 12.0), (13.0, 15.0))
    assert study.occupancy.hours.week[6] == ()


def test_hours_past_midnight_run_into_the_next_day(tmp_path: Path) -> None:
    study = load_study(written(tmp_path, WHOLE.replace("06:30-22:00", "18:00-02:00")))
    assert study.occupancy.hours is not None
    assert study.occupancy.hours.week[0] == ((18.0, 26.0),)


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "study.toml"
    path.write_bytes(b"\xef\xbb\xbf" + WHOLE.encode())
    assert load_study(path).site.name == "Nowhere Works"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("title =", "titel =", "Did you mean 'title'?"),
        ("zones = [", "zone = [", "Did you mean 'zones'?"),
        ("latitude = 44.5", "latitude = 144.5", "latitude: should be less than or equal to 90"),
        ("latitude = 44.5\n", "", "latitude: is missing"),
        ("latitude = 44.5", "latitude = 44,5", "Write decimals with a point"),
        ("latitude = 44.5", "latitude = nan", "latitude"),
        ("America/Chicago", "America/Chicgo", "is not an IANA time zone"),
        ('["2023-01-01", "2023-12-31"]', '["2023-12-31", "2023-01-01"]', "before it begins"),
        ('"2024-03-01"', '"2023-06-01"', "before the baseline ends"),
        ('"2024-03-01"', '"2024-02-31"', "date"),
        ("mon-fri =", "mn-fri =", "'mn-fri' is not a day"),
        ("06:30-22:00", "6.30-22", "is not a span of hours"),
        ("fixtures = 10", "fixtures = -10", "greater than or equal to 0"),
        ("fixtures = 10", 'fixtures = "ten"', "fixtures"),
        ("high_trim = 0.8", "high_trim = 80", "less than or equal to 1"),
        ('meter = "LP-1"', 'meter = "LP-9"', "names meter 'LP-9', which is not there"),
        ('zones = ["hall"]', 'zones = ["hal"]', ""),
        ("format = 1", "format = 2", "format"),
        ('files = ["a.csv"]', 'files = ["a.csv]', "is not valid TOML"),
        ('"America/Chicago"', "America/Chicago", "Put text in quotes"),
    ],
)
def test_a_wrong_entry_is_named_with_place_and_remedy(tmp_path: Path, old: str, new: str, said: str) -> None:
    assert old in WHOLE
    if not said:  # a zone fed by its own `meter` key: an extra undescribed name is no error
        assert load_study(written(tmp_path, WHOLE.replace(old, new)))
        return
    text = message_of(tmp_path, WHOLE.replace(old, new))
    assert said in text
    assert "study.toml" in text


def test_every_problem_is_told_at_once(tmp_path: Path) -> None:
    wrong = WHOLE.replace("title =", "titel =").replace("fixtures = 10", "fixtures = -1")
    text = message_of(tmp_path, wrong)
    assert text.startswith("2 things are wrong")
    assert "titel" in text and "[[zone]] 1, fixtures" in text


def test_a_missing_study_names_the_path(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="there is no such study"):
        load_study(tmp_path)


def test_verification_needs_periods_and_checking_does_not(tmp_path: Path) -> None:
    text = WHOLE.replace('baseline = ["2023-01-01", "2023-12-31"]', "").replace(
        'reporting = ["2024-03-01", "2025-02-28"]', ""
    )
    study = load_study(written(tmp_path, text.replace("[periods]", "")))
    with pytest.raises(StudyError, match="names no periods"):
        require_for_verification(study)


def test_records_cannot_be_changed(tmp_path: Path) -> None:
    study = load_study(written(tmp_path, WHOLE))
    with pytest.raises(ValueError, match="frozen"):
        study.site.latitude = 0.0  # type: ignore[misc]
