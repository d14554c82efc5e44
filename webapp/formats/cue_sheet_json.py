"""wattlebird.cue_sheet/1: what the phone plays."""

from __future__ import annotations

from webapp.formats.json_text import as_fields
from webapp.formats.reading import Reader, finish, read_object, shown
from webapp.stimulation import plan
from webapp.stimulation.cue_levels import LessSaid, Sound
from webapp.stimulation.cue_sheet import ChannelSheet, Cue, CueSheet, Phrase

FORMAT = "wattlebird.cue_sheet/1"
PHASES = ("ready", "rise", "hold", "ease", "rest", "finished", "halfway", "one_minute")
TONES = ("rise", "hold", "ease", "rest", "finished", "")
MOST_MS = 40_000_000
MOST_CUES = 200_000


def write_cue_sheet(sheet: CueSheet) -> dict[str, object]:
    """Writes a cue sheet as a JSON object."""
    return {"format": FORMAT, **as_fields(sheet)}


def _whole_row(reader: Reader, path: str, value: object, length: int) -> tuple[int, ...]:
    if (
        isinstance(value, list)
        and len(value) == length
        and all(type(one) is int and 0 <= one <= MOST_MS for one in value)
    ):
        return tuple(value)
    reader.note(path, "list", least=length, most=length, value=shown(value))
    return (0,) * length


def _channel(reader: Reader) -> ChannelSheet:
    hill = [_whole_row(reader, path, one, 2) for path, one in reader.entries("hill", 2, 12)]
    sheet = ChannelSheet(
        channel=reader.whole("channel", 1, 2),
        contractions=reader.whole("contractions", 0, 100_000),
        on_ms=reader.whole("on_ms", 0, MOST_MS),
        hill=tuple((ms, level) for ms, level in hill),
    )
    reader.close()
    return sheet


def _phrase(reader: Reader) -> Phrase:
    phrase = Phrase(
        tone=reader.choice("tone", TONES),
        channels=tuple(int(str(one)) for _, one in reader.entries("channels", 1, 2) if one in (1, 2)),
        phase=reader.choice("phase", PHASES),
        text=reader.text("text", 400),
        clip=reader.text("clip", 18),
        seconds=reader.flag("seconds"),
    )
    reader.close()
    return phrase


def _cues(reader: Reader, phrases: int) -> tuple[Cue, ...]:
    cues = []
    last = Cue(0, 0, 0, 0, 0, 0, 0, 0, 0)
    for path, row in reader.entries("cues", 1, MOST_CUES):
        cue = Cue(*_whole_row(reader, path, row, 9))
        if cue.phrase >= phrases or cue.said > 2:
            reader.note(path, "whole_number", least=0, most=max(phrases - 1, 0), value=cue.phrase)
        if cue.at_ms < last.at_ms or any(now < before for now, before in zip(cue[5:], last[5:], strict=True)):
            reader.note(path, "order", value=cue.at_ms)
        cues.append(cue)
        last = cue
    return tuple(cues)


def _sounds(reader: Reader, name: str, phrases: int) -> tuple[Sound, ...]:
    sounds = []
    last_ms = 0
    for path, row in reader.entries(name, 0, MOST_CUES):
        sound = Sound(*_whole_row(reader, path, row, 3))
        if sound.phrase >= phrases or not 0 < sound.said <= 2:
            reader.note(path, "whole_number", least=0, most=max(phrases - 1, 0), value=sound.phrase)
        if sound.at_ms < last_ms:
            reader.note(path, "order", value=sound.at_ms)
        sounds.append(sound)
        last_ms = sound.at_ms
    return tuple(sounds)


def _less_said(sheet: Reader, phrases: int) -> LessSaid | None:
    """Reads the sounds of the lower levels; sheets of earlier packs have none."""
    if not sheet.has("less_said"):
        return None
    reader = sheet.object("less_said")
    less = LessSaid(work=_sounds(reader, "work", phrases), milestones=_sounds(reader, "milestones", phrases))
    reader.close()
    return less


def read_cue_sheet(value: object) -> CueSheet:
    """Reads a cue sheet; raises ReadingError with every problem."""
    reader = read_object(value)
    reader.format(FORMAT)
    phrases = tuple(_phrase(one) for one in reader.objects("phrases", 1, 100))
    sheet = CueSheet(
        exercise=reader.whole("exercise", 1, 4),
        drive=reader.choice("drive", plan.DRIVES),
        session_ms=reader.whole("session_ms", 1, MOST_MS),
        cycle_ms=reader.whole("cycle_ms", 1, MOST_MS),
        first_rise_ms=reader.whole("first_rise_ms", 0, MOST_MS),
        at_end=reader.choice("at_end", plan.AT_END),
        may_run_on_ms=reader.whole("may_run_on_ms", 0, MOST_MS),
        channels=tuple(_channel(one) for one in reader.objects("channels", 1, 2)),
        phrases=phrases,
        cues=_cues(reader, len(phrases)),
        less_said=_less_said(reader, len(phrases)),
    )
    reader.close()
    finish(reader)
    return sheet
