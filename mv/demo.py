"""The sample study of an invented site, from the source tree or the installed wheel."""

import shutil
from pathlib import Path

from mv.base.errors import OutputError, StudyError
from mv.study import STUDY_FILE

SAMPLE = "sample_meter_data"


def sample_source() -> Path:
    """Where the sample stands: beside this package, in a source tree as in an installation."""
    place = Path(__file__).resolve().parents[1] / SAMPLE
    if not (place / STUDY_FILE).exists():
        raise StudyError(
            "the sample study was not installed",
            file=place,
            remedy="Install tallylux again from its wheel.",
        )
    return place


def copy_sample(folder: Path) -> Path:
    """Copy the sample study into `folder`; files of an earlier demo are refreshed. Returns study.toml."""
    source = sample_source()
    if folder.is_dir() and any(folder.iterdir()) and not (folder / STUDY_FILE).exists():
        raise OutputError(
            "is not empty and holds no study", file=folder, remedy="Choose another with --folder."
        )
    try:
        shutil.copytree(
            source,
            folder,
            dirs_exist_ok=True,
            ignore=shutil.ignore_patterns("__pycache__", "results"),
        )
    except OSError as error:
        raise OutputError(
            f"cannot be written: {error.strerror or error}",
            file=folder,
            remedy="Choose another folder with --folder.",
        ) from None
    return folder / STUDY_FILE
