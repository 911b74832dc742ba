"""The words of a recovery key: what they open, and that a mistake in them is told."""

import hashlib
import hmac
import random

import pytest

from api.backup import recovery_key
from api.errors import BadInput

SEED = 20260302
BITS = bytes(range(16))
TRIES = 400


def words_of(bits: bytes) -> list[str]:
    return recovery_key.make(lambda _count: bits).split()


def wrong_in_one_place(chance: random.Random, words: list[str]) -> list[str]:
    """Another word in one place, or two words in each other's."""
    changed = list(words)
    at, other = chance.sample(range(len(words)), 2)
    if chance.random() < 0.5 and changed[at] != changed[other]:
        changed[at], changed[other] = changed[other], changed[at]
    else:
        changed[at] = chance.choice([one for one in recovery_key.WORDS if one != changed[at]])
    return changed


def told(words: list[str]) -> bool:
    try:
        recovery_key.private_key(" ".join(words))
    except BadInput as problem:
        return problem.code == "recovery_key_mistyped"
    return False


def test_a_word_for_each_byte_known_by_its_first_four_letters():
    assert len(recovery_key.WORDS) == 2**8
    assert len({word[:4] for word in recovery_key.WORDS}) == 2**8
    assert all(word.isascii() and word.islower() and word.isalpha() for word in recovery_key.WORDS)


def test_the_private_key_is_that_of_rfc_5869():
    """HKDF written out by hand: extract under 32 zero bytes, then the first block of expand."""
    extracted = hmac.new(bytes(32), BITS, hashlib.sha256).digest()
    expected = hmac.new(extracted, b"dosebook-recovery-1" + b"\x01", hashlib.sha256).digest()
    key = recovery_key.private_key(" ".join(words_of(BITS)))
    assert key.private_bytes_raw() == expected


def test_it_is_read_however_it_is_typed():
    words = words_of(BITS)
    public = recovery_key.public_text(recovery_key.private_key(" ".join(words)))
    for typed in ("\n".join(words), ", ".join(words).upper(), f"  {'  '.join(words)} \n"):
        assert recovery_key.public_text(recovery_key.private_key(typed)) == public


def test_the_word_that_is_none_is_named():
    words = words_of(BITS)
    words[4] = "harbour"
    with pytest.raises(BadInput, match=r"Word 5, “harbour”, .* did you mean “harbor”"):
        recovery_key.private_key(" ".join(words))
    with pytest.raises(BadInput, match="has 18 words; these are 17"):
        recovery_key.private_key(" ".join(words_of(BITS)[1:]))


def test_a_mistyped_key_is_told(monkeypatch):
    chance = random.Random(SEED)
    words = words_of(BITS)
    assert not told(words)
    assert all(told(wrong_in_one_place(chance, words)) for _ in range(TRIES)), SEED
    # A key whose checksum says nothing would be taken with any mistake in its first 16 words.
    monkeypatch.setattr(recovery_key, "_check", lambda _bits: bytes(recovery_key.CHECK_BYTES))
    careless = words_of(BITS)
    missed = [not told(wrong_in_one_place(chance, careless)) for _ in range(TRIES)]
    assert any(missed)


def test_only_the_same_key_for_the_same_purpose_opens():
    right = recovery_key.private_key(" ".join(words_of(BITS)))
    other = recovery_key.private_key(" ".join(words_of(bytes(16))))
    sealed = recovery_key.seal(recovery_key.public_text(right), b"a key", about="backup 1")
    assert recovery_key.unseal(right, sealed, about="backup 1") == b"a key"
    changed = sealed[:-1] + bytes([sealed[-1] ^ 1])
    for key, content, about in (
        (other, sealed, "backup 1"),
        (right, sealed, "backup 2"),
        (right, changed, "backup 1"),
        (right, b"", "backup 1"),
    ):
        with pytest.raises(BadInput) as refused:
            recovery_key.unseal(key, content, about=about)
        assert refused.value.code == "recovery_key_wrong"
