"""Signed heads, kept outside the database: they show a chain that was cut short, written anew, or restored from an
older copy, none of which the chain itself can show.

One JSON line a head, appended and never changed, signed with Ed25519 (RFC 8032). A line that says ``reconciled`` stands
for all lines of its chain before it: somebody looked into a restore and answers for it.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from django.conf import settings

from training.records.canonical import canonical_text, instant_text

FILE, PUBLIC = "heads.jsonl", "heads.public.pem"


class HeadsUnreadable(RuntimeError):
    """The kept heads or their key cannot be read or do not verify; the message says what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptHead:
    """What one line says of a chain: its newest number then, and the hash of that record."""

    chain: int
    number: int
    hash: str
    at: str
    reconciled: bool = False


def is_kept() -> bool:
    """Whether this installation keeps heads at all."""
    return settings.HEADS_DIR is not None


def make_key(path: Path) -> None:
    """Make a signing key that only its owner may read; FileExistsError where there is one."""
    private = Ed25519PrivateKey.generate().private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    with open(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(private)


def keep(chain_id: int, number: int, head_hash: str, *, at: datetime, reconciled: bool = False) -> KeptHead:
    """Sign a head and append it to the kept ones; ``HeadsUnreadable`` where key or folder is missing."""
    head = KeptHead(chain=chain_id, number=number, hash=head_hash, at=instant_text(at), reconciled=reconciled)
    key, folder = _private_key(), _folder()
    _keep_public(key, folder)
    line = {**asdict(head), "signature": key.sign(_message(head)).hex()}
    with open(folder / FILE, "a", encoding="utf-8") as file:
        file.write(json.dumps(line, sort_keys=True) + "\n")
        file.flush()
        os.fsync(file.fileno())
    return head


def kept_heads(chain_id: int) -> list[KeptHead]:
    """The heads of a chain that still hold, oldest first; none where none are kept. Raises ``HeadsUnreadable``."""
    if not is_kept() or not (path := _folder() / FILE).exists():
        return []
    held: list[KeptHead] = []
    stat = path.stat()
    for head in _read(path, stat.st_mtime_ns, stat.st_size):
        if head.chain == chain_id:
            held = [head] if head.reconciled else [*held, head]
    return held


def newest_kept(chain_id: int) -> KeptHead | None:
    """The kept head with the highest number; None where none are kept."""
    return max(kept_heads(chain_id), key=lambda head: head.number, default=None)


@lru_cache(maxsize=4)
def _read(path: Path, _changed_ns: int, _size: int) -> tuple[KeptHead, ...]:
    return tuple(_lines(path))


def _lines(path: Path) -> Iterator[KeptHead]:
    public = _public_key(path.parent)
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        try:
            plain = json.loads(line)
            signature = bytes.fromhex(plain.pop("signature"))
            head = KeptHead(**plain)
            public.verify(signature, _message(head))
        except (ValueError, TypeError, KeyError, AttributeError, InvalidSignature) as wrong:
            raise HeadsUnreadable(f"Line {number} of the kept heads does not verify. Look into it by hand.") from wrong
        yield head


def _message(head: KeptHead) -> bytes:
    return canonical_text(asdict(head)).encode()


def _folder() -> Path:
    folder = settings.HEADS_DIR
    if folder is None or not Path(folder).is_dir():
        raise HeadsUnreadable("HOOKSIDE_HEADS_DIR names no folder. Make one outside the database and its backups.")
    return Path(folder)


def _private_key() -> Ed25519PrivateKey:
    path = settings.SIGNING_KEY
    if path is None or not Path(path).is_file():
        raise HeadsUnreadable("HOOKSIDE_SIGNING_KEY names no file. Make one with manage.py make_signing_key PATH.")
    key = serialization.load_pem_private_key(Path(path).read_bytes(), password=None)
    if not isinstance(key, Ed25519PrivateKey):
        raise HeadsUnreadable("HOOKSIDE_SIGNING_KEY is no Ed25519 key. Make one with manage.py make_signing_key PATH.")
    return key


def _keep_public(key: Ed25519PrivateKey, folder: Path) -> None:
    """Keep the public key beside the heads, once; another one later is refused, since old heads would not verify."""
    public = key.public_key().public_bytes(serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo)
    path = folder / PUBLIC
    if not path.exists():
        path.write_bytes(public)
    elif path.read_bytes() != public:
        raise HeadsUnreadable("The signing key is not the one that signed the kept heads. Put the right one back.")


def _public_key(folder: Path) -> Ed25519PublicKey:
    try:
        key = serialization.load_pem_public_key((folder / PUBLIC).read_bytes())
    except (OSError, ValueError) as wrong:
        raise HeadsUnreadable("The public key beside the kept heads cannot be read. Put it back.") from wrong
    if not isinstance(key, Ed25519PublicKey):
        raise HeadsUnreadable("The public key beside the kept heads is no Ed25519 key. Put the right one back.")
    return key
