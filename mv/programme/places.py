"""Where the studies of a portfolio are: folders, folders of folders, study files, patterns."""

import glob
import hashlib
import os
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from mv.base.errors import InputError, StudyError, joined
from mv.documents.claim_mark import is_claim_package
from mv.study import STUDY_FILE

LONGEST_WORDS = 40  # of the readable part of a name


@dataclass(frozen=True, slots=True, order=True)
class StudyPlace:
    """A study.toml, absolute, and the name of the folder that holds its result."""

    path: str
    name: str


def find_studies(named: Sequence[Path | str], *, without: Path | None = None) -> list[StudyPlace]:
    """Every study under what was named, in the order of their paths, each once.

    A name is a study file, a folder that holds one, a folder of such folders at any depth, or a
    pattern of these. Hidden folders, links to folders, and the folder `without` are not looked into.
    Raises StudyError for every name under which there is no study.
    """
    found: set[str] = set()
    problems: list[InputError] = []
    for name in named:
        studies = {path for start in _expanded(name) for path in _under(start, without)}
        if not studies:
            problems.append(_nothing(name))
        found |= studies
    if problems:
        raise joined(problems)
    return [StudyPlace(path, study_name(path)) for path in sorted(found)]


def study_name(path: str) -> str:
    """A name for the study's folder of results: readable, and the same in every run.

    The folder's own name, and eight digits of its whole path's digest to tell it from its namesakes.
    """
    folder = Path(path).parent
    words = re.sub(r"[^a-z0-9]+", "-", folder.name.lower()).strip("-")[:LONGEST_WORDS].strip("-")
    digest = hashlib.sha256(os.fsencode(folder)).hexdigest()[:8]
    return f"{words or 'study'}-{digest}"


def _expanded(name: Path | str) -> list[Path]:
    path = Path(name)
    if path.exists() or not glob.has_magic(str(name)):
        return [path]
    return [Path(match) for match in sorted(glob.glob(str(name), recursive=True))]  # noqa: PTH207


def _under(start: Path, without: Path | None) -> Iterator[str]:
    if start.is_file():
        if start.suffix == ".toml":
            yield str(start.resolve())
        return
    left_out = None if without is None else without.resolve()
    for folder, inner, files in os.walk(start.resolve()):
        if STUDY_FILE in files:
            yield str(Path(folder) / STUDY_FILE)
            inner.clear()  # what a study's folder holds is its own: claims, copies in evidence
        if is_claim_package(Path(folder)):
            inner.clear()
        inner[:] = [name for name in inner if not name.startswith(".") and Path(folder) / name != left_out]


def _nothing(name: Path | str) -> StudyError:
    there = Path(name).exists() or glob.has_magic(str(name))
    return StudyError(
        f"holds no {STUDY_FILE}" if there else "is not there",
        file=name,
        remedy="Name folders that hold studies, or folders of such folders.",
    )
