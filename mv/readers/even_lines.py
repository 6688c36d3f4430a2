"""Plain files of two columns, a stamp of even length and a number, read by position.

The usual export of a meter, and the longest: worth a way of its own. Whatever does not fit it
(quotes, other columns, words, odd stamps) is left to the general reader.
"""

import numpy as np
from numpy.typing import NDArray

from mv.readers.source import Source

MOST_BYTES = 64 * 1024**2
_LONGEST_STAMP = 32
_LONGEST_NUMBER = 16
_POWERS = 10.0 ** np.arange(_LONGEST_NUMBER + 1)
_LF, _CR, _MINUS, _ZERO = 10, 13, 45, 48


def read_even_lines(
    source: Source, *, first_line: int, stamp_length: int, delimiter: str, decimal: str
) -> tuple[NDArray[np.uint8], NDArray[np.float64]] | None:
    """Stamps as a matrix of one row a character and one column a line, and the numbers beside them.

    None where a line does not fit. An empty number is NaN. Digits up to 15 are read exactly: the
    quotient of two exactly held numbers is the nearest float to the written one.
    """
    size = source.plain_bytes
    if (
        size is None
        or size > MOST_BYTES
        or stamp_length > _LONGEST_STAMP
        or source.encoding.startswith("utf-16")
    ):
        return None
    with source.stream() as stream:
        raw = stream.read()
    padded = np.frombuffer(raw + b"\n" * (_LONGEST_STAMP + 8), np.uint8)
    ends = np.flatnonzero(padded[: len(raw) + 1] == _LF)
    if len(ends) < first_line or (b"\r" in raw[:4096] and b"\r\n" not in raw[:4096]):
        return None
    starts = ends[:-1] + 1 if first_line > 1 else np.concatenate([[0], ends[:-1] + 1])
    starts, ends = starts[max(first_line - 2, 0) :], ends[first_line - 1 :]
    if len(ends) and ends[-1] == starts[-1]:
        starts, ends = starts[:-1], ends[:-1]  # the file ends with a line end
    if len(starts) == 0:
        return None
    if padded[ends[0] - 1] == _CR:
        ends = ends - 1
        if not (padded[ends] == _CR).all():
            return None
    begins = starts + stamp_length + 1
    lengths = ends - begins
    if lengths.min() < 0 or lengths.max() > _LONGEST_NUMBER - 1:
        return None
    if not (padded[begins - 1] == ord(delimiter)).all():
        return None
    values = _numbers(_characters(padded, begins, int(lengths.max())), lengths, decimal)
    if values is None:
        return None
    return _characters(padded, starts, stamp_length), values


def _characters(padded: NDArray[np.uint8], starts: NDArray[np.intp], count: int) -> NDArray[np.uint8]:
    """`count` bytes from each start, one row a byte: gathered eight at a time."""
    out = np.empty((count, len(starts)), np.uint8)
    words = np.ndarray((len(padded) - 7,), np.dtype("<u8"), padded, strides=(1,))
    for at in range(0, count, 8):
        block = words[starts + at].view(np.uint8).reshape(-1, 8)
        out[at : at + 8] = block[:, : count - at].T
    return out


def _numbers(marks: NDArray[np.uint8], lengths: NDArray[np.intp], decimal: str) -> NDArray[np.float64] | None:
    """Decimal numbers, left aligned, of the given lengths; None where one is not plain."""
    count = marks.shape[1]
    whole = np.zeros(count, np.int64)
    decimals = np.zeros(count, np.int8)
    seen = np.zeros(count, bool)
    digits = np.zeros(count, np.int8)
    shortest = int(lengths.min())
    negative = marks[0] == _MINUS if len(marks) else np.zeros(count, bool)
    for place in range(len(marks)):
        digit = marks[place] - np.uint8(_ZERO)
        is_digit = digit < 10
        is_mark = marks[place] == ord(decimal)
        if place >= shortest:
            inside = lengths > place
            is_digit &= inside
            is_mark &= inside
            odd = inside & ~is_digit & ~is_mark
        else:
            odd = ~(is_digit | is_mark)
        if place == 0:
            odd &= ~negative
        if odd.any() or (is_mark & seen).any():
            return None
        np.multiply(whole, 10, out=whole, where=is_digit)
        np.add(whole, digit, out=whole, where=is_digit)
        decimals += is_digit & seen
        digits += is_digit
        seen |= is_mark
    if int(digits.max(initial=0)) > 15:
        return None
    values = whole / _POWERS[decimals]
    if negative.any():
        values[negative] *= -1.0
    missing = digits == 0
    if missing.any():
        if bool((lengths[missing] > 0).any()):
            return None
        values[missing] = np.nan
    return values
