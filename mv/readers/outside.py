"""Files outside the study's folder: read where the study names them, but never quoted in a message.

A study may stand beside its data, so `..`, absolute paths and links are followed. But a study may come
from someone else: a message about a file that lies elsewhere (or that a link leads to) tells its line and
what is wrong, not what the file holds; and the ledger says where it was read from.
"""

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from mv.base.errors import ReadingError
from mv.base.ledger import Remark

_LINES = re.compile(r"^(bytes?|lines?|rows?|sheet) [\d ,and-]+$")
MOST_NAMED = 3


def outside(paths: Sequence[Path], folder: Path) -> list[Path]:
    """The files that, links followed, do not lie in the folder."""
    home = folder.resolve()
    return [path for path in paths if not path.resolve().is_relative_to(home)]


@contextmanager
def unquoted(paths: Sequence[Path], folder: Path) -> Iterator[None]:
    """Raise what is wrong with files outside the folder without a word of their content."""
    try:
        yield
    except ReadingError as error:
        if not outside(paths, folder):
            raise
        place = error.place if error.place and _LINES.match(error.place) else None
        raise ReadingError(error.what, file=error.file, place=place, remedy=error.remedy) from None


def outside_remarks(paths: Sequence[Path], folder: Path) -> tuple[Remark, ...]:
    """One remark that names the files read from elsewhere."""
    found = [str(path.resolve()) for path in outside(paths, folder)]
    if not found:
        return ()
    more = f" and {len(found) - MOST_NAMED} more" if len(found) > MOST_NAMED else ""
    return (
        Remark(
            "outside-folder",
            f"read from outside the study's folder: {', '.join(found[:MOST_NAMED])}{more}",
            remedy="Copy the files into the study's folder, so that they move with it.",
        ),
    )
