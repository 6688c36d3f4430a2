"""A document as a tagged PDF, set by typst with its own fonts: no system library, font or browser."""

import json
import re
from dataclasses import asdict, replace
from typing import Any

from mv.base.document import Block, Document, Notice, Pair, Section
from mv.paper.typst_sheet import SHEET

BREAK = "\u200b"  # a place where a line may break, without a sign
_LONG_WORD = re.compile(r"\S{37,}")
_HASH = re.compile(r"[0-9a-f]{64}")  # set small, so that it stays whole and can be copied
BREAK_EVERY = 16


def as_pdf(document: Document) -> bytes:
    """The PDF's bytes: the same for the same document."""
    import typst

    return bytes(
        typst.compile(
            SHEET.encode("utf-8"),
            sys_inputs={"document": json.dumps(_data(document), ensure_ascii=False)},
            ignore_system_fonts=True,
            format="pdf",
            timestamp=0,
        )
    )


def _data(document: Document) -> dict[str, Any]:
    return {
        "title": document.title,
        "subtitle": document.subtitle,
        "foot": document.foot,
        "opening": [_block(block) for block in document.opening],
        "sections": [_section(section) for section in document.sections],
    }


def _section(section: Section) -> dict[str, Any]:
    return {
        "title": section.title,
        "letter": section.letter,
        "blocks": [_block(block) for block in section.blocks],
    }


def _block(block: Block) -> dict[str, Any]:
    if isinstance(block, Pair):
        return {"kind": "Pair", "left": _block(block.left), "right": _block(block.right)}
    if isinstance(block, Notice):
        drawings = [_block(drawing) for drawing in block.drawings[: int(block.drawn_on_paper)]]
        return {"kind": "Notice", **_breakable(asdict(replace(block, drawings=()))), "drawings": drawings}
    data = asdict(block)
    drawn = data.pop("svg", None)
    data.pop("narrow_svg", None)
    data = _breakable(data)
    return {"kind": type(block).__name__, **data} | ({} if drawn is None else {"svg": drawn})


def _breakable(value: Any) -> Any:
    """Long words, such as paths, may break so that they stay within their column; hashes stay whole."""
    if isinstance(value, str):
        if _HASH.fullmatch(value):
            return value
        return _LONG_WORD.sub(_broken, value)
    if isinstance(value, dict):
        return {key: _breakable(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_breakable(entry) for entry in value]
    return value


def _broken(word: re.Match[str]) -> str:
    text = word.group()
    return BREAK.join(text[start : start + BREAK_EVERY] for start in range(0, len(text), BREAK_EVERY))
