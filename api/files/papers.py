"""Papers that may be kept: PDF, JPEG and PNG, told apart by their bytes alone. Pure."""

from collections.abc import Callable, Mapping

from api.errors import BadInput
from api.files import jpeg, pdf, png

PDF, JPEG, PNG = "application/pdf", "image/jpeg", "image/png"

_BEGINNINGS: Mapping[bytes, tuple[str, Callable[[bytes], object]]] = {
    pdf.HEADER: (PDF, pdf.check),
    b"\xff\xd8": (JPEG, jpeg.read),
    png.SIGNATURE: (PNG, png.read),
}
# So far into a file other readers look for the header of a PDF (ISO 32000-1, note on 7.5.2).
_HEADER_LOOKED_FOR_BYTES = 1024


def media_type_of(content: bytes) -> str:
    """Return the media type of what ``content`` wholly is.

    Raises ``BadInput`` "certificate_unknown_kind" where it begins as none of them, and
    "certificate_damaged" where it begins as one and is not, or could be taken for another one too.
    """
    found = [kind for beginning, kind in _BEGINNINGS.items() if content.startswith(beginning)]
    if not found:
        raise BadInput("certificate_unknown_kind", "Only PDF, JPEG and PNG files can be kept.")
    [(media_type, read)] = found
    try:
        read(content)
    except BadInput as problem:
        raise BadInput("certificate_damaged", problem.message) from problem
    if media_type != PDF and pdf.HEADER in content[:_HEADER_LOOKED_FOR_BYTES]:
        raise BadInput("certificate_damaged", "This picture could be taken for a PDF as well.")
    return media_type
