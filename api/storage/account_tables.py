"""Tablets, their codes and tokens, and the secrets of persons; of secrets only hashes."""

from sqlalchemy import ForeignKeyConstraint, Index, Table, UniqueConstraint

from api.storage.columns import WHOLE, key, may, metadata, must

tablet = Table(
    "tablet",
    metadata,
    key("tablet_id"),
    must("location_id"),
    must("kind"),
    must("label"),
    must("public_key"),
    may("certificate"),
    must("next_seq", WHOLE),
    must("enrolled_at"),
    may("revoked_at"),
    must("pushed_after_revoked", WHOLE),
    may("last_seen_at"),
    # The enrolment that this one goes on from, and the number that its events begin with.
    may("replaces"),
    must("first_seq", WHOLE),
    # 1: known by its certificate only, until an administrator says that it belongs here.
    must("unconfirmed", WHOLE),
    # When it turned out that there are two of it.
    may("forked_at"),
    # How many entries it said last that it still had to send.
    may("waiting", WHOLE),
    ForeignKeyConstraint(["location_id"], ["location.location_id"]),
    Index(None, "location_id", "kind"),
)

enrol_code = Table(
    "enrol_code",
    metadata,
    key("code_hash"),
    must("location_id"),
    may("made_by"),
    must("expires_at"),
    may("used_at"),
)

challenge = Table(
    "challenge",
    metadata,
    key("nonce_hash"),
    must("tablet_id"),
    must("expires_at"),
    may("used_at"),
)

# Bearer tokens of tablets, of persons on tablets, and desk sessions; only hashes are kept.
token = Table(
    "token",
    metadata,
    key("token_hash"),
    must("location_id"),
    must("kind"),
    may("tablet_id"),
    may("person_id"),
    must("made_at"),
    must("used_at"),
    must("expires_at"),
    may("ended_at"),
    may("agent"),
    Index(None, "location_id", "person_id"),
    Index(None, "tablet_id"),
)

secret = Table(
    "secret",
    metadata,
    key("location_id"),
    key("person_id"),
    may("sign_in"),
    may("password_hash"),
    may("pin_hash"),
    must("changed_at"),
    UniqueConstraint("sign_in"),
)

# Since when somebody works at a desk of each location where they do.
last_place = Table(
    "last_place",
    metadata,
    key("location_id"),
    key("person_id"),
    must("entered_at"),
    Index(None, "person_id"),
)

# Wrong guesses, counted where every process sees them and a restart does not forget them.
attempt = Table(
    "attempt",
    metadata,
    key("location_id"),
    key("kind"),
    key("subject"),
    must("wrong", WHOLE),
    may("locked_until"),
)

# One-time links at which a person sets their own secrets; only hashes are kept.
link = Table(
    "link",
    metadata,
    key("link_hash"),
    must("location_id"),
    must("person_id"),
    must("purpose"),
    may("made_by"),
    must("made_at"),
    must("expires_at"),
    may("used_at"),
    Index(None, "location_id", "person_id"),
)

# Second factors. ``secret`` is sealed for codes by time, and the public key for a passkey;
# ``counter`` is the last step of time, or the passkey's own count.
factor = Table(
    "factor",
    metadata,
    key("location_id"),
    key("factor_id"),
    must("person_id"),
    must("kind"),
    must("label"),
    must("secret"),
    may("credential_id"),
    must("counter", WHOLE),
    must("made_at"),
    may("confirmed_at"),
    may("used_at"),
    UniqueConstraint("credential_id"),
    Index(None, "location_id", "person_id"),
)

recovery_code = Table(
    "recovery_code",
    metadata,
    key("location_id"),
    key("person_id"),
    key("code_hash"),
    must("made_at"),
    may("used_at"),
)

# What is begun and waits for its second half: a sign-in for its factor, a passkey to be added.
ceremony = Table(
    "ceremony",
    metadata,
    key("ceremony_hash"),
    must("location_id"),
    must("person_id"),
    must("purpose"),
    may("challenge"),
    must("expires_at"),
    may("used_at"),
)

# How often somebody asked for something since ``began_at``; belongs to no location.
asked = Table(
    "asked",
    metadata,
    key("what"),
    key("who"),
    must("began_at"),
    must("times", WHOLE),
)

idempotency_key = Table(
    "idempotency_key",
    metadata,
    key("location_id"),
    key("key"),
    must("request_hash"),
    must("event_id"),
    must("made_at"),
)
