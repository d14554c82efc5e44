"""What the builder shows of where the pads go: the drawings, what to know of a movement, findings about places."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from webapp.drawing.views import VIEWS
from webapp.guidance.sources import source
from webapp.prescribing.checking import CheckedDraft, Found
from webapp.prescribing.drafting import Typed, channel_count, text
from webapp.prescribing.editing import Choice
from webapp.prescribing.placing import channel_photo, channel_picture, letter_of
from webapp.stimulation.placement import Movement, movement
from webapp.translations import Translate


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownMovement:
    """What to know of a movement, in words."""

    title: str
    muscles: str
    nerve: str
    right: str
    wrong: str
    cautions: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacingPage:
    """The pads of a draft with what it was checked against."""

    draft: Typed
    checked: CheckedDraft
    t: Translate
    row: Callable[[Found], Any]

    def picture(self, n: int, channel: int) -> str:
        """Draws a channel's limb with pads that can be moved."""
        return channel_picture(self.checked.exercises[n - 1].raw, channel, self.t, movable=True)

    def photo(self, n: int, channel: int, href: str) -> str:
        """Shows a channel's photo with marks that can be moved."""
        return channel_photo(self.checked.exercises[n - 1].raw, channel, self.t, href, movable=True)

    def views(self) -> list[tuple[str, str]]:
        """Lists the drawings to choose from; no drawing is a choice, too."""
        named = [(view, self.t("placing.view", limb=self.t(f"drawing.{view}.any"), seen=self.t(f"drawing.{view}.seen")))
                 for view in VIEWS]
        return [("", self.t("placing.no_drawing")), *named]

    def letter(self, channel: int, pad: int) -> str:
        return letter_of(channel, pad)

    def known(self, n: int) -> list[KnownMovement]:
        """Says what to know of the movement of each channel."""
        ex = f"ex{n}"
        chosen = Choice(text(self.draft, f"{ex}.movement"), "", channel_count(self.draft, ex))
        made = [movement(chosen.movement_of(c)) for c in range(1, chosen.channels + 1)]
        return [self._known(one) for one in made if one is not None]

    def _known(self, one: Movement) -> KnownMovement:
        told = source(one.source)
        return KnownMovement(
            title=self.t(one.title), muscles=", ".join(map(self.t, one.muscles)), nerve=self.t(one.nerve),
            right=self.t(f"looks_right.{one.id}"), wrong=self.t(one.wrong), cautions=tuple(map(self.t, one.cautions)),
            source=self.t("placing.source", title=told.title, how=told.how_confirmed))

    def findings(self, n: int) -> list[Any]:
        """Lists what was found about the places of exercise n's pads."""
        return [self.row(found) for found in self.checked.exercises[n - 1].findings
                if found.field.startswith(f"ex{n}.") and found.field.endswith(".view")]
