"""Loads study.toml into frozen records, or says everything that is wrong with it at once."""

import re
import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from mv.base.errors import StudyError, joined
from mv.base.study_records import Study
from mv.study_file.problems import problems_of

STUDY_FILE = "study.toml"
LARGEST_STUDY_BYTES = 2_000_000  # a study file is typed by people; more is a mistake


def study_path(study_or_folder: Path | str) -> Path:
    """The study.toml meant by a file or the folder that holds one."""
    path = Path(study_or_folder)
    if path.is_dir():
        path = path / STUDY_FILE
    if not path.exists():
        raise StudyError(
            "there is no such study",
            file=path,
            remedy="Name a study.toml or the folder that holds one; `tallylux new` makes one from files.",
        )
    return path


def load_study(study_or_folder: Path | str) -> Study:
    """Read and check a study. Raises StudyError that lists every problem found."""
    path = study_path(study_or_folder)
    return study_of_text(study_text(path), path)


def study_of_text(text: str, path: Path) -> Study:
    """Check the text of a study file that stands, or is to stand, at `path`; errors as load_study."""
    problems = problems_of_text(text, path)
    if problems:
        raise joined(problems)
    return Study.model_validate(tomllib.loads(text)).model_copy(update={"folder": path.parent})


def problems_of_text(text: str, path: Path) -> list[StudyError]:
    """Everything that is wrong with the text of a study file; empty where it can be loaded."""
    try:
        Study.model_validate(_parsed(text, path))
    except StudyError as error:
        return [error]
    except ValidationError as error:
        return problems_of(error.errors(), path, text)
    return []


def require_for_verification(study: Study) -> None:
    """Raise StudyError unless the study says what `verify` cannot do without."""
    if study.periods is None:
        raise StudyError(
            "the study names no periods",
            file=study.folder / STUDY_FILE,
            place="[periods]",
            remedy='Add baseline = ["2023-01-01", "2023-12-31"] and reporting = [first, last], local dates.',
        )


def study_text(path: Path) -> str:
    """The text of a study file. Raises StudyError where it is too large, not UTF-8 or unreadable."""
    try:
        if path.stat().st_size > LARGEST_STUDY_BYTES:
            raise StudyError(
                "is too large to be a study file",
                file=path,
                value=f"{path.stat().st_size} bytes",
                remedy=f"A study file is text of at most {LARGEST_STUDY_BYTES} bytes.",
            )
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise StudyError(
            "is not UTF-8 text", file=path, place=f"byte {error.start}", remedy="Save it as UTF-8."
        ) from None
    except OSError as error:
        raise StudyError(
            f"cannot be read: {error.strerror}",
            file=path,
            remedy="Check the path and its permissions.",
        ) from None


def _parsed(text: str, path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        raise _toml_problem(path, text, error) from None


def _toml_problem(path: Path, text: str, error: Exception) -> StudyError:
    """The parser's terse message with the line it means and the usual remedy."""
    match = re.search(r"line (\d+)", str(error))
    number = int(match.group(1)) if match else len(text.splitlines())
    lines = text.splitlines()
    line = lines[number - 1].strip() if 0 < number <= len(lines) else ""
    what = re.sub(r"\s*\(at .*\)$", "", str(error))
    return StudyError(
        f"is not valid TOML: {what}",
        file=path,
        place=f"line {number}",
        value=line,
        remedy=_hint(line),
    )


def _hint(line: str) -> str:
    if re.search(r"=\s*-?\d[\d.]*,\d+\s*(#|$)", line):
        return "Write decimals with a point: 39.74."
    if "\\" in line:
        return "In paths write / instead of \\, or put the text in single quotes."
    if re.match(r"^[\w-]+\s*=\s*[A-Za-z]", line) and not re.search(r"=\s*(true|false)", line):
        return 'Put text in quotes: key = "text"; yes and no are true and false.'
    if line.startswith("["):
        return "A table is [name], a list of tables [[name]], and each [name] comes once."
    return "See the sample study for the form."
