"""The pages, in the order of the reader's questions."""

from collections.abc import Callable
from typing import Any

from dashboards.choice import Choice
from dashboards.pages import answer, data, energy, method, month, settings
from mv.base.verification import Verification
from mv.figures import Scheme

Page = Callable[[Verification, Choice, Scheme], list[Any]]

PAGES: dict[str, tuple[str, Page]] = {
    "/": ("Answer", answer.page),
    "/month": ("Month", month.page),
    "/energy": ("Energy", energy.page),
    "/settings": ("Settings", settings.page),
    "/data": ("Data", data.page),
    "/method": ("Method", method.page),
}

__all__ = ["PAGES", "Page"]
