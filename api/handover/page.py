"""The page the record is printed on: font, running head and foot, and a few building blocks."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from functools import cache
from importlib.resources import files

from fontTools.ttLib import TTFont
from fpdf import FPDF
from fpdf.enums import Align, XPos, YPos

from api.handover.wrapping import wrapped

FONT = "Roboto"
BODY_PT = 9.5
SMALL_PT = 7.5
LINE_MM = 4.6
MARGIN_MM = 16
LABEL_MM = 38
CELL_PAD_MM = 0.6
# A row of a table that is no higher stands on one page.
TOGETHER_MM = 120
INK = (20, 20, 20)
GREY = (90, 90, 90)
RULE = (150, 150, 150)
# Light enough to read every number through it.
ACROSS = (214, 214, 214)
ACROSS_PT = 150


def _font_file(style: str):
    return files("font_roboto") / "files" / f"Roboto-{style}.ttf"


@cache
def _drawable() -> frozenset[int]:
    with TTFont(str(_font_file("Regular")), lazy=True) as font:
        return frozenset(font.getBestCmap())


def printable(text: str) -> str:
    """Return ``text`` with each character the font lacks written as its code point.

    A box in place of a name would lose it; ``<U+6771>`` can still be looked up. The record itself
    keeps the character.
    """
    drawable = _drawable()
    return "".join(
        character
        if character == "\n" or (ord(character) in drawable and character.isprintable())
        else " "
        if character.isspace()
        else f"<U+{ord(character):04X}>"
        for character in text
    )


class RecordPage(FPDF):
    """A4 pages with the patient, date of service and provider at the head of each."""

    def __init__(
        self,
        *,
        head: Sequence[str],
        foot: str,
        title: str,
        made_at: datetime,
        across: str | None = None,
    ) -> None:
        super().__init__(format="A4")
        self._across = across
        self._head = [printable(part) for part in head]
        self._foot = printable(foot)
        # Of each font in use, since the library measures every character anew.
        self._widths_mm: dict[tuple[str, float], dict[str, float]] = {}
        # The producer line and the date would otherwise be those of the rendering, and two
        # renderings of one record would differ.
        self.set_creation_date(made_at)
        self.set_title(printable(title))
        self.set_creator("Dosebook")
        self.set_lang("en")
        for style, name in (("", "Regular"), ("B", "Bold")):
            self.add_font(FONT, style, str(_font_file(name)))
        for font in self.fonts.values():
            # fontTools would stamp the subset with the time of rendering.
            font.ttfont.recalcTimestamp = False
        self.set_margins(MARGIN_MM, MARGIN_MM)
        self.set_auto_page_break(True, margin=MARGIN_MM + 8)
        self.set_text_color(*INK)
        self.set_draw_color(*RULE)
        self.set_line_width(0.2)

    def header(self) -> None:
        if self._across:
            self._write_across(self._across)
        self.set_font(FONT, "B", 9)
        self.set_text_color(*INK)
        for part in self._head:
            self.multi_cell(0, 4.4, part, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.rule()
        self.ln(2)

    def _write_across(self, word: str) -> None:
        """Write a word from corner to corner, beneath all that follows."""
        self.set_font(FONT, "B", ACROSS_PT)
        self.set_text_color(*ACROSS)
        middle = self.w / 2, self.h / 2
        with self.rotation(55, *middle):
            self.text(middle[0] - self.get_string_width(word) / 2, middle[1] + 18, word)
        self.set_text_color(*INK)

    def footer(self) -> None:
        self.set_y(-MARGIN_MM - 2)
        self.set_font(FONT, "", SMALL_PT)
        self.set_text_color(*GREY)
        self.cell(self.epw - 30, 4, self._foot)
        self.cell(30, 4, f"Page {self.page_no()} of {{nb}}", align=Align.R)

    def rule(self) -> None:
        """Draw a line over the width of the text."""
        y = self.get_y() + 0.8
        self.line(self.l_margin, y, self.l_margin + self.epw, y)
        self.set_y(y + 0.8)

    def room_for(self, height_mm: float) -> None:
        """Start a new page unless ``height_mm`` [mm] is left on this one."""
        if self.will_page_break(height_mm):
            self.add_page()

    def section(self, title: str) -> None:
        """Write a heading, kept together with what follows it."""
        self.room_for(18)
        self.ln(2.5)
        self.set_font(FONT, "B", 11)
        self.set_text_color(*INK)
        self.multi_cell(0, 5.2, printable(title), new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.ln(0.6)

    def line_of(self, text: str, *, bold: bool = False, size: float = BODY_PT) -> None:
        """Write a paragraph."""
        self.set_font(FONT, "B" if bold else "", size)
        self.set_text_color(*INK)
        left, width = self.l_margin + self.c_margin, self.epw - 2 * self.c_margin
        self._run(self._wrapped(text, width), left, LINE_MM * size / BODY_PT)

    def _wrapped(self, text: str, width_mm: float) -> list[str]:
        """Break a text into lines of the font in use."""
        return wrapped(printable(text), width_mm, self._width_mm)

    def _width_mm(self, character: str) -> float:
        """Return how wide a character is in the font in use [mm]."""
        widths_mm = self._widths_mm.setdefault((self.font_style, self.font_size_pt), {})
        if character not in widths_mm:
            widths_mm[character] = self.get_string_width(character)
        return widths_mm[character]

    def _run(self, lines: Iterable[str], left: float, height: float) -> None:
        """Write lines below one another from ``left`` [mm], over as many pages as they take."""
        for line in lines:
            self.room_for(height)
            self._put(line, left, self.y, height)
            self.set_y(self.y + height)

    def _put(self, line: str, left: float, top: float, height: float) -> None:
        """Write a line into a strip of ``height`` [mm], as `FPDF.cell` places it there."""
        if line:
            self.text(left, top + 0.5 * height + 0.3 * self.font_size, line)

    def pairs(self, rows: Iterable[tuple[str, str]]) -> None:
        """Write label and value side by side; a long value runs on over pages."""
        for label, value in rows:
            self.room_for(LINE_MM)
            self.set_font(FONT, "", BODY_PT)
            self.set_text_color(*GREY)
            self.cell(LABEL_MM, LINE_MM, printable(label))
            self.set_text_color(*INK)
            left = self.l_margin + LABEL_MM + self.c_margin
            width = self.w - self.r_margin - self.c_margin - left
            self._run(self._wrapped(value, width), left, LINE_MM)

    def grid(
        self, heads: Sequence[str], rows: Sequence[Sequence[str]], widths: Sequence[int]
    ) -> None:
        """Write a table; its headings come again on every page it reaches.

        By hand, because `FPDF.table` measures a line anew at each of its characters.
        """
        self.set_text_color(*INK)
        columns = [self.epw * width / sum(widths) for width in widths]
        self.set_font(FONT, "B", BODY_PT - 0.5)
        headed = self._cells(heads, columns)
        self.set_font(FONT, "", BODY_PT - 0.5)
        drawn = [self._cells(cells, columns) for cells in rows]
        self.room_for(sum(_together_mm(cells) for cells in (headed, *drawn[:1])))
        self._heads(headed, columns)
        for cells in drawn:
            self._ruled()
            left_over = cells
            while left_over:
                if self.will_page_break(_together_mm(left_over)):
                    self.add_page()
                    self._heads(headed, columns)
                    self._ruled()
                # Of a high row, as much as there is room for.
                room = int((self.page_break_trigger - self.y - 2 * CELL_PAD_MM) / LINE_MM)
                now = [lines[: max(room, 1)] for lines in left_over]
                rest = [lines[max(room, 1) :] for lines in left_over]
                self._row(now, columns)
                left_over = rest if any(rest) else []

    def _cells(self, texts: Sequence[str], columns: Sequence[float]) -> list[list[str]]:
        """Break the text of each cell of a row into lines."""
        return [
            self._wrapped(text, width - 2 * CELL_PAD_MM)
            for text, width in zip(texts, columns, strict=True)
        ]

    def _ruled(self) -> None:
        """Draw a line between two rows."""
        self.line(self.l_margin, self.y, self.l_margin + self.epw, self.y)

    def _heads(self, cells: Sequence[Sequence[str]], columns: Sequence[float]) -> None:
        self.set_font(style="B")
        self._row(cells, columns)
        self.set_font(style="")

    def _row(self, cells: Sequence[Sequence[str]], columns: Sequence[float]) -> None:
        """Write a row for which there is room, each cell in the middle of its height."""
        height, left = _row_mm(cells), self.l_margin
        for lines, width in zip(cells, columns, strict=True):
            top = self.y + (height - len(lines) * LINE_MM) / 2
            for number, line in enumerate(lines):
                self._put(line, left + CELL_PAD_MM, top + number * LINE_MM, LINE_MM)
            left += width
        self.set_y(self.y + height)

    def squares(self, rows: Sequence[Sequence[int]], *, side_mm: float) -> None:
        """Draw a matrix of dark and light squares (a QR code) at the right edge."""
        size = side_mm / len(rows)
        left = self.l_margin + self.epw - side_mm
        top = self.get_y()
        self.set_fill_color(0, 0, 0)
        for y, row in enumerate(rows):
            for x, dark in enumerate(row):
                if dark:
                    # A hair of overlap: viewers leave light seams between touching squares.
                    self.rect(left + x * size, top + y * size, size * 1.02, size * 1.02, style="F")


def _together_mm(cells: Sequence[Sequence[str]]) -> float:
    return min(_row_mm(cells), TOGETHER_MM)


def _row_mm(cells: Sequence[Sequence[str]]) -> float:
    return max(len(lines) for lines in cells) * LINE_MM + 2 * CELL_PAD_MM
