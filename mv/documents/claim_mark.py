"""How a folder is known for a claim package: its list of contents begins with the mark."""

import re
from pathlib import Path

from mv.base.files import sha256_of

CONTENTS = "contents.txt"
MARK = "Tallylux claim package, format 1"
_LISTED = re.compile(r"^([0-9a-f]{64})  (.+)$", re.MULTILINE)


def is_claim_package(folder: Path) -> bool:
    """Whether the folder holds a claim package. Raises OSError where its list cannot be read."""
    path = folder / CONTENTS
    if not path.is_file():
        return False
    with path.open("rb") as stream:
        return stream.read(len(MARK)) == MARK.encode()


def not_of_the_package(folder: Path) -> list[str]:
    """Files in a claim package that it did not write, or that were changed since, by name.

    Results that a reviewer's run left beside the evidence and hidden files of the system do not count.
    """
    text = (folder / CONTENTS).read_text(encoding="utf-8", errors="replace")
    written = {name: mark for mark, name in _LISTED.findall(text)}
    found = sorted(path for path in folder.rglob("*") if path.is_file() and path != folder / CONTENTS)
    names = [(path, path.relative_to(folder)) for path in found]
    return [
        name.as_posix()
        for path, name in names
        if "results" not in name.parts
        and not name.name.startswith(".")
        and written.get(name.as_posix()) != sha256_of(path)
    ]
