"""A security key in a few lines: W3C Web Authentication level 2, sections 6.1, 6.3 and 5.8.1."""

import hashlib
import json
import os
import struct

import cbor2
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec

from api.events.signing import to_base64url

USER_PRESENT, ATTESTED = 0x01, 0x40


class Authenticator:
    """Holds one credential; ``counter`` and ``origin`` may be put wrong."""

    def __init__(self, origin: str, *, domain: str = "localhost") -> None:
        self.origin = origin
        self.domain = domain
        self.counter = 0
        self.credential_id = os.urandom(32)
        self._key = ec.generate_private_key(ec.SECP256R1())

    def create(self, options: dict) -> dict:
        """Answer ``credentials.create`` with attestation "none"."""
        numbers = self._key.public_key().public_numbers()
        # COSE_Key of RFC 9053: kty EC2, alg ES256, crv P-256, x, y.
        public_key = {
            1: 2,
            3: -7,
            -1: 1,
            -2: numbers.x.to_bytes(32, "big"),
            -3: numbers.y.to_bytes(32, "big"),
        }
        data = (
            self._data(USER_PRESENT | ATTESTED)
            + bytes(16)
            + struct.pack(">H", len(self.credential_id))
            + self.credential_id
            + cbor2.dumps(public_key)
        )
        attestation = cbor2.dumps({"fmt": "none", "attStmt": {}, "authData": data})
        return self._answer(
            clientDataJSON=self._client_data("webauthn.create", options["challenge"]),
            attestationObject=attestation,
        )

    def get(self, options: dict) -> dict:
        """Answer ``credentials.get``."""
        self.counter += 1
        data = self._data(USER_PRESENT)
        client = self._client_data("webauthn.get", options["challenge"])
        signature = self._key.sign(
            data + hashlib.sha256(client).digest(), ec.ECDSA(hashes.SHA256())
        )
        return self._answer(clientDataJSON=client, authenticatorData=data, signature=signature)

    def _data(self, flags: int) -> bytes:
        domain = hashlib.sha256(self.domain.encode()).digest()
        return domain + bytes([flags]) + struct.pack(">I", self.counter)

    def _client_data(self, kind: str, challenge: str) -> bytes:
        said = {"type": kind, "challenge": challenge, "origin": self.origin, "crossOrigin": False}
        return json.dumps(said).encode()

    def _answer(self, **response: bytes) -> dict:
        return {
            "id": to_base64url(self.credential_id),
            "rawId": to_base64url(self.credential_id),
            "type": "public-key",
            "response": {name: to_base64url(value) for name, value in response.items()},
            "clientExtensionResults": {},
        }
