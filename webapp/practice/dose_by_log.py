"""The dose by the log, muscle by muscle, against the plan: contractions, flat-top seconds, these × strength as typed.

Flat-top seconds of a session = contractions that were cued × the flat top of one, as in the version of the plan that
the session was done with; of a steady exercise, the seconds that were cued. × strength: the strength that the client
typed for that session; a session without one is in the seconds and not in the product. Nothing here measures current.
The plan's side counts what was due (planned less excused, unknown and paper), at the strength that the plan sets. Dose
intensity is what was done ÷ what was due.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from webapp.practice.adherence import DayCount
from webapp.practice.schedule import PlanVersion, in_force
from webapp.practice.session import Session


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelPlan:
    """What one channel does in one whole session of a plan; `each_s` is the flat top of one contraction."""

    contractions: int
    flat_s: float
    each_s: float
    strength: float | None
    steady: bool = False


# version, exercise, planned seconds of one session → its channels
PlannedDose = Callable[[int, int, int], Sequence[ChannelPlan]]


@dataclass(slots=True, kw_only=True)
class MuscleDose:
    """One muscle, done and due, as far as it is added up.

    `shows` is what its strength is given in: products of mA and of levels never mix.

    `typed_s` are the flat-top seconds for which a strength is known; `product` is theirs, in mA·s or level·s.
    """

    muscle: str
    shows: str
    contractions: int = 0
    due_contractions: int = 0
    flat_s: float = 0.0
    due_flat_s: float = 0.0
    typed_s: float = 0.0
    product: float = 0.0
    due_product: float = 0.0

    @property
    def share(self) -> float | None:
        """Dose intensity: flat-top seconds done ÷ due."""
        return self.flat_s / self.due_flat_s if self.due_flat_s else None

    @property
    def product_share(self) -> float | None:
        return self.product / self.due_product if self.due_product else None

    @property
    def mean_strength(self) -> float | None:
        """The strength as typed, weighted by the flat-top seconds it was used for."""
        return self.product / self.typed_s if self.typed_s else None


def dose_by_muscle(sessions: Iterable[Session], days: Iterable[DayCount], versions: Sequence[PlanVersion],
                   planned: PlannedDose) -> tuple[MuscleDose, ...]:
    """Adds up what was done and what was due, muscle by muscle, in the order of the plan."""
    found: dict[tuple[str, str], MuscleDose] = {}
    for day in days:
        _add_due(found, day, versions, planned)
    for session in sessions:
        _add_done(found, session, versions, planned)
    return tuple(found.values())


def _add_due(found: dict[tuple[str, str], MuscleDose], day: DayCount, versions: Sequence[PlanVersion],
             planned: PlannedDose) -> None:
    version = in_force(versions, day.day)
    exercise = version.exercise(day.exercise) if version else None
    if version is None or exercise is None or not day.count.due_n:
        return
    channels = planned(version.version, exercise.exercise, exercise.session_s_on(day.day))
    for muscle, channel in zip(exercise.muscles, channels, strict=False):
        n, dose = day.count.due_n, _entry(found, muscle, exercise.shows)
        dose.due_contractions += n * channel.contractions
        dose.due_flat_s += n * channel.flat_s
        dose.due_product += n * channel.flat_s * (channel.strength or 0.0)


def _add_done(found: dict[tuple[str, str], MuscleDose], session: Session, versions: Sequence[PlanVersion],
              planned: PlannedDose) -> None:
    version = next((v for v in versions if v.version == session.version), None) or in_force(versions, session.day)
    exercise = version.exercise(session.exercise) if version else None
    if version is None or exercise is None:
        return
    channels = planned(version.version, exercise.exercise, session.planned_s)
    for n, (muscle, channel) in enumerate(zip(exercise.muscles, channels, strict=False)):
        contractions = session.contractions[n] if n < len(session.contractions) else 0
        strength = session.strength[n] if n < len(session.strength) else None
        flat_s = float(session.cued_s) if channel.steady else contractions * channel.each_s
        dose = _entry(found, muscle, session.shows)
        dose.contractions += contractions
        dose.flat_s += flat_s
        dose.typed_s += flat_s if strength is not None else 0.0
        dose.product += flat_s * (strength or 0.0)


def _entry(found: dict[tuple[str, str], MuscleDose], muscle: str, shows: str) -> MuscleDose:
    if (muscle, shows) not in found:
        found[muscle, shows] = MuscleDose(muscle=muscle, shows=shows)
    return found[muscle, shows]
