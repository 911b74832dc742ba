"""Hashes, links and signatures against values that other programs and standards give."""

import pytest

from api.errors import BadInput
from api.events import chain, signing

# RFC 6979, appendix A.2.5 (NIST P-256, SHA-256): public key, and the signature of two messages.
RFC_PUBLIC_KEY = (
    # SubjectPublicKeyInfo of an uncompressed P-256 point: fixed 26 bytes, 04, x, y (RFC 5480).
    "3059301306072a8648ce3d020106082a8648ce3d03010703420004"
    "60fed4ba255a9d31c961eb74c6356d68c049b8923b61fa6ce669622e60f29fb6"
    "7903fe1008b8bc99a41ae9e95628bc64f2f1b20c2d7e9f5177a3c294d4462299"
)
RFC_SIGNATURE_OF_SAMPLE = (
    "efd48b2aacb6a8fd1140dd9cd45e81d69d2c877b56aaf991c34d0ea84eaf3716"
    "f7cb1c942d657c41d436c7a1b6e29f65f3e900dbb9aff4064dc4ab2f843acda8"
)


def base64url(hexadecimal):
    return signing.to_base64url(bytes.fromhex(hexadecimal))


def test_a_signature_of_the_standard_holds_and_its_neighbours_do_not():
    key, signature = base64url(RFC_PUBLIC_KEY), base64url(RFC_SIGNATURE_OF_SAMPLE)
    assert signing.verify(key, "sample", signature)
    assert not signing.verify(key, "sample ", signature)
    raw = bytearray.fromhex(RFC_SIGNATURE_OF_SAMPLE)
    for index in range(0, 64, 7):
        raw[index] ^= 1
        assert not signing.verify(key, "sample", signing.to_base64url(bytes(raw)))
        raw[index] ^= 1


@pytest.mark.parametrize("signature", ["", "AA", "=", "not base64url!", "A" * 87, "é" * 86])
def test_what_is_no_signature_is_refused_quietly(signature):
    assert not signing.verify(base64url(RFC_PUBLIC_KEY), "sample", signature)


def test_our_own_signature_has_64_bytes_and_holds():
    key = signing.new_private_key()
    for number in range(20):
        signature = signing.sign(key, f"größer {number}")
        assert len(signing.from_base64url(signature)) == 64
        assert signing.verify(signing.public_key_text(key), f"größer {number}", signature)


@pytest.mark.parametrize("key", ["", "AAAA", "MFkw", base64url(RFC_PUBLIC_KEY[:-2])])
def test_what_is_no_public_key_is_named(key):
    with pytest.raises(BadInput) as raised:
        signing.load_public_key(key)
    assert raised.value.code == "public_key_unreadable"


def test_base64url_has_one_spelling():
    assert signing.to_base64url(b"\xff\xfe") == "__4"
    assert signing.from_base64url("__4") == b"\xff\xfe"
    for text in ("__5", "__4=", "//4", "__4\n", "_"):
        with pytest.raises(ValueError, match="base64url"):
            signing.from_base64url(text)


def test_two_links_as_sha256sum_gives_them():
    # Computed with printf, xxd -r -p and sha256sum (coreutils): texts "h" and "b".
    header, body = chain.sha256("h"), chain.sha256("b")
    assert header.hex() == "aaa9402664f1a41f40ebbc52c9993eb66aeb366602958fdfaa283b71e64db123"
    first = chain.link(previous=chain.FIRST_LINK, header_hash=header, body_hash=body)
    assert first.hex() == "27b519f180e5b682177cda779c53dad26b724803ccc438733708e71d6cbb286d"
    second = chain.link(previous=first, header_hash=body, body_hash=header)
    assert second.hex() == "95ade2426a0ef7f33b3bf44b93da308126cd462f88d175d53bdf23c09c387478"
    with pytest.raises(ValueError, match="32 bytes"):
        chain.link(previous=b"", header_hash=header, body_hash=body)


def test_a_payload_hash_as_sha256sum_gives_it():
    # printf of the salt's 16 bytes and the text in UTF-8, piped to sha256sum.
    expected = "d6fe1e233a3be0f7966275ab2d51664bd1d0eb097b79dd13f9fd899694c04c49"
    salt = bytes(range(16))
    assert chain.payload_hash(salt=salt, payload='{"text":"größer"}') == expected
    with pytest.raises(ValueError, match="16 bytes"):
        chain.payload_hash(salt=b"", payload="{}")
