"""A first study.toml from a folder's files: what they say is written down, what they cannot is marked."""

import filecmp
import shutil
from collections.abc import Sequence
from pathlib import Path

from mv.base.errors import OutputError, ReadingError, joined
from mv.base.files import write_whole
from mv.drafting.found import Found, read_all
from mv.drafting.meters_named import meters_of
from mv.drafting.text import days_of_sides, study_text

STUDY_FILE = "study.toml"
METER_FOLDER = "meters"


def write_new_study(folder: Path, before: Sequence[Path], after: Sequence[Path]) -> Path:
    """Write `folder`/study.toml from the files of before and after the retrofit; returns its path.

    A file inside the folder is named where it stands; another is copied to `folder`/meters, so that
    the study can be moved as one. Nothing is overwritten. What no file can tell is marked FILL IN.
    Raises InputError that lists every file which cannot be read at all, and where the two sides are
    exchanged.
    """
    target = Path(folder) / STUDY_FILE
    if target.exists():
        raise OutputError(
            "there is a study already",
            file=target,
            remedy="Choose another folder, or move the old study away.",
        )
    plan = {path: side for side, paths in (("before", before), ("after", after)) for path in paths}
    if not plan:
        raise ReadingError(
            "no file is named", remedy="Give --before and --after, each with at least one file."
        )
    _check_exist(list(plan))
    found, logs, problems = read_all(plan)
    if problems:
        raise joined(problems)
    names = {path: _settled_name(path, Path(folder)) for path in plan}
    _refuse_exchanged(found)
    write_whole(target, study_text(meters_of(found), logs, names))
    for path, name in names.items():
        _copy(path, Path(folder) / name)
    return target


def _check_exist(paths: list[Path]) -> None:
    missing = [
        ReadingError("there is no such file", file=path, remedy="Check the path.")
        for path in paths
        if not Path(path).is_file()
    ]
    if missing:
        raise joined(missing)


def _settled_name(path: Path, folder: Path) -> str:
    """The file's path in the study: as it stands inside the folder, else under meters/."""
    try:
        return Path(path).resolve().relative_to(Path(folder).resolve()).as_posix()
    except ValueError:
        target = folder / METER_FOLDER / Path(path).name
        if target.exists() and not filecmp.cmp(path, target, shallow=False):
            raise OutputError(
                "another file of this name is there already", file=target, remedy="Rename one of the two."
            ) from None
        return f"{METER_FOLDER}/{Path(path).name}"


def _copy(path: Path, target: Path) -> None:
    if target.exists():
        return
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, target)
    except OSError as error:
        raise OutputError(
            f"cannot be copied: {error.strerror}",
            file=target,
            remedy="Check the folder's permissions and space.",
        ) from error


def _refuse_exchanged(found: list[Found]) -> None:
    """Raise ReadingError where all that is named as before is later than all that is named as after."""
    spans = days_of_sides(found)
    if len(spans) == 2 and spans["before"][0] > spans["after"][1]:
        (first, last), (early, late) = spans["before"], spans["after"]
        raise ReadingError(
            f"the readings named as before ({first} to {last}) are all later than those named as after "
            f"({early} to {late}): the two look exchanged",
            place="--before and --after",
            remedy="Name the older files with --before and the newer ones with --after. Nothing was written.",
        )
