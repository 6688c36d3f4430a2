"""Notes on findings: nothing is lost between writers, and a key outlives new data."""

import multiprocessing
from pathlib import Path

import pytest

from mv.acknowledge import (
    ACKNOWLEDGED_FILE,
    acknowledge,
    acknowledged_now,
    acknowledgements,
    finding_key,
)
from mv.base.errors import InputError, StudyError

FINDING = {
    "where": "hall",
    "what": "level 85 %",
    "kind": "step",
    "since": "2024-09-16",
    "settings": ["high_trim"],
}
WRITERS, EACH = 4, 12


@pytest.fixture
def study(tmp_path: Path) -> Path:
    (tmp_path / "study.toml").write_text("format = 1\n")
    return tmp_path


def _write_many(folder: Path, writer: int) -> None:
    for number in range(EACH):
        acknowledge(folder, FINDING, who=f"writer {writer}", why=f"note {number}")


def test_several_writers_at_once_lose_nothing(study: Path) -> None:
    spawn = multiprocessing.get_context("spawn")
    writers = [spawn.Process(target=_write_many, args=(study, n)) for n in range(WRITERS)]
    for process in writers:
        process.start()
    for process in writers:
        process.join()
    found = {(note.who, note.why) for note in acknowledgements(study)}
    assert len(found) == len(acknowledgements(study)) == WRITERS * EACH


def test_the_key_stays_when_the_sentence_changes_and_not_when_the_change_does() -> None:
    assert finding_key(FINDING) == finding_key({**FINDING, "what": "level 86 %", "kwh_per_month": None})
    assert finding_key(FINDING) != finding_key({**FINDING, "since": "2024-09-17"})
    assert finding_key(FINDING) != finding_key({**FINDING, "where": "stairs"})
    undated = {**FINDING, "since": None, "settings": []}
    assert finding_key(undated) != finding_key({**undated, "what": "another thing"})


def test_the_last_word_counts_and_the_first_is_kept(study: Path) -> None:
    acknowledge(study, FINDING, who="Kim", why="known")
    acknowledge(study, FINDING, who="Lee", why="it came back", state="reopened")
    assert acknowledged_now(study) == {}
    acknowledge(study, FINDING, who="Kim", why="repaired")
    assert acknowledged_now(study)[finding_key(FINDING)].why == "repaired"
    assert [note.who for note in acknowledgements(study)] == ["Kim", "Lee", "Kim"]


def test_a_finding_keeps_the_name_under_which_it_was_first_told() -> None:
    told = {**FINDING, "id": "0badcafe"}
    assert finding_key(told) == finding_key({**told, "since": "2024-09-20", "settings": []}) == "0badcafe"


def test_a_note_follows_its_finding_when_the_date_moves_by_some_days_and_no_further(study: Path) -> None:
    acknowledge(study, FINDING, who="Kim", why="known")
    moved = {**FINDING, "since": "2024-09-19", "id": "feedbeef"}
    assert acknowledged_now(study, [moved])["feedbeef"].why == "known"
    assert "feedbeef" not in acknowledged_now(study, [{**moved, "since": "2024-11-19"}])
    assert "feedbeef" not in acknowledged_now(study, [{**moved, "where": "stairs"}])
    acknowledge(study, moved, who="Lee", why="it came back", state="reopened")
    assert "feedbeef" not in acknowledged_now(study, [moved])


@pytest.mark.parametrize(("who", "why"), [("", "x"), ("x", "  \n"), ("x", "y" * 5000)])
def test_a_note_without_a_name_or_a_reason_is_refused(study: Path, who: str, why: str) -> None:
    with pytest.raises(InputError, match="must hold"):
        acknowledge(study, FINDING, who=who, why=why)
    assert not (study / ACKNOWLEDGED_FILE).exists()


def test_a_broken_file_is_reported_and_never_written_over(study: Path) -> None:
    (study / ACKNOWLEDGED_FILE).write_text("{")
    with pytest.raises(StudyError, match="cannot be read"):
        acknowledge(study, FINDING, who="Kim", why="known")
    assert (study / ACKNOWLEDGED_FILE).read_text() == "{"
