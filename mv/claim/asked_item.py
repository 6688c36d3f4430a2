"""One thing that a programme asks for: whether it is there, and whose task it is where it is not."""

from dataclasses import dataclass
from typing import Literal

Who = Literal["analyst", "contractor", "owner", "programme"]
State = Literal["there", "partly", "missing"]


@dataclass(frozen=True, slots=True)
class Item:
    """One thing asked for. `todo` says what is still to be done; empty where it is there."""

    part: str
    what: str
    state: State
    who: Who
    todo: str


def one(letter: str, what: str, there: object, who: Who, todo: str) -> Item:
    """A thing that is there or missing."""
    state: State = "there" if there else "missing"
    return Item(letter, what, state, who, "" if there else todo)


def some(letter: str, what: str, done: int, of: int, who: Who, todo: str) -> Item:
    """A thing of which `done` parts of `of` are there."""
    if of and done >= of:
        return Item(letter, what, "there", who, "")
    told = f" ({done} of {of})" if of else ""
    return Item(letter, what, "partly" if done else "missing", who, f"{todo}{told}")
