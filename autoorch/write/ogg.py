"""Ogg files with the same bytes each time: their stream's serial number, otherwise random, is set and the checksums with it.

Source: RFC 3533, section 6 (page header: serial number at byte 14, checksum at byte 22, segment table from byte 26).
"""

from __future__ import annotations

SERIAL = 1
_POLYNOMIAL = 0x04C11DB7


def _table() -> tuple[int, ...]:
    found = []
    for byte in range(256):
        value = byte << 24
        for _ in range(8):
            value = (value << 1) ^ (_POLYNOMIAL if value & 0x80000000 else 0)
        found.append(value & 0xFFFFFFFF)
    return tuple(found)


_CRC = _table()


def checksum(page: bytes) -> int:
    """Of a page whose own checksum field is 0."""
    value = 0
    for byte in page:
        value = ((value << 8) & 0xFFFFFFFF) ^ _CRC[(value >> 24) ^ byte]
    return value


def pages(data: bytes) -> list[bytes]:
    """The pages of an Ogg file.

    Raises:
        ValueError: where it is none.
    """
    found, at = [], 0
    while at < len(data):
        if data[at : at + 4] != b"OggS":
            raise ValueError("no Ogg file")
        count = data[at + 26]
        length = 27 + count + sum(data[at + 27 : at + 27 + count])
        found.append(data[at : at + length])
        at += length
    return found


def same_serial(data: bytes) -> bytes:
    """The file with serial number 1."""
    made = []
    for page in pages(data):
        plain = page[:14] + SERIAL.to_bytes(4, "little") + page[18:22] + bytes(4) + page[26:]
        made.append(plain[:22] + checksum(plain).to_bytes(4, "little") + plain[26:])
    return b"".join(made)
