"""Long work in the background, one run at a time; it says how far it has come, and ends when asked."""

import json
import subprocess
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from mv.base.errors import TallyluxError
from mv.worker import PATIENCE_SECONDS

Command = Callable[[], Sequence[str]]
STOPPED = "as asked; nothing was changed"
DEFECT = "A defect of the program stopped it; its trace is in the terminal."


@dataclass(frozen=True, slots=True)
class Progress:
    """What the run is doing: `fraction` from 0 to 1, or None when nothing runs."""

    what: str = ""
    fraction: float | None = None
    failure: str = ""
    finished: bool = False
    answer: str = ""
    problems: tuple[dict[str, Any], ...] = ()

    @property
    def running(self) -> bool:
        """True while a run is under way."""
        return self.fraction is not None


class BackgroundRun:
    """At most one process at a time, started by the words that `command` gives."""

    def __init__(self, command: Command) -> None:
        self._command = command
        self._lock = threading.Lock()
        self._progress = Progress()
        self._process: subprocess.Popen[str] | None = None
        self._asked_to_stop = False

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
            try:
                self._process = _started(self._command())
            except TallyluxError as error:
                self._progress = Progress("Stopped", failure=str(error))
                return False
            self._progress, self._asked_to_stop = Progress("Starting", 0.0), False
            threading.Thread(target=self._follow, args=(self._process,), daemon=True).start()
        return True

    def stop(self) -> None:
        """End the run now; what it had not finished is not written."""
        with self._lock:
            process, running = self._process, self._progress.running
            self._asked_to_stop = running
        if running and process is not None:
            process.terminate()
            threading.Timer(PATIENCE_SECONDS, process.kill).start()

    def _follow(self, process: "subprocess.Popen[str]") -> None:
        last: dict[str, Any] = {}
        with process:
            for line in process.stdout or ():
                if not line.startswith("{"):
                    continue  # a library's own words
                last = json.loads(line)
                if "fraction" in last:
                    with self._lock:
                        self._progress = Progress(str(last["what"]), float(last["fraction"]))
        with self._lock:
            self._progress = self._ended(last)

    def _ended(self, last: dict[str, Any]) -> Progress:
        if "answer" in last:
            return Progress("Done", finished=True, answer=str(last["answer"]))
        if self._asked_to_stop:
            return Progress("Stopped", failure=STOPPED)
        problems = tuple(last.get("problems") or ())
        return Progress("Stopped", failure=str(last.get("refused") or DEFECT), problems=problems)


def _started(words: Sequence[str]) -> "subprocess.Popen[str]":
    """The process; its input is a pipe that closes with this one, by which it knows when to end."""
    return subprocess.Popen(
        list(words), stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8"
    )
