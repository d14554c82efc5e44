"""Photos of where the pads go: only the picture is kept; what is no photo, or too much of one, gets a clear answer."""

from __future__ import annotations

import io
import struct
import zlib
from functools import cache

import pytest
from PIL import Image, JpegImagePlugin, PngImagePlugin

from webapp.errors import Refusal
from webapp.photo import LONGEST_SIDE, clean_photo

SIDEWAYS = 6  # EXIF orientation: the camera was held upright


@cache
def photo_of_24_megapixels() -> bytes:
    """Makes a photo as a phone does: 24 megapixels, lying on its side, with the place where it was taken."""
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = SIDEWAYS, "Invented camera"
    exif.get_ifd(0x8825).update({1: "S", 2: (33.0, 52.0, 10.0), 3: "E", 4: (151.0, 12.0, 20.0)})
    picture = Image.new("RGB", (6000, 4000), (214, 170, 140))
    picture.paste((255, 255, 255), (0, 0, 3000, 4000))
    out = io.BytesIO()
    picture.save(out, "JPEG", exif=exif, comment=b"12 Mill Lane", quality=60)
    return out.getvalue()


def test_a_photo_becomes_small_upright_and_tells_nothing_but_what_it_shows() -> None:
    """24 megapixels with the place in them become a small JPEG without metadata, turned as it was held."""
    sent = photo_of_24_megapixels()
    assert b"Invented camera" in sent
    assert b"12 Mill Lane" in sent
    made = clean_photo(sent)
    picture = Image.open(io.BytesIO(made.jpeg))
    assert isinstance(picture, JpegImagePlugin.JpegImageFile)
    assert (made.width, made.height) == picture.size
    assert max(picture.size) <= LONGEST_SIDE
    assert picture.height > picture.width
    assert not dict(picture.getexif())
    assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert b"Invented" not in made.jpeg
    assert b"Mill Lane" not in made.jpeg
    middle = picture.width // 2
    assert picture.getpixel((middle, 20)) != picture.getpixel((middle, picture.height - 20))


def test_the_same_photo_gets_the_same_name() -> None:
    """A name is the hash of the file made here, so that one photo is kept once."""
    sent = photo_of_24_megapixels()
    assert clean_photo(sent).sha256 == clean_photo(sent).sha256


def png_that_claims(width: int, height: int) -> bytes:
    """Makes a PNG of a few bytes that claims to be enormous."""
    def chunk(kind: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + chunks


def small(kind: str, size: tuple[int, int], **more: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "white").save(out, kind, **more)
    return out.getvalue()


def with_long_text() -> bytes:
    told = PngImagePlugin.PngInfo()
    told.add_text("note", "x" * 5_000_000, zip=True)
    return small("PNG", (400, 400), pnginfo=told)


@pytest.mark.parametrize(("sent", "code"), [
    (b"", "photo_not_read"), (b"\xff\xd8\xff\xe0 not a picture", "photo_not_read"),
    (b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", "photo_not_read"),
    (small("GIF", (400, 400)), "photo_not_read"), (small("TIFF", (400, 400)), "photo_not_read"),
    (photo_of_24_megapixels()[:9_000], "photo_not_read"), (png_that_claims(400, 400), "photo_not_read"),
    (png_that_claims(60_000, 60_000), "photo_too_large"), (png_that_claims(9_000, 9_000), "photo_too_large"),
    (small("PNG", (100, 100)), "photo_too_small"), (small("PNG", (3000, 300)), "photo_too_small"),
    (b"\0" * 25_000_001, "photo_too_big"), (with_long_text(), "photo_not_read"),
], ids=range(13))  # fmt: skip
def test_what_is_no_photo_gets_a_clear_answer(sent: bytes, code: str) -> None:
    """Hostile and broken files are refused before they cost anything, with a sentence for people."""
    with pytest.raises(Refusal) as refused:
        clean_photo(sent)
    assert refused.value.code == code
