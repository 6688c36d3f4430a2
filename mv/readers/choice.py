"""A refusal that knows what there is to choose from, so that a study file can be drafted from it."""

from collections.abc import Sequence
from pathlib import Path

from mv.base.errors import ReadingError


class ChoiceError(ReadingError):
    """A file holds several things that may be meant; `key` of the study file settles it."""

    def __init__(
        self,
        what: str,
        *,
        key: str,
        choices: Sequence[str],
        file: Path | str | None = None,
        place: str | None = None,
        value: object = None,
        remedy: str | None = None,
    ) -> None:
        self.key, self.choices = key, tuple(choices)
        super().__init__(what, file=file, place=place, value=value, remedy=remedy)
