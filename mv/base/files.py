"""Files written whole or not at all."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from mv.base.errors import OutputError


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
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise OutputError(
            f"cannot be written: {error.strerror or error}",
            file=path,
            remedy="Check the folder's permissions and free space, or choose another with --out.",
        ) from error
