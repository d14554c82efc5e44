"""Conversions between what people write (seconds, minutes) and what is computed with (whole milliseconds)."""

from __future__ import annotations

MS_PER_S = 1000
MS_PER_MIN = 60_000


def to_ms(seconds: float) -> int:
    """Turns seconds into whole milliseconds."""
    return round(seconds * MS_PER_S)


def minutes_to_ms(minutes: float) -> int:
    """Turns minutes into whole milliseconds."""
    return round(minutes * MS_PER_MIN)


def is_in_tenths(seconds: float) -> bool:
    """Says whether a time fits the resolution of a cycle, 0.1 s."""
    return abs(seconds * 10 - round(seconds * 10)) < 1e-6


def seconds_text(ms: int) -> str:
    """Writes milliseconds as seconds with up to three decimals."""
    whole, rest = divmod(ms, MS_PER_S)
    return f"{whole}.{rest:03d}".rstrip("0") if rest else str(whole)


def plain_number(value: float) -> int | float:
    """Gives a whole number as an int, so that it is written without a decimal point."""
    return int(value) if float(value).is_integer() else value


def number_text(value: float) -> str:
    """Writes a number for a person: four significant digits, no trailing zeros, no exponent."""
    if value and abs(value) < 1e-4:
        return f"{value:.2g}"
    text = f"{value:.{max(0, 4 - len(str(int(abs(value)))))}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def three_digits(value: float) -> str:
    """Writes what was worked out, for a person: three significant digits, no exponent."""
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}"
