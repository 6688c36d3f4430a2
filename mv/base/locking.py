"""One writer at a time, across tabs and processes, by a lock of the operating system."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from mv.base.errors import OutputError
from mv.base.files import refuse_file_for_folder


class BusyError(OutputError):
    """Somebody else holds the lock, and longer than one was willing to wait."""


LONGEST_WAIT_SECONDS = 20.0  # a write takes milliseconds; longer is a fault (common practice, no source)


@contextmanager
def held(path: Path, *, longest_wait_seconds: float = LONGEST_WAIT_SECONDS) -> Iterator[None]:
    """Holds the lock file `path`; a process that dies lets it go.

    Raises OutputError where the file cannot be made, BusyError where somebody else holds it too long.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
    except OSError as error:
        refuse_file_for_folder(path.parent)
        raise OutputError(
            f"cannot be written: {error.strerror}", file=path.parent, remedy="Check the folder's permissions."
        ) from None
    try:
        _wait_for(handle, path, longest_wait_seconds)
        yield
    finally:
        os.close(handle)


def _wait_for(handle: int, path: Path, longest_wait_seconds: float) -> None:
    patience = time.monotonic() + longest_wait_seconds
    while not _taken(handle):
        if time.monotonic() > patience:
            raise BusyError("another process has held it for long", file=path, remedy="Try again soon.")
        time.sleep(0.02)


def _taken(handle: int) -> bool:
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
