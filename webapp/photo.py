"""A photo as it comes from a camera becomes a small JPEG without anything but the picture."""

from __future__ import annotations

import hashlib
import io
import warnings
from dataclasses import dataclass

from PIL import Image, ImageOps, UnidentifiedImageError

from webapp.errors import refuse

FORMATS = ("JPEG", "PNG", "WEBP")  # readers that are tried, no other
MOST_BYTES = 25_000_000  # as sent: a photo of 50 megapixels from a telephone is smaller
MOST_PIXELS = 60_000_000  # 240 MB while it is read; a file that claims more is refused before it is unpacked
LONGEST_SIDE = 1024  # enough for a pad on any phone's screen
LEAST_SIDE = 200
LONGEST_RATIO = 3
QUALITY = 75


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A photo made here: the file, its name (the SHA-256) and its size."""

    jpeg: bytes
    sha256: str
    width: int
    height: int


def clean_photo(sent: bytes) -> Photo:
    """Makes a photo of a file as sent: upright, small, in ordinary colours, without metadata.

    Raises a refusal with a sentence for people where the file is no picture, too big, too small or far too long.
    """
    if len(sent) > MOST_BYTES:
        raise refuse("photo_too_big", most=MOST_BYTES // 1_000_000)
    picture = _opened(sent)
    if min(picture.size) < LEAST_SIDE or max(picture.size) > LONGEST_RATIO * min(picture.size):
        raise refuse("photo_too_small", least=LEAST_SIDE)
    upright = ImageOps.exif_transpose(picture).convert("RGB")
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    bare = Image.frombytes("RGB", upright.size, upright.tobytes())  # nothing but pixels goes on
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=QUALITY, optimize=True)
    made = out.getvalue()
    return Photo(jpeg=made, sha256=hashlib.sha256(made).hexdigest(), width=bare.width, height=bare.height)


def _opened(sent: bytes) -> Image.Image:
    """Opens a file within the limits; a JPEG is read at the least size that is large enough."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # the limit here is our own
            picture = Image.open(io.BytesIO(sent), formats=FORMATS)
        if picture.width * picture.height > MOST_PIXELS:
            raise refuse("photo_too_large", most=MOST_PIXELS // 1_000_000)
        if picture.format == "JPEG":
            picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        picture.load()
    except UnidentifiedImageError as error:
        raise refuse("photo_not_read") from error
    except Image.DecompressionBombError as error:
        raise refuse("photo_too_large", most=MOST_PIXELS // 1_000_000) from error
    except (OSError, SyntaxError, ValueError, EOFError, MemoryError) as error:
        raise refuse("photo_not_read") from error
    return picture
