"""A small study, and a process that runs its commands and kills them."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from mv.simulate import random_site, simulate_site, write_study

Order = Callable[..., dict[str, Any]]


@pytest.fixture(scope="session")
def small_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An invented site of one hourly meter, three months before and three after."""
    folder = tmp_path_factory.mktemp("faults") / "site"
    design = random_site(3, zones=1, interval_minutes=60, baseline_months=3, reporting_months=3)
    write_study(simulate_site(design, 3), folder, interval_minutes=60)
    return folder


@pytest.fixture(scope="session")
def order(small_site: Path) -> Iterator[Order]:
    """Gives the killing process one order and returns its answer."""
    script = Path(__file__).with_name("killed_writer.py")
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    with subprocess.Popen(
        [sys.executable, str(script), str(small_site)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=environment,
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        stdin, stdout = process.stdin, process.stdout

        def give(folder: Path, *words: str, **how: float) -> dict[str, Any]:
            stdin.write(json.dumps({"folder": str(folder), "words": words, **how}) + "\n")
            stdin.flush()
            return dict(json.loads(stdout.readline()))

        yield give
        stdin.close()
