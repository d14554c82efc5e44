"""The exercises of the demo's plans. Where a figure comes from a published study it is named; all else is ours.

Pads lie where `stimulation.placement` says; what the study does not give (ramps, hold, rest, strength) is ours.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from webapp.demo.units import ONE_CHANNEL, TWO_CHANNELS, Raw
from webapp.prescribing.set_up_steps import set_up_steps
from webapp.stimulation.placement import movement
from webapp.translations import Translate

WORKDAYS = (1, 2, 3, 4, 5)
EVERY_DAY = (1, 2, 3, 4, 5, 6, 7)


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """One channel: its movement (where the pads lie), name, strength found in the clinic, ceiling, what is said."""

    movement: str
    name: str
    strength: float
    ceiling: float
    say: tuple[str, str, str, str]  # rise, hold, ease, rest


@dataclass(frozen=True, slots=True, kw_only=True)
class Programme:
    """One exercise of a plan."""

    title: str
    channels: tuple[Channel, ...]
    settings: dict[str, Any]
    task: str
    looks_right: str
    days: tuple[int, ...] = WORKDAYS
    slots: tuple[str, ...] = ("morning",)
    unit: Raw = field(default_factory=lambda: TWO_CHANNELS)
    feeling: str = "full"  # under each pad: full, less, none


OPEN = Channel(
    movement="open_hand",
    name="opening the hand",
    strength=22,
    ceiling=28,
    say=("Starting: reach and open", "Keep it open", "Letting go", "Time to rest"),
)
CLOSE = Channel(
    movement="grasp",
    name="closing the hand",
    strength=18,
    ceiling=24,
    say=("Starting: close your hand", "Hold it closed", "Letting go", "Time to rest"),
)


def hand_open_close(session_min: int, rest_s: int) -> Programme:
    """Ours: opening and closing in turn, the rest getting shorter from version to version."""
    return Programme(
        title="Opening and closing the hand",
        channels=(OPEN, CLOSE),
        settings={
            "frequency_hz": 35,
            "pulse_width_us": 250,
            "session_min": session_min,
            "ramp_up_s": 1,
            "hold_s": 6,
            "ramp_down_s": 1,
            "rest_s": rest_s,
            "relation": "alternating",
            "delay_s": 1,
        },
        task="Reach for a cup, open your hand round it, and close it. Put it back.",
        looks_right="The wrist lifts first, then all fingers open. After that they all close.",
        days=EVERY_DAY,
    )


def hand_as_in_trials() -> Programme:
    """Opening the hand, 35 Hz, two sessions of 29 minutes on five days a week for twelve weeks.

    Dose: home regimen of a multi-site trial, protocol in Trials 2022 (s13063-022-06303-y), regimen table: 2 × 29 min,
    ten sessions a week, 12 weeks. Frequency: 35 Hz of 35 against 50 Hz, Sentandreu-Mañó et al., Sci Rep 2021;11
    (abstract). Pulse width, ramps, hold, rest and strength are ours.
    """
    return Programme(
        title="Opening the hand",
        channels=(OPEN,),
        settings={
            "frequency_hz": 35,
            "pulse_width_us": 300,
            "session_min": 29,
            "ramp_up_s": 1,
            "hold_s": 5,
            "ramp_down_s": 1,
            "rest_s": 10,
        },
        task="Open your hand, wide, over the edge of the table.",
        looks_right="All fingers open, the wrist stays up.",
        slots=("morning", "afternoon"),
    )


def shoulder_as_in_trials() -> Programme:
    """Holding the shoulder in its socket: 30 Hz, 250 µs, 30 minutes, five days a week.

    The commonest figures in a scoping review of shoulder stimulation, NeuroRehabilitation 2023 (NRE-220301), and a
    meta-analysis, Clin Rehabil 2017;31:1431 (abstracts): 30 Hz, 250 µs, 30 to 60 minutes, five to seven days a week.
    Ramps, hold and rest are ours. The unit shows levels: no electrical figure is known, and none is given.
    """
    return Programme(
        title="Holding the shoulder",
        unit=ONE_CHANNEL,
        channels=(
            Channel(
                movement="shoulder_subluxation",
                name="shoulder",
                strength=11,
                ceiling=15,
                say=("Starting: shoulder up", "Keep it lifted", "Letting it down", "Time to rest"),
            ),
        ),
        settings={
            "frequency_hz": 30,
            "pulse_width_us": 250,
            "session_min": 30,
            "ramp_up_s": 3,
            "hold_s": 14,
            "ramp_down_s": 3,
            "rest_s": 14,
            "ramps": "inside",
        },
        task="Sit upright with the arm on the cushion. Let the shoulder lift.",
        looks_right="The upper arm moves up into the shoulder. The neck stays loose.",
    )


def thumb_as_in_pilot(days: tuple[int, ...] = (1, 2, 4, 5)) -> Programme:
    """Thumb across the palm, 20 Hz, four times a week for a month.

    High against low frequency on the thumb's muscles at home, Top Stroke Rehabil 2013 (abstract): 20 Hz of 20 against
    40 Hz, four a week, one month. Pulse width was not confirmed there; it, the minutes and the rhythm are ours.
    """
    return Programme(
        title="Thumb across the palm",
        channels=(
            Channel(
                movement="thumb_opposition",
                name="thumb",
                strength=11,
                ceiling=15,
                say=("Starting: bring your thumb across", "Keep it there", "Letting go", "Time to rest"),
            ),
        ),
        settings={
            "frequency_hz": 20,
            "pulse_width_us": 200,
            "session_min": 15,
            "ramp_up_s": 1,
            "hold_s": 5,
            "ramp_down_s": 1,
            "rest_s": 10,
        },
        task="Bring the thumb to the little finger. Pick up a coin.",
        looks_right="The thumb comes over, not just up.",
        days=days,
        slots=("afternoon",),
    )


def foot_as_in_trial() -> Programme:
    """Lifting the foot: 20 minutes, three times a week for seven weeks.

    Dose of Yang et al., PLoS One 2018;13:e0208609 (abstract). Frequency, pulse width, rhythm and strength are ours.
    """
    return Programme(
        title="Lifting the foot",
        channels=(
            Channel(
                movement="ankle_dorsiflexion",
                name="foot",
                strength=26,
                ceiling=34,
                say=("Starting: lift your foot", "Keep it lifted", "Letting it down", "Time to rest"),
            ),
        ),
        settings={
            "frequency_hz": 35,
            "pulse_width_us": 300,
            "session_min": 20,
            "ramp_up_s": 1,
            "hold_s": 5,
            "ramp_down_s": 1,
            "rest_s": 12,
        },
        task="Sit with the heel on the floor. Lift the toes.",
        looks_right="The foot comes straight up.",
        days=(1, 3, 5),
    )


def hand_simple(minutes: int = 15, strength: float = 20, ceiling: float = 26) -> Programme:
    """Ours."""
    return Programme(
        title="Opening the hand",
        channels=(
            Channel(movement="open_hand", name="opening the hand", strength=strength, ceiling=ceiling, say=OPEN.say),
        ),
        settings={
            "frequency_hz": 35,
            "pulse_width_us": 250,
            "session_min": minutes,
            "ramp_up_s": 1,
            "hold_s": 5,
            "ramp_down_s": 1,
            "rest_s": 15,
        },
        task="Open your hand and let go of the sponge.",
        looks_right="The wrist lifts, then the fingers open.",
    )


def elbow(minutes: int = 20) -> Programme:
    """Ours."""
    return Programme(
        title="Straightening the elbow",
        channels=(
            Channel(
                movement="elbow_extension",
                name="elbow",
                strength=28,
                ceiling=36,
                say=("Starting: push it away", "Keep it straight", "Letting go", "Time to rest"),
            ),
        ),
        settings={
            "frequency_hz": 35,
            "pulse_width_us": 300,
            "session_min": minutes,
            "ramp_up_s": 1.5,
            "hold_s": 5,
            "ramp_down_s": 1,
            "rest_s": 12,
        },
        task="Slide the cloth away from you on the table.",
        looks_right="The elbow straightens, the shoulder stays down.",
    )


def grasp() -> Programme:
    """Ours."""
    return Programme(
        title="Closing the hand",
        channels=(Channel(movement="grasp", name="closing the hand", strength=17, ceiling=22, say=CLOSE.say),),
        settings={
            "frequency_hz": 30,
            "pulse_width_us": 200,
            "session_min": 15,
            "ramp_up_s": 1,
            "hold_s": 4,
            "ramp_down_s": 1,
            "rest_s": 12,
        },
        task="Close your hand round the rolled towel.",
        looks_right="All fingers close, the wrist does not bend down.",
        days=EVERY_DAY,
    )


def deltoid() -> Programme:
    """Ours."""
    return Programme(
        title="Arm out to the side",
        channels=(
            Channel(
                movement="shoulder_abduction",
                name="shoulder",
                strength=24,
                ceiling=32,
                say=("Starting: arm to the side", "Keep it there", "Letting it down", "Time to rest"),
            ),
        ),
        settings={
            "frequency_hz": 35,
            "pulse_width_us": 250,
            "session_min": 15,
            "ramp_up_s": 2,
            "hold_s": 5,
            "ramp_down_s": 2,
            "rest_s": 15,
        },
        task="Lift the elbow a hand's breadth from your side.",
        looks_right="The elbow moves out, the neck stays loose.",
    )


def knee() -> Programme:
    """Ours."""
    return Programme(
        title="Straightening the knee",
        channels=(
            Channel(
                movement="knee_extension",
                name="thigh",
                strength=38,
                ceiling=50,
                say=("Starting: stretch your leg out", "Keep it straight", "Letting it down", "Time to rest"),
            ),
        ),
        settings={
            "frequency_hz": 50,
            "pulse_width_us": 300,
            "session_min": 20,
            "ramp_up_s": 2,
            "hold_s": 6,
            "ramp_down_s": 1,
            "rest_s": 20,
        },
        task="Sit on the bed with a roll under the knee. Lift the heel.",
        looks_right="The kneecap moves up, the heel lifts.",
    )


def write_exercise(programme: Programme, number: int, side: str, working_side: str, t: Translate) -> Raw:
    """Writes an exercise as an issued plan holds it, its set-up steps made from the unit and the pads."""
    level = programme.unit["shows"] == "level"
    measure, ceiling = ("intensity_level", "ceiling_level") if level else ("intensity_ma", "ceiling_ma")
    exercise: Raw = {
        "exercise": number,
        "title": programme.title,
        "movement": programme.channels[0].movement,
        "side": side,
        "muscles": [t(key) for c in programme.channels for key in _muscles(c)],
        "settings": {
            "format": "wattlebird.plan/1",
            "drive": "cycled",
            "waveform": "symmetric_biphasic",
            **programme.settings,
            "channels": [{measure: c.strength, "pad_cm2": _area(c)} for c in programme.channels],
        },
        "stimulator": programme.unit,
        "channels": [
            {
                "name": c.name,
                "muscle": ", ".join(t(key) for key in _muscles(c)),
                ceiling: c.ceiling,
                "trial": _trial(c),
                "pads": _pads(programme, n, t),
                "second_place": "",
                **_view(c),
            }
            for n, c in enumerate(programme.channels)
        ],
        "wording": [dict(zip(("rise", "hold", "ease", "rest"), c.say, strict=True)) for c in programme.channels],
        "ready": False,
        "task": programme.task,
        "looks_right": programme.looks_right,
        "times_a_day": len(programme.slots),
        "days": list(programme.days),
        "slots": list(programme.slots),
        "minutes_by_date": [],
        "sensory_loss": programme.feeling != "full",
        "skin_at_rest": "Even, dry, as on the other side",
    }
    return exercise | {"set_up_steps": set_up_steps(exercise, working_side, t)}


def _trial(channel: Channel) -> Raw:
    """Ours: the feeling comes well before the movement, the comfortable maximum is the ceiling."""
    return {"first_feeling": round(channel.strength * 0.4), "first_movement": round(channel.strength * 0.7),
            "comfortable_most": channel.ceiling}


def _muscles(channel: Channel) -> tuple[str, ...]:
    found = movement(channel.movement)
    return found.muscles if found else ()


def _area(channel: Channel) -> float:
    found = movement(channel.movement)
    if found is None:
        return 25.0
    round_part = 0.785398 if found.pads.shape == "round" else 1
    return round(found.pads.width_cm * found.pads.height_cm * round_part, 2)


def _view(channel: Channel) -> Raw:
    found = movement(channel.movement)
    return {"view": found.pads.view} if found else {}


def _pads(programme: Programme, n: int, t: Translate) -> list[Raw]:
    found, unit = movement(programme.channels[n].movement), programme.unit["channels"][n]
    if found is None:
        return []
    return [
        {
            "place": t(place),
            "mark": unit[f"lead_mark_{letter}"],
            "width_cm": found.pads.width_cm,
            "height_cm": found.pads.height_cm,
            "shape": found.pads.shape,
            "sensation": programme.feeling,
            "x_mm": at[0],
            "y_mm": at[1],
        }
        for place, letter, at in zip((found.pads.first, found.pads.second), "ab", found.pads.at, strict=True)
    ]
