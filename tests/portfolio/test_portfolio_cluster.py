"""The same work on a real scheduler with two workers, started as processes of their own on loopback."""

import contextlib
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from mv.base.errors import InputError
from mv.programme.run import run_portfolio

pytest.importorskip("distributed", reason="the extra `cluster` is not installed")


@pytest.fixture(scope="module")
def scheduler(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a scheduler with two workers."""
    folder = tmp_path_factory.mktemp("cluster")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    address = f"tcp://127.0.0.1:{port}"
    with contextlib.ExitStack() as stack:
        _start(stack, folder, "dask_scheduler", "--host", "127.0.0.1", "--port", str(port), "--no-dashboard")
        for number in (1, 2):
            local = ("--local-directory", str(folder / str(number)))
            _start(
                stack,
                folder,
                "dask_worker",
                address,
                "--nthreads",
                "1",
                "--no-nanny",
                "--no-dashboard",
                *local,
            )
        _until_two_workers(address)
        yield address


def _start(stack: contextlib.ExitStack, folder: Path, module: str, *words: str) -> None:
    log = stack.enter_context((folder / f"{module}.log").open("ab"))
    command = [sys.executable, "-m", f"distributed.cli.{module}", *words]
    process = subprocess.Popen(
        command, stdout=log, stderr=log, cwd=folder, env={**os.environ, "OMP_NUM_THREADS": "1"}
    )
    stack.callback(process.wait, 10)
    stack.callback(process.terminate)


def _until_two_workers(address: str) -> None:
    from distributed import Client

    patience = time.monotonic() + 60
    while True:
        try:
            with Client(address, timeout=5, set_as_default=False) as client:
                client.wait_for_workers(2, timeout=50)
                return
        except OSError:
            if time.monotonic() > patience:
                raise


def test_a_cluster_gives_the_tables_that_local_processes_give(
    four_studies: Path, scheduler: str, tmp_path: Path
) -> None:
    far = run_portfolio([four_studies], tmp_path / "far", scheduler=scheduler)
    near = run_portfolio([four_studies], tmp_path / "near", workers=2)
    for name in ("portfolio.parquet", "meters.parquet"):
        assert (tmp_path / "far" / name).read_bytes() == (tmp_path / "near" / name).read_bytes()
    assert {**far.summary, "made_at": ""} == {**near.summary, "made_at": ""}
    again = run_portfolio([four_studies], tmp_path / "far", scheduler=scheduler)
    assert again.fresh == 1  # the broken one is tried again


def test_workers_that_do_not_see_the_folder_are_named(
    four_studies: Path, scheduler: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import mv.programme.crews as crews

    monkeypatch.setattr(crews, "write_whole", lambda path, _word: path.write_text("another disk"))
    with pytest.raises(InputError, match="do not see the folder"):
        run_portfolio([four_studies], tmp_path / "out", scheduler=scheduler)


def test_a_scheduler_that_does_not_answer_is_told(
    four_studies: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import mv.programme.crews as crews

    monkeypatch.setattr(crews, "CONNECT_SECONDS", 1)
    with pytest.raises(InputError, match="no Dask scheduler answers"):
        run_portfolio([four_studies], tmp_path / "out", scheduler="tcp://127.0.0.1:9")


def test_without_dask_the_remedy_is_told(
    four_studies: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(InputError, match=r"pip install 'tallylux\[cluster\]'"):
        run_portfolio([four_studies], tmp_path / "out", scheduler="tcp://127.0.0.1:9")
