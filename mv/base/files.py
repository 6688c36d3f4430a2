"""Files written whole or not at all."""

import contextlib
import ctypes
import glob
import hashlib
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

from mv.base.errors import OutputError

DEBRIS_HOURS = 24  # no run takes as long (common practice, no source)


def sha256_of(path: Path) -> str:
    """The file's SHA-256 as hexadecimal digits. Raises OSError where it cannot be read."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def refuse_file_for_folder(folder: Path) -> None:
    """Raise OutputError where `folder`, or a folder that it is to stand in, is a file."""
    for place in (folder, *folder.absolute().parents):
        if place.exists():
            if not place.is_dir():
                raise OutputError("is a file, not a folder", file=place, remedy="Choose another folder.")
            return


def write_whole(path: Path, content: str | bytes) -> None:
    """Write `content` beside `path` and move it into place in one step.

    A reader sees the old file or the new one, never half of it. Raises OutputError when the
    folder cannot be written.
    """
    with writing_whole(path) as stream:
        stream.write(content.encode("utf-8") if isinstance(content, str) else content)


@contextmanager
def writing_whole(path: Path) -> Iterator[IO[bytes]]:
    """A stream beside `path`, moved into place when the block ends well, removed when it does not.

    Raises OutputError when the folder cannot be written; an error of the block's own passes through.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as stream:
                yield stream
                stream.flush()
                os.fsync(stream.fileno())
            Path(name).chmod(0o644)
            Path(name).replace(path)
            tidy(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        refuse_file_for_folder(path.parent)
        raise OutputError(
            f"cannot be written: {error.strerror or error}",
            file=path,
            remedy="Check the folder's permissions and free space, or choose another with --out.",
        ) from error


def tidy(path: Path, *, older_than_hours: float = DEBRIS_HOURS) -> None:
    """Remove what killed runs left beside `path` so long ago; what is younger may be somebody's work."""
    _remove_debris(path.parent, glob.escape(path.name), older_than_hours=older_than_hours)


def tidy_own(folder: Path) -> None:
    """Remove what killed runs left of any file in a folder that is this run's alone."""
    _remove_debris(folder, "*", older_than_hours=0.0)


def _remove_debris(folder: Path, names: str, *, older_than_hours: float) -> None:
    for left in folder.glob(f".{names}.????????"):
        with contextlib.suppress(OSError):
            if time.time() - left.stat().st_mtime >= older_than_hours * 3600:
                shutil.rmtree(left) if left.is_dir() else left.unlink()


def replace_folder(new: Path, place: Path) -> None:
    """Put the folder `new` at `place` in one step; what stood there is removed afterwards.

    Both stand in one file system. Where the system cannot exchange two names at once, the former
    folder is moved aside first, and back when the second step fails. Raises OSError.
    """
    if not place.exists():
        new.rename(place)
    elif _exchanged(new, place):
        shutil.rmtree(new, ignore_errors=True)
    else:
        old = new.with_name(f"{new.name}.former")
        place.rename(old)
        try:
            new.rename(place)
        except OSError:
            old.rename(place)
            raise
        shutil.rmtree(old, ignore_errors=True)


_SWAP = 2  # RENAME_EXCHANGE of Linux's renameat2, RENAME_SWAP of Darwin's renamex_np
_HERE = -100  # AT_FDCWD: names are relative to the working folder


def _exchanged(one: Path, other: Path) -> bool:
    """Exchange two names in one step; False where the system has no way to."""
    names = os.fsencode(one), os.fsencode(other)
    try:
        library: Any = ctypes.CDLL(None, use_errno=True)
        if sys.platform == "darwin":
            return bool(library.renamex_np(names[0], names[1], _SWAP) == 0)
        return bool(library.renameat2(_HERE, names[0], _HERE, names[1], _SWAP) == 0)
    except (AttributeError, TypeError, OSError):
        return False
