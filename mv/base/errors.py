"""The errors a user can cause and mend.

TallyluxError
├── InputError          a file or a setting is wrong; the command line exits with 2
│   ├── StudyError      study.toml
│   ├── ReadingError    a meter, occupancy, weather or inventory file
│   └── OutputError     a folder or file that cannot be written
└── (nothing else: a defect of ours keeps its traceback)
"""

import re
from collections.abc import Sequence
from pathlib import Path


class TallyluxError(Exception):
    """Root of every error that has a remedy on the user's side."""


class InputError(TallyluxError):
    """The input is wrong: what happened, where, the value found, and what to do.

    `place` is a line, row, column or key inside `file`; `value` is quoted as it was found; `line` is
    the line of a key that `place` names.
    """

    def __init__(
        self,
        what: str,
        *,
        file: Path | str | None = None,
        place: str | None = None,
        value: object = None,
        remedy: str | None = None,
        line: int | None = None,
    ) -> None:
        self.what, self.file, self.place, self.value, self.remedy = what, file, place, value, remedy
        self.line = line
        self._together: tuple[InputError, ...] = ()
        super().__init__(self._sentence())

    @property
    def problems(self) -> "tuple[InputError, ...]":
        """Those that are told together; itself alone for most."""
        return self._together or (self,)

    def _sentence(self) -> str:
        line = "" if self.line is None else f"line {self.line}"
        where = ", ".join(str(part) for part in (self.file, line, self.place) if part)
        text = f"{where}: {self.what}" if where else self.what
        if self.value is not None:
            text += f" (found: {_shortened(self.value)})"
        return f"{text}. {self.remedy}" if self.remedy else text


class StudyError(InputError):
    """study.toml, or a file it names, does not say what is needed."""


class ReadingError(InputError):
    """A data file cannot be read without guessing."""


class OutputError(InputError):
    """A result cannot be written."""


def joined(problems: Sequence[InputError]) -> InputError:
    """One error of the first problem's kind that lists every problem, one a line."""
    if len(problems) == 1:
        return problems[0]
    lines = "\n".join(f"  {number}. {problem}" for number, problem in enumerate(problems, 1))
    kinds = (StudyError, ReadingError, OutputError, InputError)
    kind = next(kind for kind in kinds if isinstance(problems[0], kind))
    together = kind(f"{len(problems)} things are wrong:\n{lines}")
    together._together = tuple(one for problem in problems for one in problem.problems)
    return together


def _shortened(value: object, *, limit: int = 80) -> str:
    """The value as found, but for the credentials of an address."""
    text = re.sub(r"://[^/\s]*@", "://(hidden)@", str(value))
    return repr(text if len(text) <= limit else text[: limit - 1] + "…")
