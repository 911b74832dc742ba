"""Papers that entries name by the hash of their bytes, which are kept apart from the log."""

from api.events import shapes

CERTIFICATE_TYPES = ("application/pdf", "image/jpeg", "image/png")


class Certificate(shapes.Payload):
    """A paper of whoever worked on a laser or calibrated a meter; nothing of a patient is in it."""

    sha256 = shapes.sha256_hex()
    # What it was called where it came from: shown, offered for saving, never a way to a file here.
    file_name = shapes.file_name()
    media_type = shapes.one_of(*CERTIFICATE_TYPES)
    size_bytes = shapes.whole(least=1)


def certificates():
    """Return the field for what somebody attached; entries of before it had none."""
    return shapes.many(Certificate, optional=True, most=10)
