"""Who does the work: processes of this computer, or the workers of an existing Dask cluster.

Both take tasks and give what became of them, in no order. A process that dies takes its study with it,
not the run.
"""

import contextlib
import multiprocessing
import os
import secrets
import signal
import threading
from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from importlib import import_module
from multiprocessing.connection import Connection
from multiprocessing.connection import wait as wait_for_any
from pathlib import Path
from typing import Any

from mv import __version__
from mv.base.errors import InputError
from mv.base.files import write_whole
from mv.collecting import look_seldom
from mv.portfolio import BrokenStudy
from mv.programme.work import Done, Task, do_task, do_tasks, workers_view

AHEAD = 2  # tasks handed out per worker, so that none waits for the next
BATCH = 20  # tasks a message to a cluster carries at most: 1.6 ms each cost, measured
CONNECT_SECONDS = 15  # a scheduler that does not answer by then is not reached; no source
ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
DIED = (
    "the process that verified it ended without an answer, twice: killed, or out of memory. "
    "Run again with fewer --workers, or verify it alone to see why"
)


def local_results(tasks: Sequence[Task], *, workers: int) -> Iterator[Done]:
    """What became of each task, done by `workers` processes of this computer."""
    waiting = deque(tasks)
    while waiting:
        suspects: list[Task] = []
        with _pool(min(workers, len(waiting))) as pool:
            yield from _until_broken(pool, waiting, suspects, workers * AHEAD)
        for task in suspects:
            yield _alone(task)


def _until_broken(
    pool: ProcessPoolExecutor, waiting: deque[Task], suspects: list[Task], most: int
) -> Iterator[Done]:
    """Results until the tasks are done or a process dies; the tasks then in hand are `suspects`."""
    held: dict[Future[Done], Task] = {}
    while waiting or held:
        try:
            while waiting and len(held) < most:
                held[pool.submit(do_task, waiting[0])] = waiting[0]
                waiting.popleft()
        except BrokenProcessPool:
            pass  # told below by those in hand
        for future in wait(held, return_when=FIRST_COMPLETED).done:
            task = held.pop(future)
            try:
                done = future.result()
            except BrokenProcessPool:
                suspects += [task, *_unanswered(held)]
                yield from (future.result() for future in held if _answered(future))
                return
            yield done


def _answered(future: Future[Done]) -> bool:
    return future.done() and future.exception() is None


def _unanswered(held: dict[Future[Done], Task]) -> list[Task]:
    wait(held)
    return [task for future, task in held.items() if not _answered(future)]


def _alone(task: Task) -> Done:
    """A suspect, in a process of its own."""
    with _pool(1) as pool:
        try:
            return pool.submit(do_task, task).result()
        except BrokenProcessPool:
            return Done(BrokenStudy(task.name, task.study, f"{DIED}."), fresh=True)


@contextlib.contextmanager
def _pool(workers: int) -> Iterator[ProcessPoolExecutor]:
    """Fresh processes, one thread each; they end with this one, however it ends."""
    context = multiprocessing.get_context("spawn")
    theirs, ours = context.Pipe(duplex=False)
    former = {name: os.environ.get(name) for name in ONE_THREAD}
    os.environ.update({name: former[name] or one for name, one in ONE_THREAD.items()})
    pool = ProcessPoolExecutor(workers, mp_context=context, initializer=_begin, initargs=(theirs,))
    try:
        yield pool
        pool.shutdown()
    finally:
        ours.close()  # tells processes that are still at work to end
        pool.shutdown(wait=False, cancel_futures=True)
        theirs.close()
        for name, value in former.items():
            if value is None:
                os.environ.pop(name, None)


def _begin(line: Connection) -> None:
    """In each process: the terminal's Ctrl+C is the parent's affair, and so is when to end."""
    look_seldom()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, args=(line,), daemon=True).start()


def _end_with_parent(line: Connection) -> None:
    parent = multiprocessing.parent_process()
    wait_for_any([line] if parent is None else [line, parent.sentinel])
    os._exit(1)


def cluster_results(tasks: Sequence[Task], *, address: str, out: Path) -> Iterator[Done]:
    """What became of each task, done by the workers of the Dask scheduler at `address`.

    Raises InputError where dask is not installed, the scheduler does not answer or goes away, or a
    worker does not see `out` or runs another version.
    """
    with _connected(address) as client:
        count = _require_fit_workers(client, out)
        size = max(1, min(BATCH, len(tasks) // (AHEAD * count)))
        batches = deque(list(tasks[first : first + size]) for first in range(0, len(tasks), size))
        yield from _from_cluster(client, batches, AHEAD * count)


def _from_cluster(client: Any, batches: deque[list[Task]], most: int) -> Iterator[Done]:
    held: dict[str, list[Task]] = {}
    answers = import_module("distributed").as_completed(loop=client.loop)
    while batches or held:
        while batches and len(held) < most:
            future = client.submit(do_tasks, batches[0], pure=False)
            held[future.key] = batches.popleft()
            answers.add(future)
        future = next(answers)
        batch = held.pop(future.key)
        if future.status == "finished":
            yield from future.result()
        elif future.status != "error":
            raise InputError(
                "the scheduler or its answer was lost",
                place="--scheduler",
                remedy="Run again: what is done is kept.",
            )
        elif len(batch) > 1:
            batches.extend([task] for task in batch)
        else:
            told = f"the cluster could not verify it: {future.exception()}"
            yield Done(BrokenStudy(batch[0].name, batch[0].study, told), fresh=True)


@contextlib.contextmanager
def _connected(address: str) -> Iterator[Any]:
    try:
        distributed = import_module("distributed")
    except ImportError:
        raise InputError(
            "a cluster needs the library Dask with its scheduler, which is not installed",
            place="--scheduler",
            remedy="Run: pip install 'tallylux[cluster]', here and where scheduler and workers run.",
        ) from None
    try:
        client = distributed.Client(address, timeout=CONNECT_SECONDS, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        raise InputError(
            f"no Dask scheduler answers ({type(error).__name__})",
            place="--scheduler",
            value=address,
            remedy="Give the address that it printed when it began, such as tcp://10.0.0.5:8786.",
        ) from None
    with client:
        yield client


def _require_fit_workers(client: Any, out: Path) -> int:
    """The number of workers. Raises InputError unless all see `out` and run this version."""
    token, word = out / ".seen-by-workers", secrets.token_hex(16)
    write_whole(token, word)
    try:
        views = client.run(workers_view, token, word)
    except Exception as error:
        raise InputError(
            f"a worker of the cluster cannot run Tallylux ({type(error).__name__}: {error})",
            place="--scheduler",
            remedy=f"Install tallylux {__version__} where the scheduler and every worker run.",
        ) from None
    finally:
        token.unlink(missing_ok=True)
    if not views:
        raise InputError(
            "the scheduler has no workers", place="--scheduler", remedy="Start some and run again."
        )
    blind = sorted({str(view["computer"]) for view in views.values() if not view["same"]})
    if blind:
        raise InputError(
            f"workers on {', '.join(blind)} do not see the folder",
            file=out,
            remedy="All workers must see the studies and --out under the same paths, on shared storage.",
        )
    other = sorted({str(view["version"]) for view in views.values()} - {__version__})
    if other:
        raise InputError(
            f"workers run tallylux {', '.join(other)}, this is {__version__}",
            place="--scheduler",
            remedy="Install the same version everywhere.",
        )
    return len(views)
