"""Code pages that lack a sign: a near one on the terminal, JSON's own escapes, never a traceback."""

import io
import json
import sys

import pytest

from mv.terminal import forgive_code_pages

WORDS = "Café Łódź – ±5 %\u00a0… ≥ 3 m² −1 日 😀 \udce9"
CODE_PAGES = ("ascii", "cp1252", "cp437", "utf-8")


def printed(monkeypatch: pytest.MonkeyPatch, encoding: str, words: str, *, as_json: bool) -> str:
    """What reaches a standard output of that code page."""
    raw = io.BytesIO()
    with monkeypatch.context() as patch:
        patch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding=encoding, newline=""))
        forgive_code_pages(as_json=as_json)
        print(words, flush=True)
        return raw.getvalue().decode(encoding)


@pytest.mark.parametrize("encoding", CODE_PAGES)
def test_words_are_printed_with_the_nearest_signs(monkeypatch: pytest.MonkeyPatch, encoding: str) -> None:
    shown = printed(monkeypatch, encoding, WORDS, as_json=False)
    assert shown.startswith("Caf") and "?" in shown
    if encoding == "ascii":
        assert shown == "Cafe ?odz - +/-5 % ... >= 3 m2 -1 ? ? ?\n"


@pytest.mark.parametrize("encoding", CODE_PAGES)
def test_json_loses_nothing(monkeypatch: pytest.MonkeyPatch, encoding: str) -> None:
    whole = {WORDS[:-2]: [WORDS[:-2], 1.5]}
    shown = printed(monkeypatch, encoding, json.dumps(whole, ensure_ascii=False), as_json=True)
    assert json.loads(shown) == whole
