"""Reading a clip's samples as a listener would, apart from the code that made them."""

from __future__ import annotations

import io
import wave

import numpy as np
import numpy.typing as npt
import pyloudnorm  # type: ignore[import-untyped]
from scipy.signal import resample_poly  # type: ignore[import-untyped]

Samples = npt.NDArray[np.float64]


def read_wav(content: bytes) -> tuple[Samples, int]:
    """Returns samples and rate of a WAV file of 16 bits, mono."""
    with wave.open(io.BytesIO(content)) as sound:
        assert (sound.getnchannels(), sound.getsampwidth()) == (1, 2)
        pcm = np.frombuffer(sound.readframes(sound.getnframes()), dtype="<i2")
        return pcm.astype(np.float64) / 32768, sound.getframerate()


def loudness_lufs(samples: Samples, rate_hz: int) -> float:
    """Returns the BS.1770 loudness of a sound repeated to at least three seconds."""
    repeated = np.tile(samples, int(np.ceil(3 * rate_hz / len(samples))))
    return float(pyloudnorm.Meter(rate_hz).integrated_loudness(repeated))


def true_peak_dbtp(samples: Samples) -> float:
    """Returns the peak after fourfold oversampling with a polyphase filter, in dB."""
    return float(20 * np.log10(np.abs(resample_poly(samples, 4, 1)).max()))
