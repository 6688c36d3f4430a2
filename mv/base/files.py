"""Files written whole or not at all."""

import os
import tempfile
from pathlib import Path

from mv.base.errors import OutputError


def write_whole(path: Path, content: str | bytes) -> None:
    """Write `content` beside `path` and move it into place in one step.

    A reader sees the old file or the new one, never half of it. Raises OutputError when the
    folder cannot be written.
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
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
