"""kill -9 at any moment: what is done stays, nothing is half-written, the next run goes on."""

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from mv.programme.run import run_portfolio

KILLS = 5


@pytest.mark.skipif(os.name == "nt", reason="process groups and SIGKILL are of Unix")
def test_a_run_killed_at_random_moments_loses_nothing_and_leaves_no_process(
    small_study: Callable[..., Path], tmp_path: Path
) -> None:
    root, out, draw = tmp_path / "studies", tmp_path / "out", random.Random(4)
    for number in range(5):
        small_study(root / f"site-{number}", seed=number)
    done: dict[Path, str] = {}
    for _ in range(KILLS):
        words = [sys.executable, "-m", "mv", "portfolio", str(root), "--out", str(out), "--workers", "2"]
        run = subprocess.Popen(words, start_new_session=True, stdout=subprocess.DEVNULL)
        time.sleep(draw.uniform(0.5, 5.0))
        os.kill(run.pid, signal.SIGKILL)
        run.wait()
        _gone(run.pid)
        for path, text in done.items():
            assert path.read_text(encoding="utf-8") == text
        done = {path: path.read_text(encoding="utf-8") for path in out.glob("studies/*/record.json")}
        for path in [*out.glob("studies/*/*.json"), *out.glob("*.json")]:
            json.loads(path.read_text(encoding="utf-8"))
    last = run_portfolio([root], out, workers=2)
    assert last.all_accepted and last.fresh <= 5 - len(done)
    run_portfolio([root], tmp_path / "clean", workers=2)
    for name in ("portfolio.parquet", "meters.parquet"):
        assert (out / name).read_bytes() == (tmp_path / "clean" / name).read_bytes()
    assert not list(out.glob(".*.json.*")) and not list(out.glob("studies/*/.re*.json.*"))


def _gone(group: int) -> None:
    """Every process of the group ends within seconds."""
    patience = time.monotonic() + 20
    while time.monotonic() < patience:
        try:
            os.killpg(group, 0)
        except (ProcessLookupError, PermissionError):
            return
        time.sleep(0.05)
    raise AssertionError("a worker process lives on")
