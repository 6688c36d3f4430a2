"""Long work in a process of its own: it reports, it fails in words, it ends at once when asked."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from dashboards.background import STOPPED, BackgroundRun, Progress
from dashboards.running import marked, progress_words
from mv.base.errors import StudyError
from mv.worker import CHECK, command

SAY = "import json,sys,time; say = lambda **line: print(json.dumps(line), flush=True); "


def script(body: str) -> Any:
    """A command whose process says what `body` tells it to."""
    return lambda: [sys.executable, "-c", SAY + body]


def until(run: BackgroundRun, what: Any, *, seconds: float = 10.0) -> Progress:
    ends = time.monotonic() + seconds
    while not what(run.progress) and time.monotonic() < ends:
        time.sleep(0.01)
    assert what(run.progress), run.progress
    return run.progress


def ended(progress: Progress) -> bool:
    return not progress.running


def is_alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return Path(f"/proc/{process}/stat").read_text(encoding="utf-8").split()[2] != "Z"


def test_a_run_reports_and_ends_with_its_answer() -> None:
    run = BackgroundRun(script("say(what='Reading', fraction=0.5); sys.stdin.read(1); say(answer='42')"))
    assert run.begin()
    assert not run.begin()
    seen = until(run, lambda now: now.fraction == 0.5)
    assert progress_words(seen) == "Reading (50 %)"
    assert run._process is not None and run._process.stdin is not None
    run._process.stdin.write("x")
    run._process.stdin.flush()
    done = until(run, ended)
    assert (done.finished, done.answer) == (True, "42")
    assert run.begin()
    run.stop()
    until(run, ended)


def test_a_run_that_is_refused_says_why() -> None:
    run = BackgroundRun(script("print('words of a library'); say(refused='the study is wrong. Mend it')"))
    run.begin()
    assert progress_words(until(run, ended)) == "Stopped: the study is wrong. Mend it"


def test_a_run_that_cannot_begin_says_why() -> None:
    def command() -> list[str]:
        raise StudyError("there is no study", remedy="Draft one")

    run = BackgroundRun(command)
    assert not run.begin()
    assert run.progress.failure == "there is no study. Draft one"


def test_a_defect_in_a_run_is_told(capfd: pytest.CaptureFixture[str]) -> None:
    run = BackgroundRun(script("1 / 0"))
    run.begin()
    assert "defect" in until(run, ended).failure
    assert "ZeroDivisionError" in capfd.readouterr().err


@pytest.mark.parametrize("stubborn", ["", "import signal; signal.signal(signal.SIGTERM, signal.SIG_IGN); "])
def test_a_run_in_the_middle_of_a_long_step_ends_when_asked(
    stubborn: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dashboards.background.PATIENCE_SECONDS", 0.2)
    run = BackgroundRun(script(stubborn + "say(what='Modelling', fraction=0.4); time.sleep(600)"))
    run.begin()
    until(run, lambda now: now.fraction == 0.4)
    assert run._process is not None
    process = run._process.pid
    run.stop()
    assert until(run, ended, seconds=5).failure == STOPPED
    assert not is_alive(process)


def test_a_worker_ends_with_whoever_started_it(tmp_path: Path) -> None:
    (tmp_path / "starter.py").write_text(
        "import os, subprocess, sys, time\n"
        "body = 'import threading, time; from mv import worker;'\n"
        "body += 'import signal; signal.signal(signal.SIGTERM, worker._ended);'\n"
        "body += 'threading.Thread(target=worker._end_with_parent, daemon=True).start(); time.sleep(600)'\n"
        "one = subprocess.Popen([sys.executable, '-c', body], stdin=subprocess.PIPE)\n"
        "print(one.pid, flush=True)\n"
        "time.sleep(600)\n",
        encoding="utf-8",
    )
    with subprocess.Popen([sys.executable, str(tmp_path / "starter.py")], stdout=subprocess.PIPE) as starter:
        assert starter.stdout is not None
        worker = int(starter.stdout.readline())
        time.sleep(1.0)
        assert is_alive(worker)
        starter.send_signal(signal.SIGKILL)
    ends = time.monotonic() + 10
    while is_alive(worker) and time.monotonic() < ends:
        time.sleep(0.02)
    assert not is_alive(worker)


def test_the_worker_refuses_a_wrong_study_in_words(tmp_path: Path) -> None:
    run = BackgroundRun(lambda: command(CHECK, tmp_path))
    run.begin()
    assert "study.toml" in until(run, ended, seconds=60).failure


def test_the_page_is_asked_for_again_with_its_choice_kept() -> None:
    assert marked("", 3) == "?done=3"
    assert marked("?meter=LP-1&done=3", 9) == "?meter=LP-1&done=9"
    assert marked("?done=3", 4) == "?done=4"
