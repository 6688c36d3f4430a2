"""Files as streams of text bytes: patterns, packing, encodings, and limits against hostile input."""

import gzip
import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from mv.base.errors import ReadingError

HEAD_BYTES = 256 * 1024
MAX_EXPANDED_BYTES = 4 * 1024**3  # of one packed file; common practice, no source
MAX_RATIO = 200  # stamped rows pack 10 to 30 to one; a member beyond this is a bomb; no source
RATIO_FLOOR_BYTES = 8 * 1024**2  # below this an extreme ratio does no harm
MAX_MEMBERS = 1000  # files in one zip
BROKEN_ZIP = (zipfile.BadZipFile, OSError, ValueError, NotImplementedError)  # what a damaged list raises
_CONTROLS = bytes(byte for byte in range(32) if byte not in (9, 10, 12, 13, 26))
_SKIPPED_MEMBERS = re.compile(r"(^|/)(__MACOSX|\.)|/$")


@dataclass(frozen=True)
class Source:
    """One text table: a plain or gz file, or a member of a zip. `name` is for messages."""

    path: Path
    name: str
    member: str | None = None
    encoding: str = "utf-8"
    head: bytes = b""
    packed: bool = False
    data: bytes | None = None  # where the table was made from a workbook

    @property
    def plain_bytes(self) -> int | None:
        """The size of the text; None where it is packed and not known."""
        if self.data is not None:
            return len(self.data)
        return None if self.packed else self.path.stat().st_size

    def stream(self) -> IO[bytes]:
        """A fresh stream of UTF-8 (or the file's single-byte encoding's) bytes, BOM left out."""
        if self.data is not None:
            return io.BytesIO(self.data)
        raw = _open_raw(self.path, self.member)
        if self.encoding.startswith("utf-16"):
            with raw:
                text = raw.read().decode(self.encoding, "replace").lstrip("\ufeff")
            return io.BytesIO(text.encode("utf-8"))
        if self.head.startswith(b"\xef\xbb\xbf"):
            raw.read(3)
        return raw

    def head_text(self) -> str:
        """The beginning of the file as text, BOM left out."""
        return self.head.decode(self.encoding, "replace").lstrip("\ufeff")


class _Bounded(io.RawIOBase):
    """A packed stream that stops with an error beyond the limits."""

    def __init__(self, inner: IO[bytes] | gzip.GzipFile, *, name: str, packed_bytes: int) -> None:
        self._inner, self._name, self._packed, self._count = inner, name, max(packed_bytes, 1), 0

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: object) -> int:
        view = memoryview(buffer)  # type: ignore[arg-type]
        try:
            data = self._inner.read(len(view))
        except (OSError, EOFError, zipfile.BadZipFile, ValueError, RuntimeError) as error:
            raise _damaged(self._name, error) from error
        except Exception as error:  # zlib.error has no public base of its own
            raise _damaged(self._name, error) from error
        self._count += len(data)
        refuse_bomb(self._count, self._packed, self._name)
        view[: len(data)] = data
        return len(data)

    def close(self) -> None:
        self._inner.close()
        super().close()


def refuse_bomb(size: int, packed: int, name: str) -> None:
    """Raise ReadingError where so many bytes from so few are no meter file."""
    if size > MAX_EXPANDED_BYTES or (size > RATIO_FLOOR_BYTES and size > MAX_RATIO * max(packed, 1)):
        raise ReadingError(
            "unpacks to far more than a meter file holds",
            file=name,
            value=f"over {size // 1024**2} MB from {packed} bytes",
            remedy="Unpack it yourself and check what it is.",
        )


def _damaged(name: str, error: Exception) -> ReadingError:
    return ReadingError(
        "is damaged and cannot be unpacked",
        file=name,
        value=str(error) or type(error).__name__,
        remedy="Export or copy the file again.",
    )


def _open_raw(path: Path, member: str | None) -> IO[bytes]:
    size = path.stat().st_size
    if member is not None:
        archive = zipfile.ZipFile(path)
        try:
            info = archive.getinfo(member)
            refuse_bomb(info.file_size, info.compress_size, f"{path.name}/{member}")
            inner = archive.open(info)
        except (RuntimeError, NotImplementedError, KeyError, zipfile.BadZipFile) as error:
            raise _damaged(f"{path.name}/{member}", error) from error
        bounded = _Bounded(inner, name=f"{path.name}/{member}", packed_bytes=info.compress_size)
        return io.BufferedReader(bounded, 1 << 18)
    if is_gzip(path):
        if _stated_size(path) > MAX_RATIO * size:  # damaged or a bomb: told before any row is parsed
            with _unpacking(path, size) as whole:
                while whole.read(1 << 22):
                    pass
        return _unpacking(path, size)
    return path.open("rb")


def _unpacking(path: Path, size: int) -> IO[bytes]:
    return io.BufferedReader(_Bounded(gzip.open(path, "rb"), name=path.name, packed_bytes=size), 1 << 18)


def _stated_size(path: Path) -> int:
    """The unpacked size that a gzip file's last four bytes state (RFC 1952, modulo 2**32)."""
    with path.open("rb") as stream:
        stream.seek(-min(4, path.stat().st_size), io.SEEK_END)
        return int.from_bytes(stream.read(4), "little")


def is_gzip(path: Path) -> bool:
    """True where the content, whatever the name, is gzip."""
    with path.open("rb") as stream:
        return stream.read(2) == b"\x1f\x8b"


def is_workbook(path: Path) -> bool:
    """True where the content, whatever the name, is an Office Open XML workbook."""
    with path.open("rb") as stream:
        if stream.read(4) != b"PK\x03\x04":
            return False
    try:
        with zipfile.ZipFile(path) as archive:
            infos = archive.infolist()
            found = any(info.filename == "xl/workbook.xml" for info in infos)
            size = sum(info.file_size for info in infos)
    except BROKEN_ZIP:
        return False
    if found and (
        size > MAX_EXPANDED_BYTES // 4
        or (size > RATIO_FLOOR_BYTES and size > MAX_RATIO * path.stat().st_size)
    ):
        raise ReadingError(
            "unpacks to far more than a meter workbook holds",
            file=path,
            value=f"{size // 1024**2} MB",
            remedy="Save the sheet with the readings alone, or as CSV.",
        )
    return found


def open_sources(path: Path) -> list[Source]:
    """The text tables in a file: one, or one a member for a zip. Raises ReadingError."""
    try:
        return list(_sources(path))
    except OSError as error:
        raise ReadingError(
            "cannot be opened", file=path, value=error.strerror or str(error), remedy="Check the path."
        ) from error


def _sources(path: Path) -> Iterator[Source]:
    with path.open("rb") as stream:
        magic = stream.read(4)
    if magic == b"PK\x03\x04":
        yield from _members(path)
        return
    yield _headed(path, path.name, None)


def _members(path: Path) -> Iterator[Source]:
    try:
        with zipfile.ZipFile(path) as archive:
            names = [name for name in archive.namelist() if not _SKIPPED_MEMBERS.search(name)]
    except BROKEN_ZIP as error:
        raise _damaged(path.name, error) from error
    if len(names) > MAX_MEMBERS:
        raise ReadingError(
            "holds too many files", file=path, value=len(names), remedy=f"At most {MAX_MEMBERS} are read."
        )
    if not names:
        raise ReadingError("holds no file", file=path, remedy="Export it again.")
    for name in sorted(names):
        yield _headed(path, f"{path.name}/{name}", name)


def _headed(path: Path, name: str, member: str | None) -> Source:
    with _open_raw(path, member) as stream:
        head = stream.read(HEAD_BYTES)
    if not head.strip(b"\0 \t\r\n\xef\xbb\xbf"):
        raise ReadingError("is empty", file=name, remedy="Export the file again, or leave it out of files.")
    packed = member is not None or is_gzip(path)
    return Source(path, name, member, encoding_of(head, name=name), head, packed)


def encoding_of(head: bytes, *, name: str) -> str:
    """utf-8, utf-16 or cp1252 from the first bytes; raises ReadingError where it is no text."""
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    sample = head[:4096]
    zeros_odd, zeros_even = sample[1::2].count(0), sample[0::2].count(0)
    if zeros_odd > 0.4 * len(sample[1::2]) and zeros_even < 0.05 * len(sample):
        return "utf-16-le"
    if zeros_even > 0.4 * len(sample[0::2]) and zeros_odd < 0.05 * len(sample):
        return "utf-16-be"
    if head.startswith(b"\xd0\xcf\x11\xe0"):
        raise ReadingError(
            "is a workbook of the old binary kind", file=name, remedy="Save it as .xlsx or as CSV."
        )
    odd = len(sample) - len(sample.translate(None, _CONTROLS))
    if odd > 0.02 * len(sample):  # common practice, no source
        raise ReadingError(
            "is not a text table, workbook, ESPI or NEM12 file",
            file=name,
            value=head[:16],
            remedy="Export the readings as CSV or as a workbook.",
        )
    try:
        head[: max(len(head) - 4, 0) or len(head)].decode("utf-8")
    except UnicodeDecodeError as error:
        if error.start < len(head) - 8:
            return "cp1252"
    return "utf-8"


def files_of(patterns: tuple[str, ...], folder: Path, *, key: str) -> list[Path]:
    """The files that the patterns name, in order, each once. Raises ReadingError where one names none.

    A pattern is relative to the study's folder; `..`, absolute paths and links are followed, since a
    study may stand beside its data (`outside.py` says how such files are treated). A file of another
    kind (a folder, a device, a window into the system) is refused.
    """
    found: dict[Path, None] = {}
    for pattern in patterns:
        matches = _matches(pattern, folder)
        if not matches:
            raise ReadingError(
                f"no file matches {pattern!r}",
                file=folder,
                place=key,
                remedy="Paths are relative to study.toml; check the spelling and the folder.",
            )
        found.update(dict.fromkeys(match for match in matches if not _of_the_system(match, key)))
    return list(found)


def _of_the_system(path: Path, key: str) -> bool:
    """False; raises ReadingError where the path leads into a folder that is no store of files."""
    if path.resolve().parts[1:2] not in (("proc",), ("sys",), ("dev",)):
        return False
    raise ReadingError(
        "is a window into the system, not a data file",
        file=path,
        place=key,
        remedy="Name the files that hold the readings.",
    )


def _matches(pattern: str, folder: Path) -> list[Path]:
    if "\0" in pattern:
        return []
    path = Path(pattern)
    base = Path(path.anchor) if path.is_absolute() else folder
    relative = path.relative_to(path.anchor) if path.is_absolute() else path
    parts = list(relative.parts)
    while parts and parts[0] == "..":
        base, parts = base / "..", parts[1:]
    if not parts:
        return []
    joined = "/".join(parts)
    exact = base / joined
    if exact.is_file():
        return [exact]
    if not any(mark in joined for mark in "*?["):
        return []
    try:
        return sorted(file for file in base.glob(joined) if file.is_file())
    except (ValueError, OSError, NotImplementedError):
        return []
