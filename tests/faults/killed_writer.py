"""Runs commands of Tallylux in forks of itself and ends them as `kill -9` does.

    killed_writer.py STUDY

First it verifies the study and makes its month page, so that what the forks need is loaded. Then it
reads one JSON order a line: {"folder": ..., "words": [...], "at": N} ends the command at its N-th
operation on a file below the folder (0: never); {"after": S} ends it after S seconds. Answers with
{"ended": "killed" | "done", "operations": N, "seconds": S}. An operation is anything that opens for
writing, renames, removes or makes a file or folder.
"""

import contextlib
import json
import os
import signal
import sys
import time
from typing import Any

from mv.cli import main

WATCHED = {
    "open", "os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.chmod", "shutil.rmtree", "shutil.copyfile"
}  # fmt: skip


def obey(order: dict[str, Any]) -> dict[str, Any]:
    """Run the order's command in a fork and tell how it ended."""
    begun = time.monotonic()
    told, tell = os.pipe()
    child = os.fork()
    if child == 0:
        os.setpgid(0, 0)
        os.close(told)
        _run(order, tell)
    os.close(tell)
    if "after" in order:
        time.sleep(order["after"])
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child, signal.SIGKILL)
    with os.fdopen(told) as stream:
        operations = stream.read()
    _, status = os.waitpid(child, 0)
    ended = "killed" if os.WIFSIGNALED(status) else "done"
    return {"ended": ended, "operations": int(operations or 0), "seconds": time.monotonic() - begun}


def _run(order: dict[str, Any], tell: int) -> None:
    count = 0
    _hush()

    def watch(event: str, arguments: tuple[Any, ...]) -> None:
        nonlocal count
        if event in WATCHED and _below(arguments[0], order["folder"]) and not _reads(event, arguments):
            count += 1
            if count == order.get("at"):
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(watch)
    main(order["words"])
    os.write(tell, str(count).encode())
    os._exit(0)


def _hush() -> None:
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)


def _warm(study: str) -> None:
    kept = os.dup(1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    for words in (["verify", study], ["month", study]):  # no claim: its typesetter's threads bear no fork
        main(words)
    sys.stdout.flush()
    os.dup2(kept, 1)


def _below(name: Any, folder: str) -> bool:
    return isinstance(name, str | bytes | os.PathLike) and os.fsdecode(name).startswith(folder)


def _reads(event: str, arguments: tuple[Any, ...]) -> bool:
    return event == "open" and isinstance(arguments[2], int) and not arguments[2] & (os.O_WRONLY | os.O_RDWR)


if __name__ == "__main__":
    _warm(sys.argv[1])
    for line in sys.stdin:
        print(json.dumps(obey(json.loads(line))), flush=True)
