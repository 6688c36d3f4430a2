"""The verification of a study as it is now: the stored one if nothing has changed since, else a new one."""

from collections.abc import Mapping
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from mv import __version__, store
from mv.base.errors import InputError, TallyluxError
from mv.base.files import sha256_of
from mv.base.verification import Verification
from mv.intake import input_names, inputs_as_json
from mv.progress import Step, no_progress
from mv.study import STUDY_FILE, load_study, require_for_verification
from mv.verify import verify_study

LONGEST_RUN_SECONDS = 3600.0  # a file written during the run is none of before; common practice, no source


def latest_verification(study_or_folder: Path | str, *, step: Step = no_progress) -> Verification:
    """Open the stored verification when version and inputs are the same, byte for byte; else verify."""
    study = load_study(study_or_folder)
    require_for_verification(study)
    try:
        stored = store.open_results(study_or_folder)
    except InputError:
        return verify_study(study_or_folder, step=step)
    same = stored.result.get("inputs") == inputs_as_json(study)
    if same and stored.result.get("tallylux") == __version__:
        return stored
    return verify_study(study_or_folder, step=step)


def changed_since(verification: Verification) -> list[str]:
    """Names of the inputs that are no longer those the result was made from, and of those that are new.

    A file of the same size that was last written well before the result was made counts as the same;
    any other is read and its SHA-256 compared, once for each time that it is written.
    """
    made_from = {str(entry["name"]): entry for entry in verification.result.get("inputs") or ()}
    folder = verification.study.folder
    if not made_from or not (folder / STUDY_FILE).is_file():
        return []  # a result that stands apart from its study has nothing to be compared with
    made_at = datetime.fromisoformat(str(verification.result["made_at"])).timestamp()
    changed = [name for name, entry in made_from.items() if _is_another(folder / name, entry, made_at)]
    return changed + [name for name in _named_now(folder) if name not in made_from]


def _is_another(path: Path, entry: Mapping[str, Any], made_at: float) -> bool:
    try:
        state = path.stat()
    except OSError:
        return True
    if state.st_size != int(entry["bytes"]):
        return True
    if max(state.st_mtime, state.st_ctime) < made_at - LONGEST_RUN_SECONDS:
        return False
    return _sha256(path, state.st_mtime_ns, state.st_size) != str(entry["sha256"])


def _named_now(folder: Path) -> list[str]:
    try:
        return input_names(load_study(folder))
    except TallyluxError:
        return []


@lru_cache(maxsize=1000)
def _sha256(path: Path, _mtime_ns: int, _size: int) -> str:
    return sha256_of(path)
