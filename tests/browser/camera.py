"""A camera for tests: what a lens would see of codes on a phone's screen, as a stream for Chromium's fake device."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import segno
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter  # type: ignore[import-untyped]

Picture = NDArray[np.float32]
Frame = NDArray[np.uint8]

FPS = 10
QUIET = 4  # modules round a symbol: ISO/IEC 18004
SAMPLES = 3  # a pixel is the mean of so many by so many points
ROOM, SCREEN, INK = 84.0, 232.0, 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Sight:
    """How codes come before the lens.

    `share` of the picture's height that the symbol with its quiet zone fills; `tilt` how much shorter its far side is;
    `blur` in modules (standard deviation); `noise` in grey values; `light` of the full brightness; `shade` how much
    darker one edge of the picture is; `shake` in pixels, anew in each frame.
    """

    name: str = "good"
    size: tuple[int, int] = (1280, 720)
    share: float = 0.6
    tilt: float = 0.0
    turn_deg: float = 0.0
    blur: float = 0.0
    noise: float = 2.0
    light: float = 1.0
    shade: float = 0.0
    shake: float = 1.0


GOOD = Sight()
FAIR = replace(GOOD, name="fair", tilt=0.10, turn_deg=4, blur=0.25, noise=7, light=0.75, shade=0.2, shake=3)
POOR = replace(GOOD, name="poor", tilt=0.16, turn_deg=-7, blur=0.36, noise=11, light=0.5, shade=0.4, shake=6)
DARK = replace(GOOD, name="dark", blur=0.2, noise=7, light=0.22)


def symbol(payload: str) -> Picture:
    """Draws a code as a phone does, one value a module, quiet zone included: level L, alphanumeric mode."""
    code = segno.make(payload, error="l", mode="alphanumeric", boost_error=False, micro=False)
    dark = np.pad(np.array([list(row) for row in code.matrix], np.float32), QUIET)
    return np.float32(SCREEN) - dark * np.float32(SCREEN - INK)


def _homography(corners: NDArray[np.float64], modules: int) -> NDArray[np.float64]:
    """Finds the projection from the picture to module coordinates."""
    square = np.array([[0, 0], [modules, 0], [modules, modules], [0, modules]], float)
    rows = []
    for (x, y), (u, v) in zip(corners, square, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
    solved = np.linalg.solve(np.array(rows), square.reshape(-1))
    return np.append(solved, 1).reshape(3, 3)


def _corners(sight: Sight, chance: np.random.Generator) -> NDArray[np.float64]:
    width, height = sight.size
    half = sight.share * height / 2
    square = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    square[1:3, 1] *= 1 - sight.tilt
    square[:, 0] *= 1 - sight.tilt / 2
    angle = np.deg2rad(sight.turn_deg + chance.uniform(-1, 1) * min(sight.shake, 2))
    turned = square @ np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    middle = np.array([width / 2, height / 2]) + chance.uniform(-sight.shake, sight.shake, 2)
    return np.asarray(turned + middle)


def seen(drawn: Picture | None, sight: Sight, chance: np.random.Generator) -> Frame:
    """Gives one frame of a symbol, or of a dark screen where there is none."""
    width, height = sight.size
    image = np.full((height, width), ROOM, np.float32)
    if drawn is not None:
        _put(image, drawn, _corners(sight, chance))
        image = gaussian_filter(image, sight.blur * sight.share * height / len(drawn))
    light = sight.light * np.linspace(1, 1 - sight.shade, width, dtype=np.float32)
    image = image * light + chance.normal(0, sight.noise, image.shape).astype(np.float32)
    return np.clip(image, 0, 255).astype(np.uint8)


def _put(image: Picture, drawn: Picture, corners: NDArray[np.float64]) -> None:
    """Projects a symbol into a picture, each pixel the mean of the points in it."""
    left, top = np.maximum(np.floor(corners.min(0)).astype(int), 0)
    right, bottom = np.minimum(np.ceil(corners.max(0)).astype(int), image.shape[::-1])
    to_modules, modules = _homography(corners, len(drawn)), len(drawn)
    total = np.zeros((bottom - top, right - left), np.float32)
    for dy in range(SAMPLES):
        for dx in range(SAMPLES):
            y, x = np.mgrid[top:bottom, left:right].astype(np.float32)
            x, y = x + (dx + 0.5) / SAMPLES, y + (dy + 0.5) / SAMPLES
            u, v, w = (row[0] * x + row[1] * y + row[2] for row in to_modules)
            u, v = np.floor(u / w).astype(int), np.floor(v / w).astype(int)
            inside = (u >= 0) & (u < modules) & (v >= 0) & (v < modules)
            total += np.where(inside, drawn[np.clip(v, 0, modules - 1), np.clip(u, 0, modules - 1)], ROOM)
    image[top:bottom, left:right] = total / SAMPLES**2


def loop_of(codes: Sequence[str | Picture | None], sight: Sight, seed: int = 1, frames_each: int = 4) -> list[Frame]:
    """Films one round of a loop, each code for `frames_each` tenths of a second.

    A text is drawn as a phone draws it, a picture is filmed as it is, None is a code that the lens does not see.
    """
    chance = np.random.default_rng(seed)
    return [seen(drawn, sight, chance)
            for code in codes
            for drawn in [symbol(code) if isinstance(code, str) else code]
            for _ in range(frames_each)]


def write_stream(file: Path, frames: Sequence[Frame]) -> Path:
    """Writes frames as YUV4MPEG2, which the fake device plays for ever at its own rate."""
    height, width = frames[0].shape
    grey = np.full(height * width // 2, 128, np.uint8).tobytes()
    with file.open("wb") as out:
        out.write(f"YUV4MPEG2 W{width} H{height} F{FPS}:1 Ip A1:1 C420jpeg\n".encode())
        for frame in frames:
            out.write(b"FRAME\n" + frame.tobytes() + grey)
    return file


def camera_flags(stream: Path | None) -> list[str]:
    """Gives the flags of a Chromium whose camera shows a stream; without one the camera is refused."""
    if stream is None:
        return ["--use-fake-device-for-media-stream"]
    return ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-video-capture={stream}"]
