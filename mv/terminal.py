"""What the terminal can show: its size, and signs near to those that its code page lacks."""

import codecs
import shutil
import sys
import unicodedata

NEAR = {
    "–": "-", "—": "-", "−": "-", "…": "...", "±": "+/-", "≥": ">=", "≤": "<=", "≈": "~", "×": "x",
    "·": "-", "°": " deg", "²": "2", "Δ": "d", "\u00a0": " ", "\u202f": " ", "\u200b": "",
}  # fmt: skip


WIDTH, HEIGHT = 78, 39  # characters and lines of a screen of 80 by 40 with its prompt
LEAST_WIDTH = 48  # narrower screens break the lines themselves


def screen() -> tuple[int, int]:
    """Width and height to write for: the terminal's where it is narrower or taller than ours."""
    if not sys.stdout.isatty():
        return WIDTH, HEIGHT
    size = shutil.get_terminal_size((WIDTH + 2, HEIGHT + 1))
    return max(LEAST_WIDTH, min(size.columns - 1, WIDTH)), max(size.lines - 1, HEIGHT)


def forgive_code_pages(*, as_json: bool) -> None:
    """Let the standard streams replace what they cannot encode; JSON gets its own escapes, losing nothing."""
    codecs.register_error("tallylux-near", _near)
    codecs.register_error("tallylux-json", _escaped)
    _forgive(sys.stdout, "tallylux-json" if as_json else "tallylux-near")
    _forgive(sys.stderr, "tallylux-near")


def _forgive(stream: object, handler: str) -> None:
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors=handler)


def _near(error: UnicodeError) -> tuple[str, int]:
    """A sign of ASCII that says the same, a letter without its accent, else a question mark."""
    assert isinstance(error, UnicodeEncodeError)
    return "".join(_near_one(sign) for sign in error.object[error.start : error.end]), error.end


def _near_one(sign: str) -> str:
    if sign in NEAR:
        return NEAR[sign]
    base = unicodedata.normalize("NFKD", sign)[0]
    return base if base.isascii() and base.isprintable() else "?"


def _escaped(error: UnicodeError) -> tuple[str, int]:
    """JSON's escapes; outside strings JSON holds ASCII alone."""
    assert isinstance(error, UnicodeEncodeError)
    units = error.object[error.start : error.end].encode("utf-16-be", "surrogatepass")
    pairs = (units[place : place + 2] for place in range(0, len(units), 2))
    return "".join(f"\\u{int.from_bytes(pair):04x}" for pair in pairs), error.end
