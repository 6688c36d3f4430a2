"""How fast the dashboard answers: a year of 1-minute readings, ten meters, one after another.

Run by hand: python tests/benchmarks/bench_dashboard.py. Prints, for each page, figure and zoom window, the
time to lay it out and the size of what is sent; with Chromium there, the time to the first answer too.
"""

import gzip
import importlib.util
import json
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import plotly

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from dashboards import create_app  # noqa: E402
from dashboards.choice import Choice  # noqa: E402
from dashboards.drawn import DRAWINGS, draw  # noqa: E402
from dashboards.pages import PAGES  # noqa: E402
from mv.base.series import MeterSeries  # noqa: E402
from mv.base.verification import Verification  # noqa: E402

METERS = 10
ROUNDS = 5
CHROMIUM = Path("/usr/bin/chromium")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]


def main() -> None:
    """Print the table."""
    record = one_minute_record()
    print(f"{METERS} meters, {sum(len(m.energy_kwh) for m in record.meters.values()):,} readings")
    print(f"{'what':<38}{'median ms':>10}{'kB':>9}{'kB gzip':>9}")
    for address, (name, page) in PAGES.items():
        choices = [Choice()] if address != "/energy" else [Choice(), Choice(meter="M1")]
        for choice in choices:
            label = f"page {name}{' of one meter' if choice.meter else ''}"
            show(label, lambda page=page, choice=choice: page(record, choice, "light"))
    chosen = Choice(
        meter="M1", zone="hall", setting="high_trim", bridge="predicted_to_verified", month="2024-10"
    )
    for name in DRAWINGS:
        show(f"figure {name}", lambda name=name: draw(name, record, chosen, "light").figure)
    for days in (365, 31, 7, 1):
        start = pd.Timestamp("2024-04-01")
        end = start + pd.Timedelta(days=days)
        choice = Choice(meter="M1", start=f"{start:%Y-%m-%dT%H:%M}", end=f"{end:%Y-%m-%dT%H:%M}")
        label = f"readings cut anew to {days} days"
        show(label, lambda choice=choice: draw("readings", record, choice, "light").figure)
    first_answer(record)


def one_minute_record() -> Verification:
    """The invented verification with ten meters read every minute for two years."""
    path = ROOT / "tests" / "figures" / "invented_verification.py"
    spec = importlib.util.spec_from_file_location("invented_verification", path)
    assert spec is not None and spec.loader is not None
    invented = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(invented)
    small = invented.invented_verification()
    meters = {f"M{n}": _every_minute(f"M{n}", small.meters["LP-1"], seed=n) for n in range(1, METERS + 1)}
    daily = pd.concat([small.daily[small.daily["meter"] == "LP-1"].assign(meter=name) for name in meters])
    return replace(small, meters=meters, daily=daily.reset_index(drop=True))


def _every_minute(name: str, coarse: MeterSeries, *, seed: int) -> MeterSeries:
    index = pd.date_range(coarse.energy_kwh.index[0], periods=len(coarse.energy_kwh) * 15, freq="min")
    noise = np.random.default_rng(seed).normal(0, 0.001, len(index))
    energy = pd.Series(np.repeat(coarse.energy_kwh.to_numpy() / 15, 15) + noise, index=index)
    estimated = pd.Series(np.repeat(coarse.estimated.to_numpy(), 15), index=index)
    return MeterSeries(name, 1.0, energy, estimated, coarse.ledger)


def show(label: str, work: Callable[[], Any]) -> None:
    """One row: the median time of several rounds and the size of the answer."""
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        text = json.dumps(work(), cls=plotly.utils.PlotlyJSONEncoder)
        times.append((time.perf_counter() - began) * 1000)
    packed = len(gzip.compress(text.encode(), 3))
    print(f"{label:<38}{statistics.median(times):>10.0f}{len(text) / 1000:>9.0f}{packed / 1000:>9.0f}")


def first_answer(record: Verification) -> None:
    """From asking for the address to the first answer, and to the drawing, in a real browser."""
    if not CHROMIUM.exists():
        print("no Chromium: first answer not timed")
        return
    import waitress
    from playwright.sync_api import sync_playwright

    app = create_app(Path(tempfile.mkdtemp()), opener=lambda _path, _results: record)
    server = waitress.create_server(app.server.wsgi_app, host="127.0.0.1", port=0)
    threading.Thread(target=server.run, daemon=True).start()
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        for label in ("first visit", "second visit"):
            page = browser.contexts[0].new_page() if browser.contexts else browser.new_context().new_page()
            began = time.perf_counter()
            page.goto(f"http://127.0.0.1:{server.effective_port}/")
            page.get_by_text("Less than promised").wait_for()
            words = time.perf_counter() - began
            page.locator(".main-svg").first.wait_for(state="attached")
            drawn = time.perf_counter() - began
            print(f"{label}: words after {words * 1000:.0f} ms, drawing after {drawn * 1000:.0f} ms")
        browser.close()
    server.close()


if __name__ == "__main__":
    main()
