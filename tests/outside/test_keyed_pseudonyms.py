"""HMAC-SHA-256 as published: RFC 4231, section 4, test cases 1, 2 and 6, through our own entry point."""

import pytest

from outcomes.protect.pseudonyms import keyed_hash

CASES = {
    "case 1": (b"\x0b" * 20, b"Hi There", "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"),
    "case 2": (
        b"Jefe",
        b"what do ya want for nothing?",
        "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843",
    ),
    "case 6": (
        b"\xaa" * 131,
        b"Test Using Larger Than Block-Size Key - Hash Key First",
        "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54",
    ),
}


@pytest.mark.parametrize(("key", "message", "digest"), CASES.values(), ids=CASES)
def test_published_digests(key, message, digest):
    assert keyed_hash(key, message).hex() == digest
