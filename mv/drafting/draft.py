"""A first study.toml from a folder's files: what they say is written down, what they cannot is marked."""

import filecmp
import re
import shutil
from collections.abc import Sequence
from pathlib import Path

from mv.base.errors import OutputError, ReadingError, joined
from mv.base.files import write_whole
from mv.drafting.found import Found, read_all
from mv.drafting.text import Draft, study_text

STUDY_FILE = "study.toml"
METER_FOLDER = "meters"
_SIDE_WORDS = re.compile(
    r"(?<![a-z0-9])(before|after|baseline|base|reporting|report|pre|post|old|new|retrofit|install(ed)?|"
    r"[12]\d{3}([-_]?\d\d){0,2}|"
    r"jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|q[1-4]|to|part ?\d*)(?![a-z0-9])",
    re.IGNORECASE,
)


def write_new_study(folder: Path, before: Sequence[Path], after: Sequence[Path]) -> Path:
    """Write `folder`/study.toml from the files of before and after the retrofit; returns its path.

    A file inside the folder is named where it stands; another is copied to `folder`/meters, so that
    the study can be moved as one. Nothing is overwritten. What no file can tell is marked FILL IN.
    Raises InputError that lists every file which cannot be read at all.
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
    write_whole(target, study_text(_drafts(found), logs, names))
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


def _drafts(found: list[Found]) -> list[Draft]:
    """Files before and after of one name (its dates and words of time left out) are one meter; so is
    a single file before beside a single one after."""
    sides = {side: [part for part in found if part.side == side] for side in ("before", "after")}
    drafts: dict[tuple[str, str], Draft] = {}
    alone = all(len(parts) <= 1 for parts in sides.values())
    for part in found:
        channel = next((v for k, v in part.keys.items() if k in ("value_column", "channel")), "")
        stem = "meter" if alone else _stem(part.path)
        shown = (
            channel if channel and len({_stem(p.path) for p in found}) == 1 else f"{stem} {channel}".strip()
        )
        if alone:
            shown = channel or _stem(found[0].path)
        key = (stem, channel)
        drafts.setdefault(key, Draft(shown)).parts.append(part)
    return _unique(list(drafts.values()))


def _stem(path: str) -> str:
    name = Path(path).name.split(".")[0]
    short = re.sub(r"([\s_\-.()])[\s_\-.()]+", r"\1", _SIDE_WORDS.sub("", name))
    return short.strip(" _-.()") or name


def _unique(drafts: list[Draft]) -> list[Draft]:
    seen: dict[str, int] = {}
    for draft in drafts:
        number = seen[draft.id] = seen.get(draft.id, 0) + 1
        if number > 1:
            draft.id = f"{draft.id} {number}"
    return drafts
