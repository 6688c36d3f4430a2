"""The work on one study of a portfolio, done in whatever process it is handed to.

Its result goes to the disk; only the small record of it comes back. The same function serves local
processes and a cluster's workers.
"""

import hashlib
import json
import os
import socket
import traceback
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from mv import __version__
from mv.base.errors import TallyluxError
from mv.base.files import sha256_of, tidy_own, write_whole
from mv.portfolio import BrokenStudy, Outcome, StudyRecord, condensed, record_of_text, record_text

RECORD_FILE = "record.json"
DEFECT_FILE = "defect.txt"
RECORD_FORMAT = 1  # raised when a record holds more than before: older ones are then made anew


@dataclass(frozen=True, slots=True)
class Task:
    """One study: its name, its study.toml, and the folder that takes its result; absolute paths."""

    name: str
    study: str
    folder: str


@dataclass(frozen=True, slots=True)
class Done:
    """What became of a task; `fresh` where it was verified now, not kept from before."""

    outcome: Outcome
    fresh: bool


def do_task(task: Task) -> Done:
    """Verify the study unless its kept result still holds. Whatever goes wrong comes back as told."""
    try:
        return _done(task)
    except TallyluxError as error:
        return Done(BrokenStudy(task.name, task.study, _beside_its_path(error, task.study)), fresh=True)
    except MemoryError:
        told = "there was not enough memory to verify it. Run again with fewer --workers."
        return Done(BrokenStudy(task.name, task.study, told), fresh=True)
    except Exception as error:
        return Done(BrokenStudy(task.name, task.study, _defect(task, error)), fresh=True)


def _beside_its_path(error: TallyluxError, study: str) -> str:
    """The message as it reads beside the study's path, which it need not name again."""
    text = str(error)
    for told in (study, str(Path(study).parent)):
        text = text.replace(f"{told}: ", "").replace(f"{told}, ", "")
    return text.replace(f"{Path(study).parent}{os.sep}", "")


def do_tasks(tasks: list[Task]) -> list[Done]:
    """A batch of tasks, one after the other."""
    return [do_task(task) for task in tasks]


def workers_view(token: Path, word: str) -> dict[str, str | bool]:
    """What a worker sees: its version, its computer, and whether `token` holds `word` there too."""
    try:
        same = token.read_text(encoding="utf-8") == word
    except OSError:
        same = False
    return {"version": __version__, "computer": socket.gethostname(), "same": same}


def inputs_key(inputs: Sequence[Mapping[str, Any]]) -> str:
    """Stands for the version and for the content of the study file and every file that it names."""
    made_of = {"tallylux": __version__, "record": RECORD_FORMAT, "inputs": list(inputs)}
    return hashlib.sha256(json.dumps(made_of, sort_keys=True).encode()).hexdigest()


def kept_record(folder: Path, key: str | None = None) -> StudyRecord | None:
    """The record in `folder`; None where there is none, or it or its result is not whole, or not of `key`."""
    try:
        record = record_of_text((folder / RECORD_FILE).read_text(encoding="utf-8"))
        if key is not None and (
            record.key != key
            or sha256_of(folder / "result.json") != record.result_sha256
            or sha256_of(folder / record.series_file) != record.series_sha256
        ):
            return None
    except (OSError, ValueError):
        return None
    return record


def _done(task: Task) -> Done:
    from mv.intake import inputs_as_json
    from mv.readers import fetch_query
    from mv.study import load_study, require_for_verification

    if not Path(task.study).exists():
        told = (
            f"the process on {socket.gethostname()} does not see this file. "
            "All workers must see the studies and --out under the same paths."
        )
        return Done(BrokenStudy(task.name, task.study, told), fresh=True)
    study = load_study(task.study)
    require_for_verification(study)
    for meter in study.meter:
        if meter.query is not None:
            fetch_query(meter, study.folder)
    record = kept_record(Path(task.folder), inputs_key(inputs_as_json(study)))
    if record is not None:
        return Done(replace(record, name=task.name, path=task.study), fresh=False)
    return Done(_verified(task), fresh=True)


def _verified(task: Task) -> StudyRecord:
    from mv import store
    from mv.verify import verify_study

    folder = Path(task.folder)
    verification = verify_study(task.study, fetch=False)
    tidy_own(folder)
    result = store.save(verification, folder)
    (series,) = folder.glob("series-*.npz")
    record = condensed(
        verification.result,
        verification.daily,
        name=task.name,
        path=task.study,
        key=inputs_key(verification.result["inputs"]),
        digests=(sha256_of(result), sha256_of(series)),
        series_file=series.name,
    )
    write_whole(folder / RECORD_FILE, record_text(record))
    (folder / DEFECT_FILE).unlink(missing_ok=True)
    return record


def _defect(task: Task, error: Exception) -> str:
    """One sentence for the summary; the trace goes into the study's folder of results."""
    told = f"a defect of the program stopped it ({type(error).__name__}: {error})"
    place = Path(task.folder) / DEFECT_FILE
    try:
        write_whole(place, traceback.format_exc())
    except TallyluxError:
        return f"{told}."
    return f"{told}. Its trace is in {place}; the other studies are not concerned."
