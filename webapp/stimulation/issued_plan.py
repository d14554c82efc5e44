"""The issued plan, wattlebird.issued/1: what a client is given. Immutable; a change is a new version."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.stimulation.cue_sheet import Wording
from webapp.stimulation.plan import Settings
from webapp.stimulation.stimulator import Stimulator


@dataclass(frozen=True, slots=True, kw_only=True)
class Pad:
    """One pad: its place in plain words, the mark of its lead, its size and shape.

    `x_mm`, `y_mm`: its middle on the channel's drawing, in mm of a right limb; `photo_x`, `photo_y`: on the channel's
    photo, in thousandths of its width.
    """

    place: str
    mark: str
    width_cm: float
    height_cm: float
    shape: str = "square"
    x_mm: float | None = None
    y_mm: float | None = None
    photo_x: int | None = None
    photo_y: int | None = None
    sensation: str = ""  # full, less, none; empty: not asked (plans of earlier releases)


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstTrial:
    """What the muscle did in the clinic, in the measure of the channel's ceiling.

    Where feeling is less or lost, `comfortable_most` is the strength at which the whole movement was seen.
    """

    movement_seen: bool = True
    first_feeling: float | None = None
    first_movement: float | None = None
    comfortable_most: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedChannel:
    """One channel of an exercise; exactly one ceiling, in the measure of its strength; the pads' gap where measured.

    `view` names the drawing that its pads are shown on and `photo` the photo beside it (the SHA-256 of its
    file), `photo_height` thousandths of its width high.
    """

    name: str
    muscle: str
    pads: tuple[Pad, ...]
    ceiling_ma: float | None = None
    ceiling_level: int | None = None
    second_place: str = ""
    pads_apart_cm: float | None = None
    view: str | None = None
    photo: str | None = None
    photo_height: int | None = None
    trial: FirstTrial | None = None

    @property
    def ceiling(self) -> float:
        """The ceiling in its own measure."""
        found = self.ceiling_level if self.ceiling_ma is None else self.ceiling_ma
        return 0 if found is None else found


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUpStep:
    """One step of setting up, `part` one of pads, unit, arm, phone; `short`: also in the short daily set-up."""

    step: int
    part: str
    text: str
    picture: str = ""
    short: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class MinutesFrom:
    """The minutes of a session from a day on."""

    from_day: str
    session_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """One exercise of a plan. `days` are ISO weekdays, 1 Monday to 7 Sunday.

    With `sensory_loss` the client goes by the movement, never by the feeling. From `short_steps_from` on the set-up is
    the short one; empty: never. `skin_at_rest` is the colour under the pads as it was when the plan was issued.
    `tried_on` and `tried_by` say when and by whom the first trial was done; plans of earlier releases do not.
    """

    exercise: int
    title: str
    movement: str
    muscles: tuple[str, ...]
    side: str
    settings: Settings
    stimulator: Stimulator
    channels: tuple[PlannedChannel, ...]
    wording: tuple[Wording, ...]
    task: str
    looks_right: str
    set_up_steps: tuple[SetUpStep, ...]
    times_a_day: int
    days: tuple[int, ...]
    slots: tuple[str, ...]
    ready: bool = False
    sensory_loss: bool = False
    pace: str | None = None  # own: the client's own; else the plan's
    walking: bool | None = None
    minutes_by_date: tuple[MinutesFrom, ...] = ()
    short_steps_from: str = ""
    skin_at_rest: str = ""
    tried_on: str | None = None
    tried_by: str | None = None

    @property
    def ceilings(self) -> tuple[float, ...]:
        """The ceiling of each channel."""
        return tuple(channel.ceiling for channel in self.channels)

    def minutes_on(self, day: str) -> float:
        """Gives the minutes of a session on a day (YYYY-MM-DD)."""
        reached = [one.session_min for one in self.minutes_by_date if one.from_day <= day]
        return reached[-1] if reached else self.settings.session_min


@dataclass(frozen=True, slots=True, kw_only=True)
class Asks:
    """What the client is asked, and how often: each, first_last or never."""

    pain: str
    effort: str
    help: str
    note: str
    skin_later: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """Whom to call, when, and what about a burn."""

    who: str
    phone: str
    when: str
    skin: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Clinic:
    """The clinic as it stands on the sheet."""

    name: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What changed in a version, in the client's words, and what to do on the unit."""

    version: int
    words: tuple[str, ...]
    unit_changed: bool
    unit_steps: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Overridden:
    """A row of the screening that says *not at home* and was overridden: what, why, by whom, on which day."""

    item: str
    words: str
    reason: str
    by: str
    on: str


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedPlan:
    """A plan as issued. It holds no name of the client, only the code.

    `dysreflexia`: the pages say what to do about it. `helper`: beside them each_time, sometimes, nobody, or unknown.
    """

    client_code: str
    plan: int
    version: int
    language: str
    issued_on: str
    first_day: str
    last_day: str
    working_side: str
    least_hours_between: int
    most_per_day: int
    time_zone: str
    asks: Asks
    exercises: tuple[Exercise, ...]
    cautions: tuple[str, ...]
    call: Call
    emergency: str
    clinic: Clinic
    changes: tuple[Change, ...] = ()
    pads_sessions: int | None = None  # a set of pads is changed after so many sessions
    dysreflexia: bool = False
    helper: str = ""
    overrides: tuple[Overridden, ...] = ()
