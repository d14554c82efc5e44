"""Loudness of short sounds: measuring, levelling and limiting.

Loudness is that of ITU-R BS.1770 (by pyloudnorm), which gates on blocks of 400 ms: a shorter sound cannot be measured
and a short one is measured wrongly, so each sound is repeated to at least three seconds for the measurement only.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Samples = npt.NDArray[np.float64]

CEILING_DBTP = -1.5
LEAST_MEASURED_S = 3.0
OVERSAMPLING = 4
_LIMIT_DBTP = CEILING_DBTP - 0.1  # rounding to 16 bits and smoothing of the gain may add a little
_REACH_S = 0.005
_ROUNDS = 6
_CLOSE_LU = 0.02


def loudness_lufs(samples: Samples, rate_hz: int) -> float:
    """Returns the integrated loudness of a sound repeated to three seconds."""
    import pyloudnorm  # type: ignore[import-untyped]  # here: it loads SciPy, a second that most starts can do without

    times = max(1, int(np.ceil(LEAST_MEASURED_S * rate_hz / len(samples))))
    return float(pyloudnorm.Meter(rate_hz).integrated_loudness(np.tile(samples, times)))


def _oversampled(samples: Samples) -> Samples:
    """Interpolates to four times the rate by zero-padding the spectrum."""
    pad = 256  # silence at both ends keeps the spectrum's wrap-around away from the sound
    padded = np.pad(samples, pad)
    fine = np.fft.irfft(np.fft.rfft(padded), len(padded) * OVERSAMPLING) * OVERSAMPLING
    return fine[pad * OVERSAMPLING : (pad + len(samples)) * OVERSAMPLING]


def true_peak_dbtp(samples: Samples) -> float:
    """Returns the highest level between samples too, in dB of full scale."""
    return float(20 * np.log10(np.max(np.abs(_oversampled(samples))) + 1e-12))


def limit(samples: Samples, rate_hz: int) -> Samples:
    """Turns a sound down only round peaks above the ceiling, looking ahead so that nothing is clipped.

    The gain at each sample is the smallest that any sample within 5 ms needs, then smoothed over the same reach: so it
    is nowhere above what its own sample needs.
    """
    ceiling = 10 ** (_LIMIT_DBTP / 20)
    peaks = np.abs(_oversampled(samples)).reshape(-1, OVERSAMPLING).max(axis=1)
    needed = np.minimum(1.0, ceiling / np.maximum(peaks, 1e-12))
    reach = int(_REACH_S * rate_hz)
    lowest = np.lib.stride_tricks.sliding_window_view(np.pad(needed, reach, mode="edge"), 2 * reach + 1).min(axis=1)
    bell = np.hanning(2 * reach + 3)[1:-1]
    gain = np.convolve(np.pad(lowest, reach, mode="edge"), bell / bell.sum(), mode="valid")
    return samples * gain


def level(samples: Samples, rate_hz: int, target_lufs: float) -> Samples:
    """Brings a sound to a loudness, with its true peak at or under the ceiling."""
    gain_db = target_lufs - loudness_lufs(samples, rate_hz)
    levelled = samples
    for _ in range(_ROUNDS):
        levelled = limit(samples * 10 ** (gain_db / 20), rate_hz)
        missing = target_lufs - loudness_lufs(levelled, rate_hz)
        if abs(missing) < _CLOSE_LU:
            break
        gain_db += missing
    return levelled
