"""Reads QR codes in pictures by zxing-cpp, which knows nothing of the encoders that drew them."""

from __future__ import annotations

import zxingcpp
from PIL import Image
from zxingcpp import BarcodeFormat, BarcodeFormats

# of every kind of code at once it now and then takes the modules of one for a second code of another kind
_QR_ONLY = BarcodeFormats(BarcodeFormat.QRCode)


def read_codes(picture: Image.Image) -> list[str]:
    """Lists the texts of all QR codes in a picture."""
    return [found.text for found in zxingcpp.read_barcodes(picture, formats=_QR_ONLY)]
