"""Verifies a study in the background, one run at a time, and says how far it has come."""

import threading
import traceback
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from mv.base.errors import TallyluxError

Job = Callable[[Path, Path, Callable[[str, float], None]], None]


@dataclass(frozen=True, slots=True)
class Progress:
    """What the run is doing: `fraction` from 0 to 1, or None when nothing runs."""

    what: str = ""
    fraction: float | None = None
    failure: str = ""
    finished: bool = False


class BackgroundRun:
    """At most one verification of one study at a time."""

    def __init__(self, path: Path, results: Callable[[], Path], *, job: Job | None = None) -> None:
        self._path, self._results, self._job = path, results, job or _verify
        self._lock = threading.Lock()
        self._progress = Progress()

    @property
    def progress(self) -> Progress:
        """The latest state."""
        with self._lock:
            return self._progress

    def begin(self) -> bool:
        """Start a run; False where one is already under way."""
        with self._lock:
            if self._progress.fraction is not None:
                return False
            self._progress = Progress("Starting", 0.0)
        threading.Thread(target=self._run, name="verification", daemon=True).start()
        return True

    def _run(self) -> None:
        try:
            self._job(self._path, self._results(), self._note)
            ended = Progress("Done", None, finished=True)
        except TallyluxError as error:
            ended = Progress("Stopped", None, failure=str(error))
        except Exception:
            traceback.print_exc()
            ended = Progress(
                "Stopped",
                None,
                failure="A defect of the program stopped the run; its trace is in the terminal.",
            )
        with self._lock:
            self._progress = ended

    def _note(self, what: str, fraction: float) -> None:
        with self._lock:
            self._progress = replace(self._progress, what=what, fraction=fraction)


def _verify(path: Path, results: Path, step: Callable[[str, float], None]) -> None:
    from mv.verify import verify_study

    from mv import store

    store.save(verify_study(path, step=step), results)
