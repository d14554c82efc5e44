"""Draws a report as PDF: for who pays, the working, photos that were chosen. It reads in black and white as well."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache, partial
from io import BytesIO
from pathlib import Path
from xml.sax.saxutils import escape

from reportlab.graphics.shapes import Drawing, Line, Rect, String
from reportlab.lib.colors import Color, HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    Flowable,
    Frame,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
)

from webapp.exports.report import Part, Photo, Report, WeekBar

PLAIN, BOLD = "report", "report-bold"
MARGIN, FOOT = 15 * mm, 8 * mm
WIDTH = A4[0] - 2 * MARGIN
HEIGHT = A4[1] - 2 * MARGIN - FOOT
SIZES = (9.5, 9, 8.5, 8, 7.5, 7, 6.5)  # the largest type with which the first page stays one page
INK, SOFT, RULE, BAR = HexColor("#000000"), HexColor("#333333"), HexColor("#666666"), HexColor("#555555")
BARS_HIGH = 22 * mm
COLUMNS = (0.27, 0.25, 0.48)
PADDING = 6  # a frame's own, on each side
PHOTO_WIDE, PHOTO_HIGH = WIDTH / 2 - 4 * mm, 105 * mm  # two beside one another, two rows on a page
RING = 0.045  # of a photo's width: the ring round a pad's letter


@cache
def _load_fonts(folder: Path) -> None:
    """Makes the typeface known: one that has every European letter and the signs of the working."""
    for name, file in ((PLAIN, "dejavu-sans-condensed.ttf"), (BOLD, "dejavu-sans-condensed-bold.ttf")):
        pdfmetrics.registerFont(TTFont(name, str(folder / file)))
    pdfmetrics.registerFontFamily(PLAIN, normal=PLAIN, bold=BOLD, italic=PLAIN, boldItalic=BOLD)


class MarkedPhoto(Flowable):
    """A photo with its pads' letters, in a ring that stands out on dark skin and on light."""

    def __init__(self, photo: Photo, jpeg: bytes) -> None:
        super().__init__()
        self.photo, self.image = photo, ImageReader(BytesIO(jpeg))
        self.width = min(PHOTO_WIDE, PHOTO_HIGH * 1000 / photo.height)
        self.height = self.width * photo.height / 1000

    def wrap(self, _wide: float, _high: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        canvas, scale = self.canv, self.width / 1000
        canvas.drawImage(self.image, 0, 0, self.width, self.height)
        size = RING * self.width
        for mark in self.photo.marks:
            x, y = mark.x * scale, self.height - mark.y * scale
            for color, thick in ((HexColor("#000000"), 3), (HexColor("#ffffff"), 1.4)):
                canvas.setStrokeColor(color)
                canvas.setLineWidth(thick)
                canvas.circle(x, y, size)
            canvas.setFillColor(HexColor("#ffffff"))
            canvas.circle(x, y, size * 0.8, stroke=0, fill=1)
            canvas.setFillColor(INK)
            canvas.setFont(BOLD, size * 1.1)
            canvas.drawCentredString(x, y - size * 0.4, mark.letter)


def report_pdf(report: Report, fonts: Path, photos: Mapping[str, bytes] | None = None) -> bytes:
    """Draws a report; the same report gives the same bytes. `fonts` is the folder of the vendored typeface.

    `photos` holds the files of the report's photos that are still kept, by hash.
    """
    _load_fonts(fonts)
    out = BytesIO()
    document = BaseDocTemplate(out, pagesize=A4, title=report.title, author=" · ".join(report.sender[:1]),
                               leftMargin=MARGIN, rightMargin=MARGIN, invariant=1, lang="en")
    frame = Frame(MARGIN - PADDING, MARGIN + FOOT - PADDING, WIDTH + 2 * PADDING, HEIGHT + 2 * PADDING)
    document.addPageTemplates([PageTemplate("page", [frame], onPage=partial(_draw_foot, report))])
    story = list(_first_page(report, _largest_size(report)))
    if report.working:
        story += [NextPageTemplate("page"), PageBreak(), *_second_page(report)]
    if report.photos:
        story += [NextPageTemplate("page"), PageBreak(), *_photo_page(report, photos or {})]
    document.build(story)
    return out.getvalue()


def _largest_size(report: Report) -> float:
    for size in SIZES:
        if _height(_first_page(report, size)) <= HEIGHT:
            return size
    return SIZES[-1]


def _height(flow: Sequence[Flowable]) -> float:
    heights = [f.wrap(WIDTH, 10_000)[1] for f in flow]
    return sum(heights) + sum(f.getSpaceBefore() + f.getSpaceAfter() for f in flow)


def _style(size: float, *, bold: bool = False, soft: bool = False, before: float = 0) -> ParagraphStyle:
    return ParagraphStyle("text", fontName=BOLD if bold else PLAIN, fontSize=size, leading=size * 1.25,
                          textColor=SOFT if soft else INK, spaceBefore=before, splitLongWords=1)


def _text(text: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(escape(text).replace("\n", "<br/>"), style)


def _first_page(report: Report, size: float) -> list[Flowable]:
    name, *lines = report.sender
    sender = "<br/>".join([f"<b>{escape(name)}</b>", *map(escape, lines)])
    head = Table([[_text(report.title, _style(size * 1.7, bold=True)), Paragraph(sender, _style(size))]],
                 colWidths=[WIDTH * 0.62, WIDTH * 0.38], style=[("VALIGN", (0, 0), (-1, -1), "TOP"), *_TIGHT])
    about = Table([[_text(label, _style(size, soft=True)), _text(value, _style(size, bold=True))]
                   for label, value in report.about], colWidths=[WIDTH * 0.27, WIDTH * 0.73], style=[*_TIGHT])
    flow: list[Flowable] = [head, Spacer(1, size * 0.5), about]
    for part in report.parts:
        flow += _part(part, size)
        if part.name == "home" and report.weeks:
            flow += [Spacer(1, 3), _bars(report.weeks, size), _text(report.weeks_means, _style(size * 0.82, soft=True))]
    return [*flow, Spacer(1, size), _text(report.sign, _style(size))]


def _second_page(report: Report) -> list[Flowable]:
    size = 9.0
    flow: list[Flowable] = [_text(report.working_heading, _style(size * 1.5, bold=True))]
    for part in report.working:
        flow += _part(part, size)
    return flow


def _photo_page(report: Report, photos: Mapping[str, bytes]) -> Iterator[Flowable]:
    yield _text(report.photos_heading, _style(13.5, bold=True))
    cells = [[MarkedPhoto(one, photos[one.sha256]), _text(one.caption, _style(9))] if one.sha256 in photos else
             _text(one.caption, _style(9)) for one in report.photos]
    rows = [[cells[n], cells[n + 1] if n + 1 < len(cells) else ""] for n in range(0, len(cells), 2)]
    yield Table(rows, colWidths=[WIDTH / 2] * 2, style=[("VALIGN", (0, 0), (-1, -1), "TOP"), *_TIGHT,
                                                        ("TOPPADDING", (0, 0), (-1, -1), 8)])


_TIGHT = (("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 6),
          ("TOPPADDING", (0, 0), (-1, -1), 0), ("BOTTOMPADDING", (0, 0), (-1, -1), 1))


def _part(part: Part, size: float) -> list[Flowable]:
    flow: list[Flowable] = [_text(part.heading, _style(size * 1.15, bold=True, before=size * 0.75))]
    flow += [_text(line, _style(size)) for line in part.said]
    if part.figures:
        rows = [[_text(f.label, _style(size)), _text(f.value, _style(size, bold=True)),
                 _text(f.means, _style(size * 0.82, soft=True))] for f in part.figures]
        flow.append(Table(rows, colWidths=[WIDTH * share for share in COLUMNS], style=[
            ("VALIGN", (0, 0), (-1, -1), "TOP"), ("LINEABOVE", (0, 0), (-1, -1), 0.5, RULE), *_TIGHT,
            ("TOPPADDING", (0, 0), (-1, -1), 1.5), ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5)]))
    return flow


def _bars(weeks: Sequence[WeekBar], size: float) -> Drawing:
    """Draws each week's minutes as a full bar inside the frame of what was due: it reads without colour."""
    small, whole = size * 0.8, BARS_HIGH * size / SIZES[0]
    high, ground = whole - 2 * small, small * 1.4
    most = max([1, *(max(w.cued_min, w.due_min) for w in weeks)])
    step = (WIDTH - 30) / len(weeks)
    drawing = Drawing(WIDTH, whole + small)
    drawing.add(Line(28, ground, WIDTH, ground, strokeColor=INK, strokeWidth=0.6))
    for label, at in ((str(most), ground + high - small * 0.4), ("0", ground)):
        drawing.add(String(24, at, label, fontName=PLAIN, fontSize=small, textAnchor="end", fillColor=SOFT))
    named = max(1, round(len(weeks) / 10))
    for n, week in enumerate(weeks):
        x, wide = 30 + n * step + step * 0.14, step * 0.72
        drawing.add(_box(x + wide * 0.15, ground, wide * 0.7, high * week.cued_min / most, fill=BAR))
        drawing.add(_box(x, ground, wide, high * week.due_min / most, stroke=INK))
        if n % named == 0:
            drawing.add(String(x + wide / 2, ground - small * 1.1, week.label, fontName=PLAIN, fontSize=small,
                               textAnchor="middle", fillColor=SOFT))
    return drawing


def _box(x: float, y: float, width: float, height: float, *, fill: Color | None = None,
         stroke: Color | None = None) -> Rect:
    box = Rect(x, y, width, height)
    box.fillColor, box.strokeColor, box.strokeWidth = fill, stroke, 0.5
    return box


def _draw_foot(report: Report, canvas: Canvas, document: BaseDocTemplate) -> None:
    canvas.saveState()
    canvas.setFillColor(SOFT)
    canvas.setFont(PLAIN, 7.5)
    canvas.drawString(MARGIN, MARGIN, report.foot)
    canvas.drawRightString(A4[0] - MARGIN, MARGIN, str(document.page))
    canvas.restoreState()
