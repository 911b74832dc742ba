"""What somebody sends who is no practice: refused before anything in it is read."""

import pytest

ADDRESSES = (
    "/api/v1/group/key",
    "/api/v1/group/meet",
    "/api/v1/group/entries",
    "/api/v1/group/offers",
    "/api/v1/group/offer",
    "/api/v1/group/photographs",
    "/api/v1/group/restore/entries",
    "/api/v1/group/restore/photographs",
    "/api/v1/group/restore/photograph",
    "/api/v1/group/restore/done",
)


@pytest.fixture(scope="module")
def nested():
    return b"[" * 9000


@pytest.mark.parametrize("address", ADDRESSES)
def test_whoever_has_not_signed_is_told_so_whatever_stands_in_the_body(two, nested, address):
    asking = two.group_app.test_client()
    unsigned = {"Content-Type": "application/json"}
    forged = {
        **unsigned,
        "Dosebook-Practice": "somebody",
        "Dosebook-At": "2026-03-02T08:00:00.000+00:00",
        "Dosebook-Signature": "AAAA",
    }
    for headers in (unsigned, forged):
        for body in (b"no JSON", b"{}", nested):
            answer = asking.post(address, data=body, headers=headers)
            assert (answer.status_code, answer.json["code"]) == (401, "practice_unknown")


@pytest.mark.parametrize(
    "address",
    [
        "/api/v1/group/identity",
        "/api/v1/group/join",
        "/api/v1/group/key",
        "/api/v1/group/offers",
        "/api/v1/group/offer",
        "/api/v1/group/restore",
        "/api/v1/group/restore/entries",
        "/api/v1/group/restore/photographs",
        "/api/v1/group/restore/photograph",
        "/api/v1/group/restore/done",
    ],
)
def test_a_short_question_may_not_be_long(two, address):
    """16 KiB, this project's own choice: many times what the longest of them needs."""
    body = b'{"nonce": "' + b"a" * (16 << 10) + b'"}'
    answer = two.group_app.test_client().post(address, data=body, content_type="application/json")
    assert answer.status_code == 413
