"""The verification of a study as it is now: the stored one if nothing has changed since, else a new one."""

from pathlib import Path

from mv import __version__, store
from mv.base.errors import InputError
from mv.base.verification import Verification
from mv.intake import inputs_as_json
from mv.progress import Step, no_progress
from mv.study import load_study, require_for_verification
from mv.verify import verify_study


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
