"""The password of a dashboard that others can reach: only its hash is ever kept.

`python -m dashboards.password` asks for one and prints the line to keep.
"""

import getpass
import os
import sys
from collections.abc import Mapping
from pathlib import Path

from werkzeug.security import generate_password_hash

from mv.base.errors import InputError

HASH_VARIABLE = "TALLYLUX_PASSWORD_HASH"
FILE_VARIABLE = "TALLYLUX_PASSWORD_FILE"
LEAST_LENGTH = 12  # characters; common practice, no source
KINDS = ("scrypt:", "pbkdf2:")


def stored_hash(environment: Mapping[str, str] | None = None) -> str | None:
    """The hash from the environment, or from the file that it names; None where there is neither."""
    found = os.environ if environment is None else environment
    if found.get(HASH_VARIABLE):
        return _checked(found[HASH_VARIABLE], HASH_VARIABLE)
    if not found.get(FILE_VARIABLE):
        return None
    file = Path(found[FILE_VARIABLE])
    try:
        return _checked(file.read_text(encoding="utf-8"), str(file))
    except OSError as error:
        raise InputError("the password file cannot be read", file=file, value=error.strerror) from None


def _checked(text: str, place: str) -> str:
    kept = text.strip()
    if not kept.startswith(KINDS) or kept.count("$") != 2:
        remedy = "Make one with: python -m dashboards.password"
        raise InputError(
            "holds no password hash (it must never hold the password itself)", place=place, remedy=remedy
        )
    return kept


def hashed(password: str) -> str:
    """The line to keep. Raises InputError for a password that is too short."""
    if len(password) < LEAST_LENGTH:
        raise InputError(
            f"the password is shorter than {LEAST_LENGTH} characters", remedy="Choose a longer one"
        )
    return generate_password_hash(password, method="scrypt")


def main() -> int:
    """Ask twice, print the hash."""
    first, second = getpass.getpass("Password: "), getpass.getpass("Again: ")
    if first != second:
        print("The two differ.", file=sys.stderr)
        return 2
    try:
        print(hashed(first))
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
