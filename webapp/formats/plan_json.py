"""wattlebird.plan/1: the settings of one exercise, read with every problem named and written canonically."""

from __future__ import annotations

from webapp.formats.json_text import as_fields
from webapp.formats.reading import Reader, finish, read_object
from webapp.stimulation import plan
from webapp.stimulation.plan import Channel, Settings

FORMAT = "wattlebird.plan/1"
MOST_MIN = 90
MOST_STEADY_MIN = 480


def _own(reader: Reader, name: str, least: float, most: float) -> float | None:
    return reader.number(name, least, most) if reader.has(name) else None


def _channel(reader: Reader) -> Channel:
    has_ma, has_level = reader.has("intensity_ma"), reader.has("intensity_level")
    if has_ma == has_level and not reader.is_broken:
        allowed, value = "intensity_ma, intensity_level", "both" if has_ma else "neither"
        reader.note(reader.path, "exactly_one", allowed=allowed, value=value)
    channel = Channel(
        pad_cm2=reader.number("pad_cm2", 0.5, 200),
        intensity_ma=reader.number("intensity_ma", 0.5, 200) if has_ma else None,
        intensity_level=reader.whole("intensity_level", 0, 1000) if has_level else None,
        frequency_hz=_own(reader, "frequency_hz", 1, 250),
        pulse_width_us=_own(reader, "pulse_width_us", 20, 1000),
    )
    reader.close()
    return channel


def _recovery_ratio(reader: Reader, waveform: str) -> float | None:
    asymmetric = waveform == "asymmetric_biphasic"
    if reader.has("recovery_ratio") and not asymmetric:
        where, value = "`waveform` is asymmetric_biphasic", waveform
        reader.note(reader.at("recovery_ratio"), "only_with", allowed=where, value=value)
        return None
    return reader.number("recovery_ratio", 1.1, 20) if asymmetric else None


def _pattern(reader: Reader, drive: str) -> str:
    pattern = reader.choice("pattern", plan.PATTERNS, "continuous")
    if pattern != "continuous" and drive != "steady":
        reader.note(reader.at("pattern"), "only_with", allowed="`drive` is steady", value=pattern)
    return pattern


def _cycle_time(reader: Reader, name: str, least: float, most: float, drive: str) -> float | None:
    if drive == "steady" and not reader.has(name):
        return None
    return reader.number(name, least, most, tenths=True)


def settings_from(reader: Reader) -> Settings:
    """Reads the settings of one object; its problems are noted in the reader."""
    reader.format(FORMAT)
    drive = reader.choice("drive", plan.DRIVES)
    waveform = reader.choice("waveform", plan.WAVEFORMS, "symmetric_biphasic")
    settings = Settings(
        drive=drive,
        frequency_hz=reader.number("frequency_hz", 1, 250),
        pulse_width_us=reader.number("pulse_width_us", 20, 1000),
        waveform=waveform,
        recovery_ratio=_recovery_ratio(reader, waveform),
        pattern=_pattern(reader, drive),
        session_min=reader.number("session_min", 1, MOST_STEADY_MIN if drive == "steady" else MOST_MIN),
        ramp_up_s=reader.number("ramp_up_s", 0, 10, 0, tenths=True),
        hold_s=_cycle_time(reader, "hold_s", 0.5, 120, drive),
        ramp_down_s=reader.number("ramp_down_s", 0, 10, 0, tenths=True),
        rest_s=_cycle_time(reader, "rest_s", 0, 300, drive),
        ramps=reader.choice("ramps", plan.RAMPS, "outside"),
        channels=tuple(_channel(one) for one in reader.objects("channels", 1, 2)),
        relation=reader.choice("relation", plan.RELATIONS, "together"),
        delay_s=reader.number("delay_s", 0, 60, 0, tenths=True),
        delay_effect=reader.choice("delay_effect", plan.DELAY_EFFECTS, "shift"),
        delay_from=reader.choice("delay_from", plan.DELAY_FROM, "contraction_end"),
        alternating_rest=reader.choice("alternating_rest", plan.ALTERNATING_RESTS, "after_both"),
        starts_with=reader.choice("starts_with", plan.STARTS_WITH, "rise"),
        at_end=reader.choice("at_end", plan.AT_END, "cut"),
    )
    reader.close()
    return settings


def read_settings(value: object) -> Settings:
    """Reads a plan; raises ReadingError with every problem. Whether its timing is possible is `timetable`'s business.

    A field that means nothing beside the others (a delay with one channel, an alternating rest where both work
    together) is read, checked and without effect; a pattern or a recovery ratio that would change the dose is refused.
    """
    reader = read_object(value)
    settings = settings_from(reader)
    finish(reader)
    return settings


def write_settings(settings: Settings) -> dict[str, object]:
    """Writes a plan as a JSON object, defaults included; `json_text.canonical_text` makes it canonical text."""
    return {"format": FORMAT, **as_fields(settings)}
