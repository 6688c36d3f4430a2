"""Wrong study files: each mistake is told with its place, the value found, and a remedy."""

from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic import BaseModel, ValidationError

from mv.base.study_records import Study
from mv.study import problems_of_text

STUDY = """format = 1
[study]
confidence = 0.90
[site]
name = "x"
latitude = 44.5
longitude = -89.5
timezone = "America/Chicago"
[periods]
baseline = ["2023-01-01", "2023-12-31"]
reporting = ["2024-03-01", "2025-02-28"]
[[meter]]
id = "A"
files = ["a.csv"]
[[zone]]
id = "z1"
meter = "A"
fixtures = 3
[zone.commissioned]
high_trim = 0.8
[tariff]
energy_per_kwh = 0.1
[peak]
months = [6, 7]
hours = [14, 18]
[[event]]
first = "2024-05-01"
last = "2024-05-02"
treatment = "set aside"
reason = "x"
"""
# What is changed in the study, and the place, value and remedy that must be told.
MISTAKES = [
    ("0.90", "95", "[study], confidence", 95, "0.95 for 95 %"),
    ("0.90", '"high"', "[study], confidence", "high", "fraction"),
    ("0.90", "0.3", "[study], confidence", 0.3, "0.90 for 90 %"),
    ("latitude = 44.5", "latitude = 144", "[site], latitude", 144, "north positive"),
    ("latitude = 44.5", 'latitude = "44,5"', "[site], latitude", "44,5", "with a point"),
    ("latitude = 44.5", "latitude = 44,5", "line 6", "latitude = 44,5", "with a point"),
    ("high_trim = 0.8", "hightrim = 0.8", "[[zone]] 1, commissioned, hightrim", None, "'high_trim'"),
    ("latitude = 44.5", "", "[site], latitude", None, "Add it"),
    ("America/Chicago", "Chicago", "[site], timezone", "Chicago", "Did you mean 'America/Chicago'?"),
    ("America/Chicago", "CST", "[site], timezone", "CST", "IANA"),
    (
        'reporting = ["2024-03-01"',
        'reporting = ["2023-11-01"',
        "[periods]",
        "2023-11-01",
        "after the baseline",
    ),
    ('"2023-01-01"', '"2024-01-01"', "[periods], baseline", "2024-01-01 to 2023-12-31", "two dates"),
    ('"2023-01-01"', '"01/01/2023"', "[periods], baseline, first", "01/01/2023", "year first"),
    ('"2023-01-01"', '"2023-02-30"', "[periods], baseline, first", "2023-02-30", "a day that exists"),
    ('["2023-01-01", "2023-12-31"]', '"2023"', "[periods], baseline", "2023", "first and last day"),
    ('["a.csv"]', "[]", "[[meter]] 1", None, "Add files"),
    ('["a.csv"]', '["a.csv"]\nquantity = "powr"', "[[meter]] 1, quantity", "powr", "'power'"),
    ('["a.csv"]', '["a.csv"]\nstamp = "begin"', "[[meter]] 1, stamp", "begin", "one of these"),
    ('["a.csv"]', '["a.csv"]\nmultiplier = 0', "[[meter]] 1, multiplier", 0.0, "1.0"),
    ('["a.csv"]', '["a.csv"]\ninterval_minutes = -15', "[[meter]] 1, interval_minutes", -15, "larger"),
    (
        'files = ["a.csv"]',
        'files = "C:\\data\\a.csv"',
        "line 14",
        'files = "C:\\data\\a.csv"',
        "write / instead",
    ),
    ('id = "z1"', 'id = "z1"\n[[zone]]\nid = "z1"', "[[zone]] 1 and 2, id", "z1", "id of its own"),
    ('id = "A"', 'id = "A"\nfiles = ["b.csv"]\n[[meter]]\nid = "A"', "[[meter]] 1 and 2, id", "A", "own"),
    ('meter = "A"', 'meter = "B"', "[[zone]] 1, meter", "B", "meters A"),
    ("fixtures = 3", 'fixtures = "three"', "[[zone]] 1, fixtures", "three", "number"),
    ("fixtures = 3", 'fixtures = "3"', "[[zone]] 1, fixtures", "3", "without unit and quotes"),
    ("fixtures = 3", "fixtures = true", "[[zone]] 1, fixtures", True, "number"),
    ("= 0.1", '= "0.1"', "[tariff], energy_per_kwh", "0.1", "such as 0.14"),
    ("[6, 7]", '["6", 7]', "[peak], months", ["6", 7], "[6, 7, 8]"),
    ("[14, 18]", '["14", "18"]', "[peak], hours", ["14", "18"], "[14, 18]"),
    (
        "high_trim = 0.8",
        'scheduled_off = "true"',
        "[[zone]] 1, commissioned, scheduled_off",
        "true",
        "quotes",
    ),
    ("high_trim = 0.8", "scheduled_off = 1", "[[zone]] 1, commissioned, scheduled_off", 1, "true or false"),
    ("fixtures = 3", "fixtures = -3", "[[zone]] 1, fixtures", -3, "larger"),
    ("high_trim = 0.8", "high_trim = 80", "[[zone]] 1, commissioned, high_trim", 80, "0.8 for 80 %"),
    (
        "high_trim = 0.8",
        'hold_minutes = "10 min"',
        "[[zone]] 1, commissioned, hold_minutes",
        "10 min",
        "unit",
    ),
    ("high_trim = 0.8", "daylight_dimming = yes", "line 20", "daylight_dimming = yes", "true and false"),
    (
        "high_trim = 0.8",
        'scheduled_off = "x"',
        "[[zone]] 1, commissioned, scheduled_off",
        "x",
        "true or false",
    ),
    ("= 0.1", '= "0.1 USD"', "[tariff], energy_per_kwh", "0.1 USD", "such as 0.14"),
    ("= 0.1", "= 1.000,5", "line 22", "energy_per_kwh = 1.000,5", "with a point"),
    ("[6, 7]", "[13]", "[peak], months, item 1", 13, "[6, 7, 8]"),
    ("[6, 7]", "[]", "[peak], months", [], "[6, 7, 8]"),
    ("[14, 18]", "[18, 14]", "[peak]", [18.0, 14.0], "earlier first"),
    ('"set aside"', '"set asid"', "[[event]] 1, treatment", "set asid", "Did you mean 'set aside'?"),
    ('last = "2024-05-02"', 'last = "2024-04-02"', "[[event]] 1", "2024-05-01 to 2024-04-02", "dates"),
    ('reason = "x"', 'reason = "x"\nmeters = ["Q"]', "[[event]] 1, meters", "Q", "meters A"),
    ("format = 1", "format = 2", "format", 2, "format = 1"),
    ("[site]", "[[site]]", "[site]", None, "Write [site], once"),
    ("[[meter]]", "[meter]", "[meter]", None, "Write [[meter]]"),
    ("[tariff]", '[occupancy.hours]\nmonday = "6-22"\n[tariff]', "[occupancy], hours", "monday", "mon-fri"),
    ("[tariff]", '[occupancy.hours]\nmon = "6-22"\n[tariff]', "[occupancy], hours", "6-22", "06:30-22:00"),
    ("[tariff]", '[claim]\noption = "E"\n[tariff]', "[claim], option", "E", "one of these"),
    (
        "[tariff]",
        "[incentive]\ncap_fraction_of_cost = 50\n[tariff]",
        "[incentive], cap_fraction_of_cost",
        50,
        "0.5 for 50 %",
    ),
]


def test_the_study_before_its_mistakes_is_sound() -> None:
    assert problems_of_text(STUDY, Path("study.toml")) == []


@pytest.mark.parametrize(("old", "new", "place", "value", "remedy"), MISTAKES)
def test_a_mistake_is_told_once_with_place_value_and_remedy(
    old: str, new: str, place: str, value: object, remedy: str
) -> None:
    assert STUDY.count(old) >= 1
    (problem,) = problems_of_text(STUDY.replace(old, new, 1), Path("study.toml"))
    assert problem.place == place
    assert problem.file == Path("study.toml")
    if value is not None:
        assert problem.value == value
    assert problem.remedy is not None and remedy in problem.remedy
    assert str(problem).endswith((".", "?"))


def test_every_mistake_is_told_at_once() -> None:
    text = (
        STUDY.replace("0.90", "95")
        .replace("America/Chicago", "Chicago")
        .replace("fixtures = 3", "fixtures = -3")
    )
    places = [problem.place for problem in problems_of_text(text, Path("study.toml"))]
    assert places == ["[study], confidence", "[site], timezone", "[[zone]] 1, fixtures"]


def test_the_line_of_the_wrong_key_is_told() -> None:
    text = STUDY.replace("fixtures = 3", 'fixtures = "3"').replace("[6, 7]", "[13]")
    text = text.replace("confidence", "confidense").replace("latitude = 44.5\n", "")
    problems = problems_of_text(text, Path("study.toml"))
    lines = {problem.place: problem.line for problem in problems}
    wanted = {
        "[study], confidense": "confidense",
        "[site], latitude": "[site]",  # missing: its table's line
        "[[zone]] 1, fixtures": "fixtures",
        "[peak], months, item 1": "months",
    }
    numbers = {name: at for at, line in enumerate(text.splitlines(), 1) for name in [line.split(" ")[0]]}
    assert lines == {place: numbers[name] for place, name in wanted.items()}
    assert all(f"study.toml, line {problem.line}, {problem.place}: " in str(problem) for problem in problems)


def test_no_numeric_key_of_the_study_takes_a_text() -> None:
    """Every field of every table that holds numbers and no text, asked for itself."""
    asked = 0
    for record in [Study, *_records(Study)]:
        for name, field in record.model_fields.items():
            if field.annotation in (float, float | None, int, int | None):
                with pytest.raises(ValidationError) as told:
                    record.model_validate({name: "7"})
                assert any(e["loc"] == (name,) and "number" in e["msg"] for e in told.value.errors()), name
                asked += 1
    assert asked > 15


def _records(record: type[BaseModel]) -> set[type[BaseModel]]:
    found: set[type[BaseModel]] = set()

    def visit(annotation: Any) -> None:
        if isinstance(annotation, type) and issubclass(annotation, BaseModel) and annotation not in found:
            found.add(annotation)
            for field in annotation.model_fields.values():
                visit(field.annotation)
        for inner in get_args(annotation):
            visit(inner)

    visit(record)
    return found
