"""The evidence of a claim: every input with its fingerprint, and a study from which it can be run again."""

import re
import shutil
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import tomlkit

from mv.base.errors import OutputError, StudyError
from mv.base.files import sha256_of
from mv.base.result_parts import rows
from mv.base.study_records import Study
from mv.base.verification import Verification
from mv.readers import files_of
from mv.store import RESULT_FILE, result_text
from mv.study import STUDY_FILE

STUDY_PLACE, ATTACHMENTS_PLACE, OUTSIDE = "study", "attachments", "from-elsewhere"
AS_GIVEN = "study-as-given.toml"
CHUNK = 1 << 20
README = """Evidence of a claim

study/           the study and every input file; to run it again:
                   tallylux verify study
                 The numbers are those of result.json; only made_at differs.
result.json      the verification's result
ledger.csv       what became of every row that was read
attachments/     papers that the study names under [[claim.attachment]]
versions.txt     the software with which the result was made
SHA256SUMS.txt   fingerprints of all of this; to check them: sha256sum -c SHA256SUMS.txt
"""


@dataclass
class _Moved:
    """Input files that stand outside the study's folder, and where they go."""

    places: dict[Path, str] = field(default_factory=dict)

    def place_of(self, path: Path) -> str:
        """The file's place beside the study; made up once."""
        if path not in self.places:
            self.places[path] = f"{OUTSIDE}/{len(self.places) + 1}/{safe_name(path.name)}"
        return self.places[path]


def write_evidence(
    verification: Verification, folder: Path, *, study_file: Path, ledger: str, software: Mapping[str, str]
) -> None:
    """Fill `folder`. Raises OutputError where an input has changed since it was verified."""
    study = verification.study
    place = folder / STUDY_PLACE
    place.mkdir(parents=True)
    moved = _Moved()
    text = study_file.read_bytes()
    rewritten = _with_own_files(text.decode("utf-8-sig"), study, moved)
    for entry in rows(verification.result, "inputs"):
        if entry["name"] != STUDY_FILE:
            _copy_input(study, entry, place, moved)
    if rewritten is None:
        (place / STUDY_FILE).write_bytes(text)
    else:
        (place / STUDY_FILE).write_text(rewritten, encoding="utf-8", newline="\n")
        (folder / AS_GIVEN).write_bytes(text)
    _copy_attachments(study, folder / ATTACHMENTS_PLACE)
    plain = {
        RESULT_FILE: result_text(verification.result),
        "ledger.csv": ledger,
        "versions.txt": "".join(f"{name} {version}\n" for name, version in software.items()),
        "README.txt": README,
    }
    for name, content in plain.items():
        (folder / name).write_text(content, encoding="utf-8", newline="\n")
    (folder / "SHA256SUMS.txt").write_text(fingerprints(folder), encoding="utf-8", newline="\n")


def absent_attachments(study: Study) -> tuple[str, ...]:
    """Attachments that the study names and that are not there.

    Raises StudyError for one that stands outside the study's folder: a claim takes no file along
    that nobody put with the study.
    """
    absent = []
    for attachment in study.claim.attachment:
        path = (study.folder / attachment.file).resolve()
        if not path.is_relative_to(study.folder.resolve()):
            raise StudyError(
                "an attachment stands outside the study's folder",
                file=study.folder / STUDY_FILE,
                place="[[claim.attachment]]",
                value=attachment.file,
                remedy="Copy it into the study's folder and name it there.",
            )
        if not path.is_file():
            absent.append(attachment.file)
    return tuple(absent)


def safe_name(name: str) -> str:
    """A file name of letters, digits and .-_ alone, for every system."""
    return re.sub(r"[^\w.\-]+", "_", name, flags=re.ASCII).strip("._") or "file"


def fingerprints(folder: Path) -> str:
    """SHA-256 and name of every file below the folder, in the form that sha256sum checks."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return "".join(f"{sha256_of(path)}  {path.relative_to(folder).as_posix()}\n" for path in files)


def _copy_input(study: Study, entry: Mapping[str, Any], place: Path, moved: _Moved) -> None:
    name = str(entry["name"])
    source = study.folder / name
    target = place / (moved.place_of(source) if _outside(name) else name)
    target.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(source, target)
    if sha256_of(target) != entry["sha256"]:
        raise OutputError(
            "has changed while the claim was made", file=source, remedy="Make the claim again when it rests."
        )


def _outside(name: str) -> bool:
    path = Path(name)
    return path.is_absolute() or ".." in path.parts


def _copy_attachments(study: Study, place: Path) -> None:
    for number, attachment in enumerate(study.claim.attachment, 1):
        source = study.folder / attachment.file
        if source.is_file():
            place.mkdir(exist_ok=True)
            shutil.copyfile(source, place / f"{number:02d}-{safe_name(source.name)}")


def _with_own_files(text: str, study: Study, moved: _Moved) -> str | None:
    """The study's text with every input beside it: files from elsewhere by their copies, queries by
    their rows; None where the study has neither.
    """
    document = tomlkit.parse(text)
    changed = _queries_by_their_rows(document, study)
    for table, key in _file_keys(document):
        patterns = table[key]
        given = [str(patterns)] if isinstance(patterns, str) else [str(item) for item in patterns]
        if any(_outside(pattern) for pattern in given):
            table[key] = _renamed(given, study, moved, single=isinstance(patterns, str))
            changed = True
    return tomlkit.dumps(document) if changed else None


def _queries_by_their_rows(document: Any, study: Study) -> bool:
    for table, meter in zip(document["meter"], study.meter, strict=True):
        if meter.query is not None:
            del table["query"]
            table["files"] = list(meter.files)
    return any(meter.query is not None for meter in study.meter)


def _renamed(given: list[str], study: Study, moved: _Moved, *, single: bool) -> Any:
    if single and given[0].lower().endswith((".csv", ".txt")) and not any(c in given[0] for c in "*?["):
        return moved.place_of(study.folder / given[0])
    names = []
    for pattern in given:
        if _outside(pattern):
            found = files_of((pattern,), study.folder, key="files")
            names += [moved.place_of(_as_listed(path, study.folder)) for path in found]
        else:
            names.append(pattern)
    return names


def _as_listed(path: Path, folder: Path) -> Path:
    """The path as the result's list of inputs leads to it."""
    name = path.relative_to(folder) if path.is_relative_to(folder) else path
    return folder / name


def _file_keys(document: Any) -> list[tuple[Any, str]]:
    """Every table of the study that names files, with the key under which it does."""
    found: list[tuple[Any, str]] = [(meter, "files") for meter in document.get("meter", [])]
    found += [
        (document[name], "files") for name in ("occupancy", "weather") if "files" in document.get(name, {})
    ]
    found += [(zone, "motion") for zone in document.get("zone", []) if "motion" in zone]
    if "inventory" in document.get("predicted", {}):
        found.append((document["predicted"], "inventory"))
    return found
