"""Keeps the opened verification at hand and opens it again when it has been written anew."""

import threading
from collections.abc import Callable
from pathlib import Path

from mv.base.errors import TallyluxError
from mv.base.verification import Verification

Opener = Callable[[Path, Path | None], Verification]


class Shelf:
    """One study's verification; safe to ask from several threads."""

    def __init__(self, path: Path, *, results: Path | None = None, opener: Opener | None = None) -> None:
        self.path = path
        self._results = results
        self._opener = opener or _open
        self._lock = threading.Lock()
        self._stamp: object = None
        self._kept: Verification | None = None

    @property
    def results(self) -> Path:
        """The folder of result.json."""
        from mv.store import results_folder

        return self._results or results_folder(self.path)

    def verification(self) -> Verification:
        """The last verification. Raises TallyluxError where there is none that is whole."""
        with self._lock:
            stamp = self._written_at()
            if self._kept is None or stamp != self._stamp:
                self._kept, self._stamp = self._opener(self.path, self._results), stamp
            return self._kept

    def attempt(self) -> Verification | TallyluxError:
        """The verification, or the reason there is none, for the page to show."""
        try:
            return self.verification()
        except TallyluxError as error:
            return error

    def _written_at(self) -> object:
        try:
            state = (self.results / "result.json").stat()
        except (OSError, TallyluxError):
            return None
        return state.st_mtime_ns, state.st_size


def _open(path: Path, results: Path | None) -> Verification:
    from mv.store import open_results

    return open_results(path, results)
