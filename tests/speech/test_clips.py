"""Spoken clips: the right loudness, trimmed, the same bytes each time, and nothing spoken that should not be."""

from __future__ import annotations

import unicodedata
from hashlib import sha256
from pathlib import Path

import numpy as np
import pyloudnorm  # type: ignore[import-untyped]
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.speech.sounds import loudness_lufs, read_wav, true_peak_dbtp
from webapp.speech import voice
from webapp.speech.clips import Clip, SpeechError, render_clip, sanitise

PHRASES = (
    "Starting: reach and open",
    "Keep it open",
    "Letting go",
    "Rest now",
    "Get ready",
    "Lift your foot and step",
    "Halfway there",
    "One more minute",
    "Press your switch now",
    "All done for this session",
)


@pytest.fixture(scope="module")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("clips")


@pytest.fixture(scope="module")
def spoken(cache: Path) -> list[Clip]:
    return [render_clip(text, "en-GB", cache) for text in PHRASES]


def test_the_reference_meter_agrees_with_ebu_tech_3341() -> None:
    """A stereo sine of 1 kHz at −23 dBFS reads −23 LUFS (EBU Tech 3341, first signal of its table)."""
    time_s = np.arange(20 * 48_000) / 48_000
    sine = 10 ** (-23 / 20) * np.sin(2 * np.pi * 1000 * time_s)
    assert pyloudnorm.Meter(48_000).integrated_loudness(np.stack([sine, sine], axis=1)) == pytest.approx(-23, abs=0.1)


def test_clips_are_equally_loud(spoken: list[Clip]) -> None:
    """Every clip is within 0.5 LU of −16 LUFS, and says of itself what is measured."""
    for clip in spoken:
        measured = loudness_lufs(*read_wav(clip.wav))
        assert measured == pytest.approx(-16, abs=0.5), clip.text
        assert clip.lufs == pytest.approx(measured, abs=0.02)


@pytest.mark.parametrize(("language", "text"), [("de", "Los: greifen und öffnen"), ("fr", "Départ : tendez et ouvrez"),
                                                ("de", "Noch eine Minute"), ("fr", "Encore 5 minutes")])  # fmt: skip
def test_other_languages_are_as_loud_and_speak_otherwise(cache: Path, language: str, text: str) -> None:
    """The same loudness and rate as English, another sound, the same bytes each time; mark-up is not read aloud."""
    clip = render_clip(text, language, cache)
    samples, rate_hz = read_wav(clip.wav)
    assert rate_hz == 24_000
    assert loudness_lufs(samples, rate_hz) == pytest.approx(-16, abs=0.5)
    assert true_peak_dbtp(samples) <= -1.5
    assert 0.4 < len(samples) / rate_hz < 3
    assert clip.sha256 != render_clip(text, "en", cache).sha256
    assert render_clip(f"<b>{text}</b> &".replace("<b>", "<").replace("</b>", ">"), language, cache).wav == clip.wav


def test_clips_do_not_overload_a_converter(spoken: list[Clip]) -> None:
    """The true peak, by another oversampling filter than the product's, is at or under −1.5 dB."""
    for clip in spoken:
        measured = true_peak_dbtp(read_wav(clip.wav)[0])
        assert measured <= -1.5, clip.text
        assert clip.dbtp == pytest.approx(measured, abs=0.15)


def test_clips_begin_and_end_with_the_words(spoken: list[Clip]) -> None:
    """The voice is heard within 40 ms of a clip's start and until 160 ms before its end; the onset is named to 1 ms."""
    for clip in spoken:
        samples, rate_hz = read_wav(clip.wav)
        loud = np.flatnonzero(np.abs(samples) > 0.01 * np.abs(samples).max())
        assert 1000 * loud[0] / rate_hz == pytest.approx(clip.onset_ms, abs=1)
        assert clip.onset_ms < 40, clip.text
        assert (len(samples) - loud[-1]) / rate_hz < 0.16, clip.text


def test_a_clip_describes_its_file(spoken: list[Clip]) -> None:
    """Rate, length, hash and name are those of the bytes and the text."""
    for clip in spoken:
        samples, rate_hz = read_wav(clip.wav)
        assert rate_hz == 24_000
        assert clip.samples == len(samples)
        assert clip.dur_ms == pytest.approx(1000 * len(samples) / rate_hz, abs=0.5)
        assert clip.sha256 == sha256(clip.wav).hexdigest()
        assert clip.id == "c-" + sha256(clip.text.encode()).hexdigest()[:16]


def test_the_same_text_gives_the_same_bytes(spoken: list[Clip], tmp_path: Path) -> None:
    """An empty cache changes nothing."""
    for clip in spoken[:3]:
        assert render_clip(clip.text, "en", tmp_path) == clip


def test_a_rendered_clip_is_not_spoken_again(spoken: list[Clip], cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the engine out of reach the cache still answers, and only the cache."""

    def silent(*_: str) -> None:
        raise AssertionError("spoken again")

    monkeypatch.setattr(voice, "speak", silent)
    assert render_clip(PHRASES[0], "en", cache) == spoken[0]
    with pytest.raises(AssertionError, match="spoken again"):
        render_clip("A sentence nobody rendered", "en", cache)


@pytest.mark.parametrize("damage", [b"", b"RIFF", None])
def test_a_damaged_cache_is_rendered_anew(spoken: list[Clip], tmp_path: Path, damage: bytes | None) -> None:
    """A clip cut short or gone from the folder does not reach a phone."""
    render_clip(PHRASES[1], "en", tmp_path)
    (kept,) = tmp_path.glob("*.wav")
    kept.unlink() if damage is None else kept.write_bytes(damage)
    assert render_clip(PHRASES[1], "en", tmp_path) == spoken[1]


def test_mark_up_is_not_read_aloud(cache: Path) -> None:
    """Signs of mark-up and control characters change nothing in what is heard."""
    plain = render_clip("Hold wait", "en", cache)
    assert render_clip("<Hold>\x00 &\n wait", "en", cache).sha256 == plain.sha256


@pytest.mark.parametrize("text", ["", "   ", "…!", "<&>"])
def test_nothing_to_say_is_refused(text: str, cache: Path) -> None:
    """A text without a letter or a digit is named as empty."""
    with pytest.raises(SpeechError) as refused:
        render_clip(text, "en", cache)
    assert refused.value.key == "speech.empty"


def test_a_long_text_is_refused_with_its_length(cache: Path) -> None:
    """81 characters are too many and 80 are not."""
    with pytest.raises(SpeechError) as refused:
        render_clip("a" * 81, "en", cache)
    assert refused.value.key == "speech.too_long"
    assert (refused.value.params["limit"], refused.value.params["length"]) == (80, 81)
    assert sanitise("a" * 80) == "a" * 80


def test_a_language_without_a_voice_is_refused(cache: Path) -> None:
    """The refusal names the language."""
    with pytest.raises(SpeechError) as refused:
        render_clip("Loslaten", "nl", cache)
    assert (refused.value.key, refused.value.params) == ("speech.no_voice", {"language": "nl"})


@given(st.text(max_size=120))
def test_what_is_spoken_is_clean_and_short(text: str) -> None:
    """Any text is either refused or comes out without control characters, mark-up and more than 80 characters."""
    try:
        spoken = sanitise(text)
    except SpeechError:
        return
    assert len(spoken) <= 80
    assert not set(spoken) & set("<>&")
    assert not any(unicodedata.category(character).startswith("C") for character in spoken)
    assert sanitise(spoken) == spoken
