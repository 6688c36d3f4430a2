"""Changes a study.toml where it stands: comments and order kept, checked before it replaces the file.

Who changes a study says which text the change started from; where the file has become another since,
by another tab, an editor or a command line, nothing is written and the change is told to be made again.
"""

import hashlib
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from mv.base.errors import OutputError, StudyError, joined
from mv.base.files import write_whole
from mv.base.locking import held
from mv.drafting.draft import write_new_study
from mv.study import (
    LARGEST_STUDY_BYTES,
    STUDY_FILE,
    problems_of_text,
    study_path,
    study_text,
)
from mv.study_file.toml_text import Place, with_row, with_value, without_empty_table, without_row

LOCK_FILE = ".study.lock"


class StudyChangedError(StudyError):
    """The file is no longer the one that a change started from."""


@dataclass(frozen=True, slots=True)
class StudyText:
    """The text of a study file as it was read; `mark` tells it from any other."""

    path: Path
    text: str

    @property
    def mark(self) -> str:
        """SHA-256 of the text."""
        return hashlib.sha256(self.text.encode("utf-8")).hexdigest()

    @property
    def tables(self) -> dict[str, Any]:
        """What the text holds, unchecked; empty where it is no TOML."""
        try:
            return tomllib.loads(self.text)
        except tomllib.TOMLDecodeError:
            return {}

    @property
    def problems(self) -> list[StudyError]:
        """What is still wrong or missing; empty where the study can be loaded."""
        return problems_of_text(self.text, self.path)


def open_study_text(study_or_folder: Path | str) -> StudyText:
    """The study file's text, which need not be complete yet."""
    path = study_path(study_or_folder)
    return StudyText(path, study_text(path))


def save_study_text(study_or_folder: Path | str, text: str, *, started_from: str) -> StudyText:
    """Replace the study file by `text`, in one step.

    `started_from` is the mark of the text that was changed. Raises StudyChangedError where the file is
    another now, and StudyError for every problem that the change brings in; problems that stood
    before, such as keys a draft leaves open, do not stop a change elsewhere. Nothing is written then.
    """
    path = study_path(study_or_folder)
    if len(text.encode("utf-8")) > LARGEST_STUDY_BYTES:
        raise StudyError(
            "is too large to be a study file", file=path, remedy=f"At most {LARGEST_STUDY_BYTES} bytes."
        )
    with held(path.parent / LOCK_FILE):
        before = open_study_text(path)
        if before.mark != started_from:
            raise StudyChangedError(
                "the study file has been changed since this page read it",
                file=path,
                remedy="Nothing was written. Load the page again to see the file as it is now, "
                "and make the change there.",
            )
        after = StudyText(path, text)
        _refuse_new_problems(before, after)
        if after.mark != before.mark:
            write_whole(path, text)
        return after


def _refuse_new_problems(before: StudyText, after: StudyText) -> None:
    stood = {_matter(problem) for problem in before.problems}
    new = [problem for problem in after.problems if _matter(problem) not in stood]
    if new:
        raise joined(new)


def _matter(problem: StudyError) -> tuple[str, ...]:
    """What makes two problems the same one; its line moves with every change above it."""
    return problem.place or "", problem.what, repr(problem.value), problem.remedy or ""


def draft_study(folder: Path, before: Sequence[Path], after: Sequence[Path]) -> StudyText:
    """A first study.toml from the files of before and after; one draft at a time in a folder."""
    if not folder.is_dir():
        raise OutputError("is not a folder", file=folder, remedy="Choose an existing folder.")
    with held(folder / LOCK_FILE):
        return open_study_text(write_new_study(folder, before, after))


def with_key(text: str, place: Place, key: str, value: Any) -> str:
    """The text with one key set; None takes it out of use and leaves it as a comment."""
    return with_value(text, place, key, value)


def with_keys(text: str, place: Place, values: Mapping[str, Any]) -> str:
    """The text with several keys of one table set."""
    for key, value in values.items():
        text = with_value(text, place, key, value)
    return text


def with_event(text: str, event: Mapping[str, Any]) -> str:
    """The text with one more [[event]]."""
    return with_row(text, "event", event)


def with_event_changed(text: str, number: int, event: Mapping[str, Any]) -> str:
    """The text with the keys of [[event]] `number` (from 0) replaced; absent ones taken out of use."""
    return with_keys(text, ("event", number), event)


def without_event(text: str, number: int) -> str:
    """The text without [[event]] `number` (from 0)."""
    return without_row(text, "event", number)


def with_meter(text: str, meter: Mapping[str, Any]) -> str:
    """The text with one more [[meter]]."""
    return with_row(text, "meter", meter)


def without_meter(text: str, number: int) -> str:
    """The text without [[meter]] `number` (from 0)."""
    return without_row(text, "meter", number)


def with_zone(text: str, zone: Mapping[str, Any]) -> str:
    """The text with one more [[zone]]; `commissioned` is a table of its own."""
    return with_row(text, "zone", zone)


def without_zone(text: str, number: int) -> str:
    """The text without [[zone]] `number` (from 0)."""
    return without_row(text, "zone", number)


def with_population(text: str, group: Mapping[str, Any]) -> str:
    """The text with one more [[population]]."""
    return with_row(text, "population", group)


def without_population(text: str, number: int) -> str:
    """The text without [[population]] `number` (from 0)."""
    return without_row(text, "population", number)


__all__ = [
    "STUDY_FILE",
    "StudyChangedError",
    "StudyText",
    "draft_study",
    "open_study_text",
    "save_study_text",
    "with_event",
    "with_event_changed",
    "with_key",
    "with_keys",
    "with_meter",
    "with_population",
    "with_zone",
    "without_empty_table",
    "without_event",
    "without_meter",
    "without_population",
    "without_zone",
]
