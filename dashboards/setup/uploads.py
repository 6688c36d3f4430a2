"""Dropped files: kept inside the study's folder, limited in size, never over another file."""

import base64
import binascii
import re
import unicodedata
from pathlib import Path, PurePosixPath

from mv.base.errors import InputError, OutputError
from mv.base.files import write_whole
from mv.base.locking import held
from mv.study_file.writing import LOCK_FILE

METERS, MOTION = "meters", "motion"
LARGEST_FILE_BYTES = 50_000_000  # a year of 1-minute readings is about 20 MB of text
LARGEST_REQUEST_BYTES = 200_000_000  # several files dropped at once, as the browser packs them
MOST_FILES = 300  # in one study's folder
LONGEST_NAME = 120  # characters; file systems take 255 bytes
KINDS = (".csv", ".txt", ".tsv", ".dat", ".xml", ".xlsx", ".gz", ".zip")
_NOT_IN_NAMES = re.compile(r"[^\w .()+=@-]+")
_DEVICES = re.compile(r"^(con|prn|aux|nul|com\d|lpt\d)(\.|$)", re.IGNORECASE)  # names some systems keep
_BEFORE = re.compile(r"(?<![a-z])(before|baseline|pre|old)(?![a-z])", re.IGNORECASE)
_AFTER = re.compile(r"(?<![a-z])(after|reporting|post|new)(?![a-z])", re.IGNORECASE)


def keep(folder: Path, kind: str, name: str, packed: str) -> Path:
    """Write a dropped file into `folder`/`kind` under a harmless name; returns its path.

    `packed` is the browser's "data:...;base64," text. The same file again is no change. Raises InputError
    for a kind of file that is not read, one too large, and another file under a name that is taken.
    """
    safe = safe_name(name)
    data = _unpacked(packed, name)
    with held(folder / LOCK_FILE):
        target = folder / kind / safe
        if not target.resolve().is_relative_to(folder.resolve()):
            raise OutputError("would stand outside the study's folder", file=target, remedy="Move the link.")
        if target.exists():
            if target.is_file() and target.read_bytes() == data:
                return target
            raise OutputError(
                "another file of this name is there already", file=target, remedy="Rename one of the two."
            )
        if len(data_files(folder)) >= MOST_FILES:
            raise OutputError(f"{MOST_FILES} files are there already", file=folder, remedy="Remove some.")
        write_whole(target, data)
        return target


def safe_name(name: str) -> str:
    """The last part of a path with only harmless characters. Raises InputError where none is left."""
    last = unicodedata.normalize("NFC", name).replace("\\", "/").rsplit("/", 1)[-1]
    text = _NOT_IN_NAMES.sub("_", last).strip(" .")
    suffix = PurePosixPath(text).suffix.lower()
    if suffix not in KINDS or len(text) <= len(suffix):
        raise InputError(
            "is no kind of file that is read here", value=name, remedy=f"Kinds: {', '.join(KINDS)}."
        )
    text = f"_{text}" if _DEVICES.match(text) else text
    return text if len(text) <= LONGEST_NAME else text[: LONGEST_NAME - len(suffix)] + text[-len(suffix) :]


def _unpacked(packed: str, name: str) -> bytes:
    body = packed.partition(",")[2]
    too_large = InputError(
        f"is larger than {LARGEST_FILE_BYTES // 1_000_000} MB",
        value=name,
        remedy="Compress it as .gz or .zip, or copy it into the study's folder and name it there.",
    )
    if len(body) * 3 // 4 > LARGEST_FILE_BYTES + 2:
        raise too_large
    try:
        data = base64.b64decode(body, validate=True)
    except (binascii.Error, ValueError):
        raise InputError("did not arrive whole", value=name, remedy="Drop it again.") from None
    if not data:
        raise InputError("is empty", value=name, remedy="Export it again.")
    return data


def data_files(folder: Path) -> list[str]:
    """Paths, within the folder, of the files that could be readings; results and hidden ones left out."""
    found = []
    for path in sorted(folder.rglob("*")):
        parts = path.relative_to(folder).parts
        hidden = any(part.startswith(".") for part in parts) or parts[0] == "results"
        inside = path.resolve().is_relative_to(folder.resolve())
        if not hidden and inside and path.suffix.lower() in KINDS and path.is_file():
            found.append(PurePosixPath(*parts).as_posix())
    return found[:MOST_FILES]


def side_of(name: str) -> str:
    """ "before" or "after" where the file's name says so; "" where it does not."""
    before, after = (bool(words.search(PurePosixPath(name).name)) for words in (_BEFORE, _AFTER))
    return "" if before == after else "before" if before else "after"
