"""Whether a file has the form of a PDF, without opening it. Pure.

Header, end and the line before it are those of ISO 32000-1, 7.5.2 and 7.5.5. Readers put up with a
header that comes late and with bytes behind the end; here neither is taken, because what stands
before or behind may make another program see another file. What a page shows is judged by nobody:
a PDF is kept and handed out, never drawn.
"""

import re

from api.errors import BadInput

HEADER = b"%PDF-"
_BEGINS = re.compile(rb"%PDF-[12]\.[0-9]\s")
# The place of the last table of what is where, then the mark of the end.
_ENDS = re.compile(rb"startxref\s+([0-9]{1,10})\s+%%EOF[\s\x00]*\Z")
# The end with its mark is shorter; looked for at the very end only.
_END_BYTES = 1024


def check(content: bytes) -> None:
    """Raise ``BadInput`` "not_pdf" unless ``content`` begins and ends as a PDF does."""
    if not _BEGINS.match(content):
        raise _not_pdf("does not begin as one")
    end = _ENDS.search(content[-_END_BYTES:])
    if end is None:
        raise _not_pdf("does not end as one, so it may be broken off")
    if not 0 < int(end[1]) < len(content):
        raise _not_pdf("points outside of itself")


def _not_pdf(why: str) -> BadInput:
    return BadInput("not_pdf", f"This is not a PDF we can keep: it {why}.")
