"""The twelve invented clients: what they have, what they do, and what happened to them. Days count back from today."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from webapp.demo import programmes as p
from webapp.demo.programmes import Programme

Days = tuple[int, int]  # from so many days ago to so many days ago, both included


@dataclass(frozen=True, slots=True, kw_only=True)
class Issue:
    """One issued version: so many days ago, with these exercises; `words` say what changed."""

    days_ago: int
    exercises: tuple[Programme, ...]
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One client's history. Shares are of sessions; skin events map days ago to (place, answer)."""

    code: str
    first_name: str
    working_side: str
    therapist: str
    story: str
    issues: tuple[Issue, ...]
    last_day_in: int = 42  # days from today
    helper: str = ""
    done: float = 0.88  # how many planned sessions are done
    strength: tuple[float, float] = (0.86, 1.0)  # of what was found in the clinic, first and last
    pain: int = 1
    effort: int = 4
    hands_on: float = 0.05
    pink: float = 0.1  # sessions that end with an even pink patch
    ill: Days | None = None
    phone_off: Days | None = None
    idle_since: int | None = None  # nothing done from then on, though the phone was heard
    silent_since: int | None = None  # nothing came home from then on
    worn_pads: Days | None = None
    set_off: Days | None = None  # the unit was set differently from the plan
    skin: dict[int, tuple[int, int]] = field(default_factory=dict)
    pain_on: dict[int, int] = field(default_factory=dict)
    above_on: dict[int, float] = field(default_factory=dict)  # days ago: strength
    notes: dict[int, str] = field(default_factory=dict)
    answered: dict[int, str] = field(default_factory=dict)  # findings of that day were answered with this
    new_phone: int | None = None  # the first phone was withdrawn so many days ago
    opened: bool = True
    screening: dict[str, dict[str, str]] = field(default_factory=dict)  # rows answered otherwise than no, or the best
    override: tuple[str, str] | None = None  # a row that the lead overrode, and why


CASES: tuple[Case, ...] = (
    Case(
        code="SL-01",
        first_name="Delia",
        working_side="right",
        therapist="tobias",
        last_day_in=5,
        done=0.93,
        effort=5,
        story="Left leg weak after ten weeks in hospital. Wants to manage the three steps to her garden.",
        screening={"implant": {"answer": "yes", "note": "A nerve stimulator for the bladder, switched off for good."}},
        override=("implant", "Off for two years; its specialist agreed in writing. Pads on the thigh only."),
        issues=(Issue(days_ago=51, exercises=(p.knee(),)),),
        notes={12: "Two steps today!", 4: "Went up all three steps."},
    ),
    Case(
        code="SL-02",
        first_name="Olwen",
        working_side="left",
        therapist="imke",
        done=0.79,
        pink=0.2,
        story="Right hand after a stroke in spring. Fingers open a little. Retired piano teacher.",
        last_day_in=16,
        issues=(Issue(days_ago=68, exercises=(p.hand_as_in_trials(),)),),
        strength=(0.8, 1.12),
        notes={40: "Too tired for the afternoon one.", 9: "Played three notes with my thumb."},
    ),
    Case(
        code="SL-03",
        first_name="Piet",
        working_side="right",
        therapist="imke",
        helper="Joke",
        hands_on=0.95,
        pink=0.25,
        story="Left shoulder hangs and hurts after a stroke. His wife puts the pads on.",
        screening={"reaches_off": {"answer": "with_help"}},
        done=0.85,
        pain=3,
        issues=(Issue(days_ago=58, exercises=(p.shoulder_as_in_trials(),)),),
        skin={1: (0, 1)},
        notes={30: "Less pain in bed.", 15: "Slept on that side for the first time."},
    ),
    Case(
        code="SL-04",
        first_name="Ines",
        working_side="right",
        therapist="anouk",
        done=0.9,
        pink=0.3,
        strength=(0.9, 1.05),
        story="Median nerve of the left hand sewn after a cut. Thumb stays beside the finger. Works in a bakery.",
        screening={"repair": {"answer": "yes", "who": "Her hand surgeon", "on": "2025-01-06",
                              "word": "The join holds; light work of the thumb is wanted."},
                   "helper": {"answer": "nobody"}},
        issues=(
            Issue(days_ago=63, exercises=(p.thumb_as_in_pilot(),)),
            Issue(
                days_ago=33,
                exercises=(p.thumb_as_in_pilot((1, 2, 3, 4, 5)),),
                words=("Five days a week instead of four",),
            ),
        ),
        skin={24: (0, 2), 1: (1, 3)},
        notes={24: "Itched under the pad on my thumb.", 1: "Little bumps under the wrist pad."},
        answered={24: "Rang her. New pads, two days of rest, looks fine again."},
    ),
    Case(
        code="SL-05",
        first_name="Kofi",
        working_side="right",
        therapist="tobias",
        done=0.86,
        phone_off=(26, 19),
        set_off=(4, 1),
        story="Left foot drops after a stroke; catches his toes on the carpet.",
        last_day_in=9,
        strength=(0.85, 1.1),
        issues=(Issue(days_ago=40, exercises=(p.foot_as_in_trial(),)),),
        notes={18: "Phone was at the repair shop."},
    ),
    Case(
        code="SL-06",
        first_name="Hanne",
        working_side="left",
        therapist="imke",
        ill=(20, 14),
        done=0.94,
        story="Right hand weak with multiple sclerosis. Better in the mornings.",
        effort=6,
        issues=(
            Issue(days_ago=61, exercises=(replace(p.hand_simple(10), feeling="less"),)),
            Issue(days_ago=29, exercises=(replace(p.hand_simple(15), feeling="less"),),
                  words=("Fifteen minutes instead of ten",)),
        ),
        notes={13: "Back after the cold. Still weak."},
    ),
    Case(
        code="SL-07",
        first_name="Maren",
        working_side="right",
        therapist="imke",
        done=0.92,
        strength=(0.82, 1.08),
        pink=0.08,
        story="Left hand after a stroke in the summer. Wants to hold her cup and to cut bread again.",
        effort=5,
        pain=1,
        issues=(
            Issue(days_ago=72, exercises=(p.hand_open_close(10, 20),)),
            Issue(
                days_ago=44,
                exercises=(p.hand_open_close(15, 16),),
                words=("Fifteen minutes instead of ten", "Sixteen seconds of rest instead of twenty"),
            ),
            Issue(
                days_ago=18,
                exercises=(p.hand_open_close(20, 12),),
                words=("Twenty minutes instead of fifteen", "Twelve seconds of rest instead of sixteen"),
            ),
        ),
        notes={
            50: "It opens better when the arm lies on the cushion.",
            27: "Held the cup, empty.",
            6: "Held the cup with tea in it.",
            2: "Cut bread. Crooked, but bread.",
        },
    ),
    Case(
        code="SL-08",
        first_name="Tomas",
        working_side="left",
        therapist="tobias",
        silent_since=9,
        done=0.8,
        story="Right elbow will not straighten after a brain injury. Lives alone, poor reception at home.",
        issues=(Issue(days_ago=54, exercises=(p.elbow(),)),),
    ),
    Case(
        code="SL-09",
        first_name="Ruta",
        working_side="right",
        therapist="anouk",
        idle_since=6,
        done=0.62,
        effort=7,
        story="Left hand after a stroke two years ago. Loses heart easily; her son moved away last month.",
        issues=(Issue(days_ago=47, exercises=(p.grasp(),)),),
        notes={20: "I do not see that it helps."},
    ),
    Case(
        code="SL-10",
        first_name="Ansel",
        working_side="left",
        therapist="anouk",
        done=0.84,
        worn_pads=(12, 7),
        helper="Ute",
        story="Right arm after a neck injury: shoulder and hand. Two exercises, one after the other.",
        screening={"spinal_cord": {"answer": "yes", "who": "His spinal unit", "on": "2025-01-13",
                                   "word": "Agreed; Ute knows the signs and what to do."}},
        hands_on=0.4,
        issues=(Issue(days_ago=56, exercises=(p.deltoid(), p.hand_simple(15, 19, 25))),),
        pink=0.12,
        notes={11: "Pad would not stick.", 9: "Came loose twice, stopped.", 6: "New pads. All good."},
    ),
    Case(
        code="SL-11",
        first_name="Brita",
        working_side="right",
        therapist="tobias",
        done=0.89,
        pain=2,
        new_phone=16,
        story="Left foot weak after a back operation. Impatient; was told twice not to turn it up on her own.",
        issues=(Issue(days_ago=49, exercises=(p.foot_as_in_trial(),)),),
        last_day_in=21,
        pain_on={2: 7},
        above_on={2: 36},
        notes={2: "I thought more would help."},
    ),
    Case(
        code="SL-12",
        first_name="Yusuf",
        working_side="right",
        therapist="imke",
        opened=False,
        story="Left hand after a stroke five weeks ago. Plan issued at the last visit; his phone was flat.",
        issues=(Issue(days_ago=3, exercises=(p.hand_simple(10, 18, 24),)),),
    ),
)
