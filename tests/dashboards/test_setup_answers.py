"""Answers typed on the setup page become keys of study.toml, and nothing else moves."""

import json
import time
import tomllib
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import plotly
import pytest

from dashboards.background import BackgroundRun, Progress
from dashboards.blocks.stretches import candidate_words
from dashboards.setup.event_editing import changed, event_of, shown, typed
from dashboards.setup.event_room import LEFT_IN, unexplained
from dashboards.setup.seldom_questions import population_fields
from dashboards.setup.setting_up import drafted, ledgers, with_files, written
from dashboards.setup.settling import choices_of, meant, problems_part
from dashboards.setup.setup_answers import with_answers
from dashboards.setup.setup_fields import NEW, Field
from dashboards.setup.setup_files import use_of
from dashboards.setup.setup_form import drafted_notes
from dashboards.setup.setup_questions import fields_of, meter_fields, zone_fields
from dashboards.shelf import Shelf
from mv.base.errors import InputError
from mv.base.study_records import Event
from mv.study import load_study, problems_of_text
from mv.study_file.writing import open_study_text
from mv.worker import CHECK, command

STUDY = """\
format = 1
# the site, by its keeper
[site]
latitude = 52.0
longitude = 5.0
timezone = "Europe/Amsterdam"
[[meter]]
id = "M1"
files = ["m1.csv", "m2.csv"]
# before: m1.csv, 10 readings
[occupancy.hours]
mon-fri = "08:00-18:00"   # as agreed
sat = ["08:00-10:00", "12:00-14:00"]
[[zone]]
id = "hall"
meter = "M1"
[zone.commissioned]
daylight_dimming = true
"""


def answered(text: str, **answers: str) -> str:
    """The study with fields typed anew, all others as they are shown: `site_latitude`, `new_zone_id`."""
    data = tomllib.loads(text)
    form = {field.id: field.shown(data) for field in fields_of(data)}
    for field in [*fields_of(data), *zone_fields(NEW), *meter_fields(NEW), *population_fields(NEW)]:
        name = f"{'new_' if NEW in field.place else ''}{field.place[0]}_{field.key}"
        if name in answers:
            form[field.id] = answers.pop(name)
    assert not answers
    return with_answers(text, form)


def test_a_form_sent_back_untouched_changes_no_byte() -> None:
    assert answered(STUDY) == STUDY


def test_each_kind_of_answer_becomes_its_kind_of_value() -> None:
    text = answered(
        STUDY,
        site_latitude="51.5",
        zone_fixtures="40",
        meter_files="a.csv, b*.csv",
        zone_daylight_dimming="no",
        occupancy_holidays="2024-12-25, 2024-12-26",
        periods_baseline="2024-01-01 to 2024-02-29",
        occupancy_hours="mon-fri 07:00-19:00\nsun 10:00-12:00, 13:00-14:00",
        new_zone_id="stairs",
        new_zone_high_trim="0.7",
    )
    data = tomllib.loads(text)
    assert data["site"]["latitude"] == 51.5
    assert data["zone"][0]["fixtures"] == 40 and isinstance(data["zone"][0]["fixtures"], int)
    assert data["zone"][0]["commissioned"] == {"daylight_dimming": False}
    assert data["occupancy"]["holidays"] == ["2024-12-25", "2024-12-26"]
    assert data["periods"]["baseline"] == ["2024-01-01", "2024-02-29"]
    assert data["occupancy"]["hours"] == {
        "mon-fri": "07:00-19:00",
        "sun": ["10:00-12:00", "13:00-14:00"],
    }
    assert data["zone"][1] == {"id": "stairs", "meter": "M1", "commissioned": {"high_trim": 0.7}}
    assert "# as agreed" in text and "# the site, by its keeper" in text


@pytest.mark.parametrize(
    ("answers", "label"),
    [
        ({"site_latitude": "north"}, "Latitude"),
        ({"site_latitude": "51,5"}, "Latitude"),
        ({"periods_baseline": "2024-01-01"}, "Before the retrofit"),
        ({"occupancy_holidays": "Christmas"}, "Days treated as closed"),
        ({"occupancy_hours": "always"}, "Opening hours"),
        ({"new_zone_high_trim": "0.5"}, "Another zone"),
    ],
)
def test_an_answer_that_cannot_be_read_names_its_field(answers: dict[str, str], label: str) -> None:
    with pytest.raises(InputError, match=label):
        answered(STUDY, **answers)


def test_all_wrong_answers_are_told_at_once() -> None:
    with pytest.raises(InputError, match=r"2 things are wrong(.|\n)*Latitude(.|\n)*Opening hours"):
        answered(STUDY, site_latitude="x", occupancy_hours="y")


def test_a_field_keeps_its_place_in_its_id() -> None:
    assert (
        Field(("zone", 1, "commissioned"), "high_trim", "x").id == '["zone", 1, "commissioned", "high_trim"]'
    )


def test_the_notes_of_a_draft_are_told_beside_the_meter() -> None:
    assert drafted_notes(STUDY) == {0: ["before: m1.csv, 10 readings"]}


def test_a_page_that_is_outdated_writes_nothing(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    mark = open_study_text(tmp_path).mark
    (tmp_path / "study.toml").write_text(STUDY + "# by an editor\n", encoding="utf-8")
    _, told = written(tmp_path, mark, lambda text: answered(text, site_latitude="1"))
    assert "has been changed since" in str(told)
    assert open_study_text(tmp_path).text == STUDY + "# by an editor\n"


EVENT = {"first": "2024-02-01", "last": "2024-02-02", "treatment": "set aside", "reason": "flood"}


def test_events_are_added_changed_and_removed_in_the_file(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    shelf = Shelf(tmp_path)
    mark = open_study_text(tmp_path).mark
    _, mark, _ = changed(shelf, "new", {"new": EVENT}, mark, remove=False)
    _, mark, told = changed(shelf, "0", {"0": EVENT | {"meters": ["M1"]}}, mark, remove=False)
    assert load_study(tmp_path).event[0].meters == ("M1",)
    assert "verified again" in str(told)
    _, _, told = changed(shelf, "0", {}, "another mark", remove=True)
    assert "has been changed since" in str(told)
    assert len(load_study(tmp_path).event) == 1
    changed(shelf, "0", {}, mark, remove=True)
    assert load_study(tmp_path).event == ()


def test_an_event_without_a_reason_is_refused_by_its_key(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    mark = open_study_text(tmp_path).mark
    _, _, told = changed(Shelf(tmp_path), "new", {"new": EVENT | {"reason": " "}}, mark, remove=False)
    assert "[[event]] 1, reason" in str(told)
    assert open_study_text(tmp_path).text == STUDY


def test_forms_are_told_apart_by_their_key() -> None:
    states: list[dict[str, Any]] = [
        {"id": {"key": "0", "name": "first"}, "value": "a"},
        {"id": {"key": "new", "name": "first"}, "value": "b"},
    ]
    assert typed(states) == {"0": {"first": "a"}, "new": {"first": "b"}}
    assert event_of({"first": " x "})["first"] == "x"


CANDIDATE = {
    "meter": "LP-1",
    "period": "reporting",
    "first": "2024-05-01",
    "last": "2024-05-09",
    "kwh_per_day": {"estimate": -41.0, "low": -50.0, "high": -32.0, "confidence": 0.9},
    "lasting": False,
}


def test_unexplained_days_are_offered_until_an_event_tells_of_them(verification: Any) -> None:
    record = replace(verification, result=verification.result | {"event_candidates": [CANDIDATE]})
    assert unexplained(record, ()) == [CANDIDATE]
    event = Event.model_validate(EVENT | {"first": "2024-05-02", "last": "2024-05-08"})
    assert unexplained(record, (event,)) == []
    assert len(unexplained(record, (event.model_copy(update={"meters": ("LP-2",)}),))) == 1


def test_unexplained_days_are_told_as_more_or_less_than_the_model() -> None:
    told = candidate_words(CANDIDATE).replace("\u00a0", " ")
    assert told.startswith("1 May 2024 to 9 May 2024, 41 kWh (32 to 50 kWh")
    assert told.endswith("a day less than the model")
    assert "since 1 May 2024, to the end of the reporting period" in candidate_words(
        CANDIDATE | {"lasting": True}
    )


def test_days_that_were_no_event_are_kept_in_with_their_reason(tmp_path: Path, verification: Any) -> None:
    text = STUDY.replace('id = "M1"', 'id = "LP-1"').replace('meter = "M1"', 'meter = "LP-1"')
    (tmp_path / "study.toml").write_text(text, encoding="utf-8")
    record = replace(verification, result=verification.result | {"event_candidates": [CANDIDATE]})
    shelf = Shelf(tmp_path, results=tmp_path, opener=lambda _path, _results: record)
    form = {"first": "2024-05-01", "last": "2024-05-09", "treatment": LEFT_IN, "meters": ["LP-1"]}
    room, mark, _ = shown(shelf)
    assert "less than the model" in str(room)
    _, _, told = changed(shelf, "found-0", {"found-0": form | {"reason": ""}}, mark, remove=False)
    assert "reason" in str(told)
    reason = "school holiday, asked the head"
    room, _, _ = changed(shelf, "found-0", {"found-0": form | {"reason": reason}}, mark, remove=False)
    (event,) = load_study(tmp_path).event
    assert (event.treatment, event.reason) == ("note only", reason)
    assert "less than the model" not in str(room)


def test_a_refused_file_names_the_key_that_settles_it(tmp_path: Path) -> None:
    """No unit is told: the draft asks for the key, and reading refuses with it until it is given."""
    for name, month in (("before.csv", 1), ("after.csv", 6)):
        rows = [f"2024-0{month}-0{day}T{hour:02d}:00Z,1.0" for day in range(1, 10) for hour in range(24)]
        (tmp_path / name).write_text("time,value\n" + "\n".join(rows) + "\n", encoding="utf-8")
    rooms, _ = drafted(tmp_path, {"before.csv": "before", "after.csv": "after"})
    assert "Set quantity and unit here" in json.dumps(rooms, cls=plotly.utils.PlotlyJSONEncoder)
    opened = open_study_text(tmp_path)
    place = {"site_latitude": "52", "site_longitude": "5", "site_timezone": "Europe/Amsterdam"}
    written(tmp_path, opened.mark, lambda text: answered(text, **place))
    (problem,) = read(tmp_path).problems
    study = open_study_text(tmp_path).tables
    assert [field.key for field in meant(problem, study)] == ["quantity", "unit"]
    assert '"data-value": "energy"' in json.dumps(
        problems_part([problem], study), cls=plotly.utils.PlotlyJSONEncoder
    )
    opened = open_study_text(tmp_path)
    told = {"meter_unit": "kWh", "meter_quantity": "energy", "meter_stamp": "start"}
    written(tmp_path, opened.mark, lambda text: answered(text, **told))
    (entry,) = json.loads(read(tmp_path).answer)
    assert entry["rows_read"] == 432
    assert "432" in str(ledgers([entry]))


def test_a_file_of_several_circuits_offers_them(tmp_path: Path) -> None:
    text = STUDY.replace('files = ["m1.csv", "m2.csv"]', 'files = ["two.csv"]')
    (tmp_path / "study.toml").write_text(text, encoding="utf-8")
    rows = [f"2024-01-0{day}T{hour:02d}:00Z,1.0,2.0" for day in range(1, 10) for hour in range(24)]
    (tmp_path / "two.csv").write_text("time,A kWh,B kWh\n" + "\n".join(rows) + "\n", encoding="utf-8")
    (problem,) = read(tmp_path).problems
    study = tomllib.loads(text)
    (field,) = [field for field in meant(problem, study) if field.key == "value_column"]
    assert choices_of(problem, field) == ["A kWh", "B kWh"]


def test_two_files_that_are_refused_are_told_one_by_one(tmp_path: Path) -> None:
    text = STUDY + '[[meter]]\nid = "M2"\nfiles = ["two.csv"]\n'
    (tmp_path / "study.toml").write_text(text.replace('"m1.csv", "m2.csv"', '"two.csv"'), encoding="utf-8")
    rows = [f"2024-01-0{day}T{hour:02d}:00Z,1.0,2.0" for day in range(1, 10) for hour in range(24)]
    (tmp_path / "two.csv").write_text("time,A kWh,B kWh\n" + "\n".join(rows) + "\n", encoding="utf-8")
    problems = read(tmp_path).problems
    study = open_study_text(tmp_path).tables
    assert [meant(problem, study)[0].place for problem in problems] == [("meter", 0), ("meter", 1)]


def read(folder: Path) -> Progress:
    """What reading the study's files in the background ends with."""
    run = BackgroundRun(lambda: command(CHECK, folder))
    run.begin()
    ends = time.monotonic() + 60
    while run.progress.running and time.monotonic() < ends:
        time.sleep(0.02)
    return run.progress


def test_tariff_peak_incentive_and_a_meter_become_tables_beside_the_comments() -> None:
    text = answered(
        STUDY,
        tariff_currency="EUR",
        tariff_energy_per_kwh="afternoon 0.31 months 6-8,12 hours 14-18.5 weekdays\nelse 0.2",
        tariff_demand_per_kw_month="9.5",
        peak_months="6-8",
        peak_hours="14 to 18",
        peak_weekdays_only="yes",
        incentive_per_kwh="0.12",
        incentive_project_cost="96000",
        new_meter_id="M2",
        new_meter_files="meters/m3.csv",
        new_meter_quantity="power",
        zone_hours="mon-fri 06:00-20:00",
    )
    data = tomllib.loads(text)
    assert data["peak"] == {"months": [6, 7, 8], "hours": [14, 18], "weekdays_only": True}
    assert data["tariff"]["energy_per_kwh"] == [
        {
            "name": "afternoon",
            "per_kwh": 0.31,
            "months": [6, 7, 8, 12],
            "hours": [14, 18.5],
            "weekdays_only": True,
        },
        {"name": "else", "per_kwh": 0.2},
    ]
    assert data["incentive"] == {"per_kwh": 0.12, "project_cost": 96000}
    assert data["meter"][1] == {"id": "M2", "files": ["meters/m3.csv"], "quantity": "power"}
    assert data["zone"][0]["hours"] == {"mon-fri": "06:00-20:00"}
    assert "# as agreed" in text and "# the site, by its keeper" in text
    assert problems_of_text(text, Path("study.toml")) == []
    assert answered(text) == text
    assert tomllib.loads(answered(text, tariff_energy_per_kwh="0.2"))["tariff"]["energy_per_kwh"] == 0.2
    without = answered(text, peak_months="", peak_hours="", peak_weekdays_only="")
    assert "peak" not in tomllib.loads(without)
    assert answered(without, peak_months="6-8", peak_hours="14 to 18").count("[peak]") == 1


def test_a_table_that_the_form_does_not_ask_for_is_left_alone() -> None:
    text = STUDY + "[[tariff.demand_per_kw_month]]\nper_kw_month = 9.0\nmonths = [6]\n"
    assert answered(text) == text


def test_a_file_is_told_with_what_the_study_takes_it_for() -> None:
    study = tomllib.loads(STUDY)
    assert use_of("m1.csv", study) == "meter M1"
    assert use_of("other.csv", study) == "not named yet"
    assert use_of("logs/a.csv", {"zone": [{"id": "hall", "motion": ["logs/*.csv"]}]}) == "motion in hall"


def test_files_marked_before_drafting_are_named_under_their_keys() -> None:
    text = with_files(STUDY, {"i.csv": "inventory", "o.csv": "occupancy", "w.csv": "weather", "x.csv": ""})
    data = tomllib.loads(text)
    assert data["predicted"]["inventory"] == "i.csv"
    assert (data["occupancy"]["files"], data["weather"]["files"]) == (["o.csv"], ["w.csv"])


def test_claim_calls_a_query_and_a_group_of_places_become_tables() -> None:
    text = answered(
        STUDY,
        claim_programme="Commercial lighting",
        claim_strategies="occupancy sensing, scheduling",
        claim_name="the owner",
        claim_due="2025-05-31",
        claim_option="B",
        claim_sampling="every circuit\nis metered",
        demand_response_events="2024-07-16 15:00 to 18:00\n2024-07-17 22:00 to 2024-07-18 01:30",
        demand_response_days_back="8",
        new_meter_id="M2",
        new_meter_database="METERING",
        new_meter_sql="SELECT at, kwh\nFROM readings",
        new_population_id="rooms",
        new_population_meters="M1",
        new_population_places="40",
        new_population_connected_kw="60.5",
        new_population_logged_kw="1.5",
    )
    data = tomllib.loads(text)
    assert data["claim"] == {
        "programme": "Commercial lighting",
        "strategies": ["occupancy sensing", "scheduling"],
        "owner": {"name": "the owner"},
        "due": "2025-05-31",
        "option": "B",
        "sampling": "every circuit\nis metered",
    }
    assert data["demand_response"]["events"] == [
        {"first": datetime(2024, 7, 16, 15), "last": datetime(2024, 7, 16, 18)},
        {"first": datetime(2024, 7, 17, 22), "last": datetime(2024, 7, 18, 1, 30)},
    ]
    assert data["meter"][1]["query"] == {"database": "METERING", "sql": "SELECT at, kwh\nFROM readings"}
    group = {"id": "rooms", "meters": ["M1"], "places": 40, "connected_kw": 60.5, "logged_kw": [1.5]}
    assert data["population"] == [group]
    assert problems_of_text(text, Path("study.toml")) == []
    assert answered(text) == text
    without = tomllib.loads(answered(text, claim_name="", demand_response_events=""))
    assert "owner" not in without["claim"] and "events" not in without["demand_response"]
    with pytest.raises(InputError, match="no day with the begin and the end of a call"):
        answered(text, demand_response_events="tomorrow at noon")


def test_a_field_of_an_inner_table_is_told_as_messages_name_it() -> None:
    told = {field.told for field in fields_of(tomllib.loads(STUDY))}
    assert {"[claim], owner, name", "[claim], due", "[[meter]] 1, query, sql", "[site], latitude"} <= told
