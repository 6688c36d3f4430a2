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

    @property
    def running(self) -> bool:
        """True while a run is under way."""
        return self.fraction is not None


class StopAskedError(TallyluxError):
    """A person asked the run to stop."""


class BackgroundRun:
    """At most one verification of one study at a time."""

    def __init__(self, path: Path, results: Callable[[], Path], *, job: Job | None = None) -> None:
        self._path, self._results, self._job = path, results, job or _verify
        self._lock = threading.Lock()
        self._progress = Progress()
        self._stop = threading.Event()

    @property
    def progress(self) -> Progress:
        """The latest state."""
        with self._lock:
            return self._progress

    def begin(self) -> bool:
        """Start a run; False where one is already under way."""
        with self._lock:
            if self._progress.running:
                return False
            self._progress = Progress("Starting", 0.0)
            self._stop.clear()
        threading.Thread(target=self._run, name="verification", daemon=True).start()
        return True

    def stop(self) -> None:
        """Ask the run to end at its next step; nothing half-written is left, the former result stands."""
        self._stop.set()
        with self._lock:
            if self._progress.running:
                self._progress = replace(self._progress, what=f"Stopping after: {self._progress.what}")

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
        if self._stop.is_set():
            raise StopAskedError("as asked; the former result stands")
        with self._lock:
            self._progress = replace(self._progress, what=what, fraction=fraction)


def _verify(path: Path, results: Path, step: Callable[[str, float], None]) -> None:
    from mv import store
    from mv.verify import verify_study

    store.save(verify_study(path, step=step), results)
