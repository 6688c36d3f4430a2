"""How a folder is known for a claim package: its list of contents begins with the mark."""

from pathlib import Path

CONTENTS = "contents.txt"
MARK = "Tallylux claim package, format 1"


def is_claim_package(folder: Path) -> bool:
    """Whether the folder holds a claim package. Raises OSError where its list cannot be read."""
    path = folder / CONTENTS
    if not path.is_file():
        return False
    with path.open("rb") as stream:
        return stream.read(len(MARK)) == MARK.encode()
