"""The text of the files: stamps, separators, decimal marks; the same bytes every time."""

import zlib
from collections.abc import Sequence
from typing import Literal

import numpy as np
import pandas as pd

from mv.simulate.arrays import Floats
from mv.simulate.meter import MeterDesign, Readings, TimeStyle

_GZIP_HEAD = b"\x1f\x8b\x08\x00\x00\x00\x00\x00\x02\xff"  # no name, no time, system unknown


def meter_text(readings: Readings, meter: MeterDesign, timezone: str) -> str:
    """One meter file: preamble, header, a row a reading."""
    ends = meter.stamp == "end" and meter.quantity in ("energy", "power")
    shift = pd.Timedelta(minutes=meter.interval_minutes if ends else 0)
    times = stamp_texts(readings.stamps + shift, meter.time_style, timezone)
    values = number_texts(readings.values, decimals_of(meter.resolution), meter.decimal)
    header = meter.separator.join((meter.time_column, meter.value_column))
    rows = [f"{t}{meter.separator}{v}" for t, v in zip(times, values, strict=True)]
    return "\n".join((*meter.preamble, header, *rows, ""))


def stamp_texts(
    stamps: pd.DatetimeIndex, style: TimeStyle, timezone: str, *, unit: Literal["m", "s"] = "m"
) -> list[str]:
    """Stamps as a file shows them; `unit` "m" or "s" is the finest part written."""
    if style == "utc":
        plain = np.datetime_as_string(stamps.tz_localize(None).to_numpy(), unit=unit)
        return [f"{text}Z" for text in plain]
    local = stamps.tz_convert(timezone)
    wall = np.datetime_as_string(local.tz_localize(None).to_numpy(), unit=unit)
    if style == "iso offset":
        seconds = (local.tz_localize(None) - stamps.tz_localize(None)) // pd.Timedelta(seconds=1)
        return [f"{text}{_offset(int(s))}" for text, s in zip(wall, seconds, strict=True)]
    if style == "iso local":
        return [f"{text[:10]} {text[11:]}" for text in wall]
    if style == "day first":
        return [f"{t[8:10]}.{t[5:7]}.{t[:4]} {t[11:]}" for t in wall]
    return [f"{t[5:7]}/{t[8:10]}/{t[:4]} {t[11:]}" for t in wall]


def _offset(seconds: int) -> str:
    minutes = abs(seconds) // 60
    return f"{'-' if seconds < 0 else '+'}{minutes // 60:02d}:{minutes % 60:02d}"


def decimals_of(resolution: float) -> int:
    """Decimals that show a resolution in full: 0.01 -> 2, 0.5 -> 1, 1 -> 0."""
    return max(0, next(n for n in range(9) if abs(resolution * 10**n - round(resolution * 10**n)) < 1e-9))


def number_texts(values: Floats, decimals: int, mark: str = ".") -> list[str]:
    """Numbers with a fixed number of decimals; "n/a" for none."""
    texts = [f"{v:.{decimals}f}" if v == v else "n/a" for v in values.tolist()]
    return texts if mark == "." else [text.replace(".", mark) for text in texts]


def table_text(header: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    """A small comma-separated table."""
    lines = [",".join(header), *(",".join(str(cell) for cell in row) for row in rows)]
    return "\n".join(lines) + "\n"


def gzipped(text: str) -> bytes:
    """A gzip file of the text without name or time, so that the same text gives the same bytes."""
    data = text.encode("utf-8")
    packer = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS)
    body = packer.compress(data) + packer.flush()
    tail = zlib.crc32(data).to_bytes(4, "little") + (len(data) & 0xFFFFFFFF).to_bytes(4, "little")
    return _GZIP_HEAD + body + tail
