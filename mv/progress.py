"""A progress bar on a terminal, silence in a pipe."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Step = Callable[[str, float], None]


def no_progress(_what: str, _fraction: float) -> None:
    """Reports nothing."""


@contextmanager
def progress_bar() -> Iterator[Step]:
    """Yields `step(what, fraction)`, which draws a bar on stderr if that is a terminal."""
    if not sys.stderr.isatty():
        yield no_progress
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description:<34}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("Starting", total=1.0)
        yield lambda what, fraction: bar.update(task, description=what, completed=fraction)
