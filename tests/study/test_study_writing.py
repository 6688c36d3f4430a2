"""A study.toml changed in place: comments and order stay, and nothing wrong or outdated is written."""

import random
import threading
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mv.base.errors import StudyError
from mv.study import load_study
from mv.study_file.writing import (
    StudyChangedError,
    draft_study,
    open_study_text,
    save_study_text,
    with_event,
    with_event_changed,
    with_key,
    with_keys,
    with_zone,
    without_event,
    without_zone,
)

STUDY = """\
# The hall, as told by its keeper
format = 1

[site]
latitude = 52.0      # from the plan
longitude = 5.0
timezone = "Europe/Amsterdam"

[[meter]]
id = "M1"
files = ["m1.csv"]   # two files soon

[[zone]]
id = "hall"
meter = "M1"
# counted on 3 May
fixtures = 40

# the corridor is told later
[[event]]
first = "2024-02-01" # seen by the keeper
last = "2024-02-03"
treatment = "set aside"
reason = "flood"

# the strike
[[event]]
first = "2024-05-01"
last = "2024-05-02"
treatment = "note only"
reason = "strike"
# end of the events

[tariff]
currency = "EUR"     # checked
"""
EVENT = {"first": "2024-03-01", "last": "2024-03-04", "treatment": "set aside", "reason": 'roof "works"'}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    return tmp_path


def comments(text: str) -> list[str]:
    return [line[line.index("#") :].strip() for line in text.splitlines() if "#" in line]


@pytest.mark.parametrize(
    "changed",
    [
        with_event(STUDY, EVENT),
        with_event_changed(STUDY, 0, EVENT),
        with_key(STUDY, ("site",), "latitude", 51.5),
        with_key(STUDY, ("meter", 0), "unit", "kWh"),
        with_key(STUDY, ("predicted",), "annual_kwh", 4000),
        with_key(STUDY, ("zone", 0, "commissioned"), "high_trim", 0.8),
        with_zone(STUDY, {"id": "stairs", "meter": "M1", "commissioned": {"low_level": 0.2}}),
        without_event(STUDY, 0),
        without_event(STUDY, 1),
    ],
)
def test_every_comment_is_kept_whatever_is_changed(changed: str) -> None:
    gone = {"# seen by the keeper"} if 'reason = "flood"' not in changed and "roof" not in changed else set()
    assert [text for text in comments(changed) if "#" in text] == [
        c for c in comments(STUDY) if c not in gone
    ]


def test_an_added_event_stands_after_the_others_and_means_what_was_said(folder: Path) -> None:
    opened = open_study_text(folder)
    save_study_text(folder, with_event(opened.text, EVENT), started_from=opened.mark)
    events = load_study(folder).event
    assert [event.reason for event in events] == ["flood", "strike", 'roof "works"']
    text = (folder / "study.toml").read_text(encoding="utf-8")
    assert text.index("roof") < text.index("# end of the events") < text.index("[tariff]")


def test_a_changed_event_keeps_its_place_and_its_neighbours() -> None:
    changed = tomllib.loads(with_event_changed(STUDY, 1, EVENT | {"meters": ["M1"]}))
    assert changed["event"][0] == tomllib.loads(STUDY)["event"][0]
    assert changed["event"][1] == EVENT | {"meters": ["M1"]}


def test_removing_the_last_event_and_adding_one_again_works() -> None:
    bare = without_event(without_event(STUDY, 1), 0)
    assert "event" not in tomllib.loads(bare)
    assert tomllib.loads(with_event(bare, EVENT))["event"] == [EVENT]


def test_a_key_taken_out_of_use_stays_as_a_comment_and_comes_back() -> None:
    without = with_key(STUDY, ("zone", 0), "fixtures", None)
    assert "# fixtures = 40" in without
    assert "fixtures" not in tomllib.loads(without)["zone"][0]
    again = with_key(without, ("zone", 0), "fixtures", 42)
    assert tomllib.loads(again)["zone"][0]["fixtures"] == 42
    assert "# fixtures" not in again


def test_a_zone_takes_its_settings_in_a_table_of_its_own() -> None:
    text = with_zone(STUDY, {"id": "stairs", "meter": "M1", "commissioned": {"low_level": 0.2}})
    text = with_key(text, ("zone", 0, "commissioned"), "hold_minutes", 10)
    text = with_key(text, ("zone", 1, "commissioned"), "daylight_dimming", True)
    zones = tomllib.loads(text)["zone"]
    assert zones[0]["commissioned"] == {"hold_minutes": 10}
    assert zones[1]["commissioned"] == {"low_level": 0.2, "daylight_dimming": True}
    assert [zone["id"] for zone in tomllib.loads(without_zone(text, 0))["zone"]] == ["stairs"]


def test_a_wrong_value_names_its_key_and_leaves_the_file(folder: Path) -> None:
    opened = open_study_text(folder)
    with pytest.raises(StudyError, match=r"\[site\], latitude"):
        save_study_text(folder, with_key(opened.text, ("site",), "latitude", 120), started_from=opened.mark)
    with pytest.raises(StudyError, match=r"\[\[event\]\] 3"):
        save_study_text(folder, with_event(opened.text, EVENT | {"last": "x"}), started_from=opened.mark)
    assert (folder / "study.toml").read_text(encoding="utf-8") == STUDY


def test_text_that_is_no_toml_is_refused(folder: Path) -> None:
    opened = open_study_text(folder)
    with pytest.raises(StudyError, match="not valid TOML"):
        save_study_text(folder, STUDY + "\n[site", started_from=opened.mark)
    assert (folder / "study.toml").read_text(encoding="utf-8") == STUDY


def test_a_change_that_started_from_an_older_text_is_refused(folder: Path) -> None:
    first = open_study_text(folder)
    second = open_study_text(folder)
    save_study_text(folder, with_event(first.text, EVENT), started_from=first.mark)
    with pytest.raises(StudyChangedError, match="has been changed since"):
        save_study_text(folder, with_key(second.text, ("site",), "name", "Hall"), started_from=second.mark)
    assert len(load_study(folder).event) == 3
    assert load_study(folder).site.name == "Site"


def test_writers_at_once_lose_nothing(folder: Path) -> None:
    """Eight writers, each trying until its event is in: all eight are in."""

    def write(number: int) -> None:
        while True:
            opened = open_study_text(folder)
            try:
                event = EVENT | {"reason": f"cause {number}"}
                save_study_text(folder, with_event(opened.text, event), started_from=opened.mark)
                return
            except StudyChangedError:
                continue

    writers = [threading.Thread(target=write, args=(number,)) for number in range(8)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(timeout=30)
    reasons = {event.reason for event in load_study(folder).event}
    assert reasons == {"flood", "strike", *(f"cause {number}" for number in range(8))}


def test_a_draft_is_completed_key_by_key_where_its_marks_stand(tmp_path: Path) -> None:
    for name, first, level in (("before.csv", "2024-01-01", 8), ("after.csv", "2024-06-01", 3)):
        days = [f"2024-{first[5:7]}-{day:02d}" for day in range(1, 29)]
        rows = [f"{day}T{hour:02d}:00:00Z,{level}.5" for day in days for hour in range(24)]
        (tmp_path / name).write_text("time,kWh\n" + "\n".join(rows) + "\n", encoding="utf-8")
    draft = draft_study(tmp_path, [tmp_path / "before.csv"], [tmp_path / "after.csv"])
    assert [problem.place for problem in draft.problems] == [
        "[site], latitude",
        "[site], longitude",
        "[site], timezone",
    ]
    text = with_keys(draft.text, ("predicted",), {"annual_kwh": 20000, "peak_kw": 4.5})
    saved = save_study_text(tmp_path, text, started_from=draft.mark)
    site = {"latitude": 52.0, "longitude": 5.0, "timezone": "Europe/Amsterdam"}
    saved = save_study_text(tmp_path, with_keys(saved.text, ("site",), site), started_from=saved.mark)
    assert saved.problems == []
    study = load_study(tmp_path)
    assert (study.predicted.annual_kwh, study.predicted.peak_kw) == (20000, 4.5)
    assert study.site.latitude == 52.0
    assert "latitude = 52.0                        # degrees, north positive" in saved.text
    assert "# latitude" not in saved.text and "# [predicted]" not in saved.text
    assert "# inventory" in saved.text


@pytest.mark.parametrize(
    ("text", "place", "key", "value"),
    [
        ("site = {latitude = 1.0}\nformat = 1\n", ("site",), "longitude", 2.0),
        ('[[meter]]\nid = """\n[site]\nx = 1\n"""\n', ("site",), "x", 2),
        ("event = [{first = 2024-01-01}]\n", ("event", 0), "reason", "x"),
        ("[a]\r\nb = 1\r\n", ("a",), "c", "z"),
        ("[occupancy.hours]\nmon-fri = '08:00-18:00'\n", ("occupancy",), "files", ["x.csv"]),
        ("a = [\n[1, 2]\n]\n[b]\nc = 1\n", ("b",), "d", 1),
        ('["si te"]\n"k.e y" = 1', ("si te",), "k.e y", 3),
    ],
)
def test_unusual_layouts_are_changed_to_mean_what_was_asked(
    text: str, place: tuple[Any, ...], key: str, value: Any
) -> None:
    wanted = tomllib.loads(text)
    table = wanted
    for part in place:
        table = table[part] if isinstance(part, int) else table.setdefault(part, {})
    table[key] = value
    changed = with_key(text, place, key, value)
    assert tomllib.loads(changed) == wanted
    if "\r\n" in text:
        assert "\n" not in changed.replace("\r\n", "")


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6), words=st.text(max_size=30))
def test_any_sequence_of_changes_reads_back(seed: int, words: str) -> None:
    """Random edits with random text as the reason; the parser of the standard library is the judge."""
    draw = random.Random(seed)
    text, wanted = STUDY, tomllib.loads(STUDY)
    for _ in range(6):
        events = wanted.get("event", [])
        step = draw.choice(["add", "drop", "set", "site"])
        event = EVENT | {"reason": words + str(draw.random())}
        if step == "add" or not events:
            text = with_event(text, event)
            wanted.setdefault("event", []).append(event)
        elif step == "drop":
            number = draw.randrange(len(events))
            text = without_event(text, number)
            del events[number]
            if not events:
                del wanted["event"]
        elif step == "set":
            number = draw.randrange(len(events))
            text = with_event_changed(text, number, event)
            events[number] |= event
        else:
            text = with_key(text, ("site",), "name", words)
            wanted["site"]["name"] = words
        assert tomllib.loads(text) == wanted
    assert "# the corridor is told later" in text


def test_a_problem_that_stood_before_does_not_stop_a_change_above_it(tmp_path: Path) -> None:
    """The line of a standing problem moves with the change; it is the same problem all the same."""
    (tmp_path / "study.toml").write_text(STUDY.replace("fixtures = 40", 'fixtures = "40"'))
    draft = open_study_text(tmp_path)
    (standing,) = draft.problems
    changed = with_keys(draft.text, ("site",), {"name": "The hall"})
    after = save_study_text(tmp_path, changed, started_from=draft.mark)
    (still,) = after.problems
    assert (still.place, still.line) == (standing.place, (standing.line or 0) + 1)


def test_a_key_that_is_filled_in_loses_its_mark_and_keeps_its_note() -> None:
    text = 'format = 1\n[site]\nname = "Site"     # FILL IN: the site\'s name\n'
    assert (
        with_key(text, ("site",), "name", "Hall")
        == 'format = 1\n[site]\nname = "Hall"     # the site\'s name\n'
    )
