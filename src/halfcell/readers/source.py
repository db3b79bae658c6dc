"""The bytes of a raw file: hashed, its encoding found, ready to be read in pieces."""

from __future__ import annotations

import codecs
import hashlib
import io
import re
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from halfcell.errors import ReadError

_KINDS = (
    (b"PK\x03\x04", "a spreadsheet or an archive; save the sheet as CSV"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet of an older kind; save the sheet as CSV"),
    (b"%PDF", "a PDF document; export the numbers as text"),
    (b"\x89PNG", "a picture; give the run the technique micrograph"),
    (b"\xff\xd8\xff", "a picture; give the run the technique micrograph"),
    (b"II*\x00", "a picture; give the run the technique micrograph"),
    (b"MM\x00*", "a picture; give the run the technique micrograph"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A text file whose table can be read as bytes in which digits are ASCII."""

    name: str
    path: Path
    encoding: str
    begin: int
    """Bytes of a byte-order mark."""
    size: int
    """Bytes after the mark, as ``open`` gives them."""
    text: bytes | None = None
    """The whole content, where it had to be turned into UTF-8 with plain line ends."""

    def open(self, offset: int = 0) -> BinaryIO:
        """A binary handle at ``offset`` bytes after the mark."""
        if self.text is not None:
            handle: BinaryIO = io.BytesIO(self.text)
            handle.seek(offset)
            return handle
        handle = self.path.open("rb")
        handle.seek(self.begin + offset)
        return handle

    def part(self, offset: int, count: int) -> bytes:
        """At most ``count`` bytes from ``offset``."""
        with self.open(offset) as handle:
            return handle.read(count)

    def decode(self, data: bytes) -> str:
        """Bytes as text; what cannot be decoded becomes a replacement character."""
        return data.decode("utf-8" if self.text is not None else self.encoding, "replace")


def sha256(path: Path, name: str) -> str:
    """The hash of a file's bytes. Raises ReadError where it cannot be read."""
    try:
        with path.open("rb") as handle:
            return hashlib.file_digest(handle, "sha256").hexdigest()
    except OSError as error:
        raise ReadError(f"{name}: the file cannot be opened ({error.strerror or error}).") from None


def open_source(path: Path, *, name: str, encoding: str = "") -> Source:
    """A text file with its encoding found. Raises ReadError for anything that is not text."""
    try:
        with path.open("rb") as handle:
            head = handle.read(1 << 16)
        size = path.stat().st_size
    except OSError as error:
        raise ReadError(f"{name}: the file cannot be opened ({error.strerror or error}).") from None
    if not head.strip():
        raise ReadError(f"{name}: the file is empty.")
    for magic, what in _KINDS:
        if head.startswith(magic):
            raise ReadError(f"{name}: this is {what}, not a text export.")
    begin, found = _encoding(head)
    if encoding:
        found = _checked(encoding, name)
        begin = 3 if head.startswith(codecs.BOM_UTF8) else 0
    wide = found.replace("-", "").replace("_", "").lower().startswith(("utf16", "utf32"))
    if not wide and head[begin:].count(0) > 0:
        raise ReadError(
            f"{name}: this is not a text export (it holds bytes that are no letters). Export the record as text "
            "again, or copy it again if it was text."
        )
    if wide or _odd(head):
        text = _plain(path, name, found, 0 if encoding and wide else begin)
        return Source(name=name, path=path, encoding=found, begin=0, size=len(text), text=text)
    return Source(name=name, path=path, encoding=found, begin=begin, size=size - begin)


def _encoding(head: bytes) -> tuple[int, str]:
    if head.startswith(codecs.BOM_UTF8):
        return 3, "utf-8"
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return 2, "utf-16-le" if head.startswith(codecs.BOM_UTF16_LE) else "utf-16-be"
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if max(even, odd) > 0.8 * (len(head) // 2) and min(even, odd) < 0.1 * (len(head) // 2):
        return 0, "utf-16-le" if odd > even else "utf-16-be"
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        return 0, "cp1252"
    return 0, "utf-8"


def _checked(encoding: str, name: str) -> str:
    try:
        codecs.lookup(encoding)
        b"1".decode(encoding, "replace")
    except (LookupError, UnicodeError, TypeError):
        raise ReadError(
            f'{name}: {encoding!r} is not an encoding; write for example encoding = "latin-1".'
        ) from None
    return encoding


_DASHES = re.compile(rb"(?:\xe2\x88\x92|\xe2\x80\x93|\x96)[\d.,]")


def _odd(head: bytes) -> bool:
    """Line ends of one carriage return, or minus signs that are not ASCII."""
    lone = head.count(b"\r") > 2 and b"\n" not in head
    return lone or bool(_DASHES.search(head))


def _plain(path: Path, name: str, encoding: str, begin: int) -> bytes:
    try:
        data = path.read_bytes()[begin:]
    except OSError as error:
        raise ReadError(f"{name}: the file cannot be opened ({error.strerror or error}).") from None
    text = data.decode(encoding, "replace").replace("\ufeff", "").replace("\u2212", "-").replace("\x00", "")
    text = re.sub(r"\u2013(?=[\d.,])", "-", text)
    return text.replace("\r\n", "\n").replace("\r", "\n").encode()
