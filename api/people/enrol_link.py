"""The address that a tablet's camera reads off the administrator's screen."""

import segno
from segno.utils import matrix_to_lines

# What is read by a camera needs four modules of blank around it (ISO/IEC 18004, quiet zone).
QUIET_MODULES = 4


def address(base: str, code: str) -> str:
    """Return the address that opens the enrolment form with ``code`` filled in.

    The code stands behind the ``#``: a browser sends nothing of that, so it is in no server's log.
    """
    return f"{base.rstrip('/')}/#/enrol/{code}"


def qr(text: str) -> dict[str, int | str]:
    """Return ``text`` as a QR code to draw: ``{"modules", "path"}``.

    ``path`` is the ``d`` of an SVG path in a square of ``modules`` units, its quiet zone included,
    to be stroked one unit wide: each run of dark modules is one line.
    """
    made = segno.make_qr(text, error="m")
    lines = matrix_to_lines(made.matrix, QUIET_MODULES, QUIET_MODULES + 0.5)
    path = "".join(f"M{x1} {y:g}h{x2 - x1}" for (x1, y), (x2, _) in lines)
    return {"modules": made.symbol_size(border=QUIET_MODULES)[0], "path": path}
