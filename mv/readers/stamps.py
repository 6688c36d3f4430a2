"""A column of written stamps into numbers: days, seconds of the day and offsets, by position."""

import numpy as np
from numpy.typing import NDArray

from mv.readers.stamp_fill import fill_stamps
from mv.readers.stamp_record import Stamps
from mv.readers.stamp_shapes import shape_of

MAX_SHAPES = 64  # more shapes than this in one column is not a time column; common practice, no source


def read_stamps(cells: NDArray[np.bytes_]) -> Stamps:
    """Read a column of stamps, shape by shape; what has no known shape is not readable."""
    count = len(cells)
    if count == 0 or cells.dtype.itemsize == 0:
        return Stamps(np.zeros(count, bool), np.zeros(count, np.int32), np.zeros(count, np.int32))
    return read_stamp_matrix(
        np.ascontiguousarray(np.ascontiguousarray(cells).view(np.uint8).reshape(count, -1).T)
    )


def read_stamp_matrix(matrix: NDArray[np.uint8]) -> Stamps:
    """As `read_stamps`, of characters laid out one row a character and one column a stamp."""
    count = matrix.shape[1]
    out = Stamps(np.zeros(count, bool), np.zeros(count, np.int32), np.zeros(count, np.int32))
    out.has_date = out.has_clock = False
    remaining: NDArray[np.intp] | None = None  # None: all rows
    for _ in range(MAX_SHAPES):
        if remaining is not None and len(remaining) == 0:
            break
        block = matrix if remaining is None else matrix[:, remaining]
        taken = _read_one_shape(block, remaining, out)
        rows = np.flatnonzero(~taken)
        remaining = rows if remaining is None else remaining[rows]
    return out


def _read_one_shape(
    block: NDArray[np.uint8], rows: NDArray[np.intp] | None, out: Stamps
) -> NDArray[np.bool_]:
    """Read the cells of `block` (one column a cell, one row a character) that share the first one's
    shape; returns which those are."""
    first = block[:, 0].tobytes().rstrip(b"\0")
    text = _shape_bytes(first)
    shape = shape_of(text.strip())
    lead = len(text) - len(text.lstrip())
    taken = _same_shape(block, text)
    if shape is None:
        return taken
    chosen: NDArray[np.intp] | slice
    if rows is None and taken.all():
        chosen, part = slice(None), block
    else:
        local = np.flatnonzero(taken)
        part = block[:, local]
        chosen = local if rows is None else rows[local]
    fill_stamps(part, shape, lead, chosen, out)
    out.shapes.append(text.strip())
    return taken


_LUT = np.arange(256, dtype=np.uint8)


_LUT[48:58] = ord("0")


for _code in (*range(65, 91), *range(97, 123), *range(128, 256)):
    _LUT[_code] = ord("a")


_LUT[ord("T")], _LUT[ord("Z")], _LUT[9] = ord("T"), ord("Z"), ord(" ")


def _shape_bytes(cell: bytes) -> str:
    return _LUT[np.frombuffer(cell, dtype=np.uint8)].tobytes().decode("ascii")


def _same_shape(block: NDArray[np.uint8], text: str) -> NDArray[np.bool_]:
    same = np.ones(block.shape[1], dtype=bool)
    for column in range(min(len(text) + 1, block.shape[0])):
        cells = block[column]
        mark = text[column] if column < len(text) else "\0"
        if mark == "0":
            same &= (cells - np.uint8(48)) < 10
        elif mark in "aTZ ":
            same &= _LUT[cells] == ord(mark)
        else:
            same &= cells == ord(mark)
    return same
