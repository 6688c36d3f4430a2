"""The long work, in a process of its own, so that it can be ended at once: `python -m mv.worker`.

Each line on its output is one JSON object: how far it has come (`what`, `fraction`), at the end its
`answer`, or why the input was `refused`, with its
`problems` one by one. A defect leaves its trace on the error output. It ends itself
when whoever started it is gone.
"""

import json
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NoReturn

from mv.base.errors import InputError, TallyluxError
from mv.collecting import look_seldom

Step = Callable[[str, float], None]
VERIFY, CHECK = "verify", "check"
PATIENCE_SECONDS = 2.0  # to tidy up before it ends by force; common practice, no source


def command(kind: str, *words: Path | str) -> list[str]:
    """The command that starts this work."""
    return [sys.executable, "-m", "mv.worker", kind, *map(str, words)]


def verify(step: Step, path: str, results: str) -> str:
    """Verify the study and keep the result."""
    from mv import store
    from mv.verify import verify_study

    return str(store.save(verify_study(path, step=step), Path(results)))


def check(step: Step, path: str) -> str:
    """Read and clean only; the ledgers as JSON."""
    from mv.check import check_study

    return check_study(path, step=step).as_json()


KINDS: dict[str, Callable[..., str]] = {VERIFY: verify, CHECK: check}


def main(words: Sequence[str]) -> int:
    """Do the work that the words name."""
    look_seldom()
    signal.signal(signal.SIGTERM, _ended)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    try:
        _say(answer=KINDS[words[0]](lambda what, fraction: _say(what=what, fraction=fraction), *words[1:]))
    except InputError as error:
        _say(refused=str(error), problems=[_told(problem) for problem in error.problems])
    except TallyluxError as error:
        _say(refused=str(error))
    return 0


def _told(problem: InputError) -> dict[str, Any]:
    """A problem with the key that settles it and what there is to choose from, where it knows them."""
    return {
        "text": str(problem),
        "key": getattr(problem, "key", None),
        "choices": list(getattr(problem, "choices", ())),
    }


def _say(**line: Any) -> None:
    print(json.dumps(line), flush=True)


def _ended(*_: Any) -> NoReturn:
    """Unwinds, so that a file half-written beside its target is taken away."""
    raise SystemExit(1)


def _end_with_parent() -> None:
    while os.read(0, 1):
        pass
    os.kill(os.getpid(), signal.SIGTERM)
    time.sleep(PATIENCE_SECONDS)
    os._exit(1)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
