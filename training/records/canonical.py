"""Canonical bytes and hashes: the same fact gives the same digest on every machine (RFC 8785, SHA-256)."""

from __future__ import annotations

import hashlib
import unicodedata
from datetime import UTC, datetime
from typing import Any

import rfc8785

START = "0" * 64


def instant_text(at: datetime) -> str:
    """An instant as UTC text with microseconds, always 27 characters. ValueError for one without its offset."""
    if at.utcoffset() is None:
        raise ValueError(f"{at!r} is no instant: give a date and time with its offset from UTC")
    return at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def canonical_text(plain: Any) -> str:
    """JSON by RFC 8785 with every string in Unicode NFC. Floats are refused with TypeError."""
    return rfc8785.dumps(_composed(plain)).decode()


def body_digest(text: str, salt: str) -> str:
    """Digest of a body: SHA-256 over salt and canonical text, as hex."""
    return hashlib.sha256(bytes.fromhex(salt) + text.encode()).hexdigest()


def envelope_hash(previous: str, envelope: dict[str, Any]) -> str:
    """The next link: SHA-256(previous hash, SHA-256(0x00, canonical envelope)), as hex."""
    leaf = hashlib.sha256(b"\x00" + canonical_text(envelope).encode()).digest()
    return hashlib.sha256(bytes.fromhex(previous) + leaf).hexdigest()


def envelope_of(
    *, number: int, kind: str, about: str, happened_at: datetime, recorded_at: datetime, digest: str
) -> dict[str, Any]:
    """What is sealed of one record besides the link to the one before."""
    return {
        "number": number,
        "kind": kind,
        "about": about,
        "happened_at": instant_text(happened_at),
        "recorded_at": instant_text(recorded_at),
        "digest": digest,
    }


def _composed(plain: Any) -> Any:
    if isinstance(plain, str):
        return unicodedata.normalize("NFC", plain)
    if isinstance(plain, float):
        raise TypeError("a fact holds no floats: give whole numbers or text")
    if isinstance(plain, dict):
        return {_composed(key): _composed(value) for key, value in plain.items()}
    if isinstance(plain, list | tuple):
        return [_composed(value) for value in plain]
    return plain
