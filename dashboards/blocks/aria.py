"""The attributes that a screen reader hears, and those that a stylesheet reads, as keywords."""

from typing import Any


def aria(**words: str) -> dict[str, Any]:
    """`aria(label="x")` as the attribute aria-label."""
    return {f"aria-{name}": word for name, word in words.items()}


def data(**words: str) -> dict[str, Any]:
    """`data(head="x")` as the attribute data-head."""
    return {f"data-{name}": word for name, word in words.items()}
