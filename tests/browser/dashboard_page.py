"""The dashboard as a person meets it: found by role and name."""

import time
from typing import Any

from playwright.sync_api import ConsoleMessage, Locator, Page, Request, expect

WIDTHS = {"desk": (1280, 900), "hand": (375, 800)}

MOVED = """() => new Promise(told => {
    const seen = [];
    const watch = new PerformanceObserver(list => seen.push(...list.getEntries()));
    watch.observe({type: "layout-shift", buffered: true});
    setTimeout(() => told(seen.reduce((sum, one) => sum + one.value, 0)), 300);
})"""


class Dashboard:
    """One tab on one dashboard; keeps what the browser said and asked for."""

    def __init__(self, page: Page, address: str) -> None:
        self.page, self.address = page, address
        self.said: list[str] = []
        self.asked: list[str] = []
        page.on("console", self._hear)
        page.on("pageerror", lambda error: self.said.append(f"error: {error}"))
        page.on("request", self._note)

    def _hear(self, message: ConsoleMessage) -> None:
        self.said.append(f"{message.type}: {message.text}")

    def _note(self, request: Request) -> None:
        self.asked.append(request.url)

    def open(self, where: str = "/") -> "Dashboard":
        """Go to an address and wait until its page and drawings stand."""
        self.page.goto(self.address + where.lstrip("/"))
        return self.settled()

    def resize(self, width: str) -> "Dashboard":
        """The window of a desk or of a hand; drawings follow it a moment later."""
        across, down = WIDTHS[width]
        self.page.set_viewport_size({"width": across, "height": down})
        if self.page.url.startswith(self.address):
            self.page.wait_for_timeout(400)
        return self

    def darken(self) -> "Dashboard":
        """The dark colour scheme; wait until the figures are drawn in it."""
        self.page.emulate_media(color_scheme="dark")
        self.page.wait_for_timeout(900)
        return self.settled()

    def settled(self) -> "Dashboard":
        """Wait for the heading and for every drawing."""
        expect(self.page.get_by_role("main").get_by_role("heading", level=1)).to_be_attached(timeout=20_000)
        self.until("!document.querySelector('.card.waiting')", seconds=30)
        for drawing in self.drawings().all():
            expect(drawing.locator(".main-svg").first).to_be_attached(timeout=20_000)
        return self

    def go_to(self, name: str) -> "Dashboard":
        """Follow a page's name in the header."""
        self.page.get_by_role("navigation", name="Pages").get_by_role("link", name=name, exact=True).click()
        current = self.page.get_by_role("navigation", name="Pages").locator("[aria-current=page]")
        expect(current).to_have_text(name)
        return self.settled()

    def choose(self, kind: str, name: str) -> "Dashboard":
        """Follow one of a row of choices, such as a meter."""
        row = self.page.get_by_role("navigation", name=kind, exact=True)
        row.get_by_role("link", name=name, exact=True).click()
        expect(row.locator("[aria-current=true]")).to_have_text(name)
        return self.settled()

    def heading(self, level: int = 1) -> Locator:
        """Headings of a level within the content."""
        return self.page.get_by_role("main").get_by_role("heading", level=level)

    def figure(self, title: str) -> Locator:
        """The figure whose heading begins with `title`."""
        return self.page.get_by_role("figure").filter(
            has=self.page.get_by_role("heading", name=title, exact=False)
        )

    def heading_levels(self) -> list[int]:
        """The levels of all headings, in the order in which they are read."""
        names = self.page.locator("h1, h2, h3, h4, h5").evaluate_all("all => all.map(one => one.tagName)")
        return [int(name[1]) for name in names]

    def drawings(self) -> Locator:
        """Every drawing: an image with an accessible name of its own."""
        return self.page.get_by_role("main").locator("[role=img][aria-label]")

    def text(self) -> str:
        """What the content says."""
        return self.page.get_by_role("main").inner_text().replace("\u00a0", " ")

    def until(self, script: str, *, seconds: float = 10.0) -> None:
        """Wait until a script is true; asked from outside, for the page forbids eval."""
        ends = time.monotonic() + seconds
        while not self.page.evaluate(script):
            assert time.monotonic() < ends, f"never became true: {script}"
            self.page.wait_for_timeout(50)

    def overhang(self) -> int:
        """Pixels by which the page is wider than the window."""
        return int(self.page.evaluate("document.documentElement.scrollWidth - window.innerWidth"))

    def moved(self) -> float:
        """How far what was in sight has moved since the page began (Layout Instability API)."""
        return float(self.page.evaluate(MOVED))

    def outside_requests(self) -> list[str]:
        """Addresses asked for that are not the dashboard's own."""
        own = (self.address, "data:", "blob:")
        return [url for url in self.asked if not url.startswith(own)]

    def accessibility_findings(self, axe: str) -> list[dict[str, Any]]:
        """What axe finds wrong with the page as it stands, briefly."""
        self.page.evaluate(axe)
        found = self.page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        return [
            {"rule": entry["id"], "impact": entry["impact"], "where": entry["nodes"][0]["html"][:160]}
            for entry in found["violations"]
        ]
