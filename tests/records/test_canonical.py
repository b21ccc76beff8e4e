"""Canonical bytes and the linear chain, against values computed elsewhere."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.records.canonical import START, body_digest, canonical_text, envelope_hash, instant_text

# h_i = SHA-256(h_{i-1} || SHA-256(0x00 || bytes)), h_0 = 32 zero bytes; values worked out apart from this code
VECTORS = [
    ({"n": 1}, "9d4f88f5440749575e6ec5e2f5cb276115a1098b87577e20d0508fe8e4f4d444"),
    ({"n": 2}, "74ef9a4a266ea25c59e266892dc91511a07213db959d1f947f27a71e735205a5"),
    ({"n": 3}, "08c2ade1a239a209ce106d18f7ee1adde836a50f9c4a9291cd7f7ff89b5a6606"),
]


def test_the_linear_chain_gives_the_known_hashes() -> None:
    link, found = START, []
    for body, _ in VECTORS:
        link = envelope_hash(link, body)
        found.append(link)
    assert found == [known for _, known in VECTORS]


def test_keys_are_sorted_and_nothing_is_padded() -> None:
    assert canonical_text({"b": [1, True, None], "a": "x"}) == '{"a":"x","b":[1,true,null]}'


# The sorting example of RFC 8785 section 3.2.3, less its U+FB33, which Unicode NFC takes apart
def test_keys_sort_by_utf_16_as_rfc_8785_shows() -> None:
    given_order = {"\u20ac": 1, "\r": 2, "1": 3, "\U0001f600": 4, "\u0080": 5, "\u00f6": 6}
    assert list(json.loads(canonical_text(given_order)).values()) == [2, 3, 5, 6, 1, 4]


def test_composed_and_decomposed_letters_give_the_same_bytes() -> None:
    assert canonical_text({"name": "e\u0301"}) == canonical_text({"name": "\u00e9"})


@pytest.mark.parametrize("plain", [1.5, {"a": 1.0}, [0.1], {"a": [{"b": 2.0}]}])
def test_floats_are_refused_wherever_they_stand(plain: object) -> None:
    with pytest.raises(TypeError, match="no floats"):
        canonical_text(plain)


@given(st.datetimes(timezones=st.just(UTC)), st.integers(-14 * 60, 14 * 60))
def test_an_instant_is_the_same_text_from_every_zone(at: datetime, offset_minutes: int) -> None:
    try:
        elsewhere = at.astimezone(timezone(timedelta(minutes=offset_minutes)))
    except OverflowError:
        elsewhere = at
    assert instant_text(elsewhere) == instant_text(at)
    assert len(instant_text(at)) == 27


def test_a_time_without_its_offset_is_no_instant() -> None:
    with pytest.raises(ValueError, match="offset"):
        instant_text(datetime(2026, 3, 2, 9))  # noqa: DTZ001


def test_the_digest_is_of_salt_and_text() -> None:
    assert body_digest("{}", "00ff") == hashlib.sha256(b"\x00\xff{}").hexdigest()
