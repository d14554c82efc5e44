"""A payload as a QR code in SVG; the only import of segno."""

from __future__ import annotations

import segno


def qr_svg(payload: str, label: str) -> str:
    """Draws a QR code (error level M, four modules of quiet zone, black on white in any colour scheme).

    `label` is what a screen reader says instead; the SVG has no size of its own, the page gives it one.
    """
    code = segno.make(payload, error="m", micro=False)
    width, height = code.symbol_size(border=4)
    drawing = code.svg_inline(border=4, omitsize=True, dark="#000", light="#fff", svgclass="qr", lineclass=None)
    name = label.replace("&", "&amp;").replace('"', "&quot;").replace("<", "&lt;")
    start = f'<svg viewBox="0 0 {width} {height}" class="qr"'
    if not drawing.startswith(start):
        raise ValueError("segno draws its SVG in another shape than it did")
    return f'{start} role="img" aria-label="{name}" shape-rendering="crispEdges"{drawing[len(start) :]}'
