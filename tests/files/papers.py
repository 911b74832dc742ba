"""Papers for tests, made by other programs than those that judge them: fpdf2, pypdf, Pillow."""

import io

from fpdf import FPDF
from PIL import Image
from pypdf import PdfReader, PdfWriter


def pdf(text: str = "Certificate of calibration") -> bytes:
    """Return a PDF of one page, as fpdf2 writes it."""
    made = FPDF()
    made.add_page()
    made.set_font("helvetica", size=12)
    made.cell(text=text)
    return bytes(made.output())


def rewritten(content: bytes) -> bytes:
    """Return a PDF as another program, pypdf, writes it."""
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(content)))
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def png(width_px: int = 32, height_px: int = 24, mode: str = "RGB", **options: object) -> bytes:
    """Return a PNG of one colour; ``options`` go to Pillow's encoder."""
    out = io.BytesIO()
    Image.new(mode, (width_px, height_px)).save(out, "PNG", **options)
    return out.getvalue()
