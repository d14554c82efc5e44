"""Movements, muscles and pad places; every text is a key of the catalogue (`translations/en/placement.toml`).

General textbook anatomy, from memory; the subluxation row follows a scoping review; sizes and what a wrong movement
looks like are common practice, no source. Places are where one starts to look: the spot is found by trial.
"""

from __future__ import annotations

from dataclasses import dataclass

Place = tuple[float, float]  # the middle of a pad in mm on the drawing of a right limb


@dataclass(frozen=True, slots=True, kw_only=True)
class PadPair:
    """The two pads of one channel: their place keys, the usual size in cm, the drawing (`drawing.views`) and where."""

    first: str
    second: str
    width_cm: float
    height_cm: float
    shape: str
    view: str
    at: tuple[Place, Place]


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """A movement. `title`, `muscles`, `nerve`, `cautions` and `wrong` are catalogue keys.

    `goal` is one of `ranges.GOALS` or None; `region` says which part is supported: hand, elbow, shoulder or leg.
    """

    id: str
    muscles: tuple[str, ...]
    nerve: str
    pads: PadPair
    cautions: tuple[str, ...]
    wrong: str
    region: str
    source: str
    goal: str | None = None

    @property
    def title(self) -> str:
        """The key of its name."""
        return f"placement.{self.id}.title"


def _movement(
    id_: str,
    muscles: tuple[str, ...],
    size_cm: tuple[float, float],
    cautions: int,
    region: str,
    view: str,
    at: tuple[Place, Place],
    *,
    shape: str = "square",
    source: str = "anatomy",
    goal: str | None = None,
) -> Movement:
    base = f"placement.{id_}"
    return Movement(
        id=id_,
        muscles=tuple(f"placement.muscle.{name}" for name in muscles),
        nerve=f"{base}.nerve",
        pads=PadPair(
            first=f"{base}.pad_1",
            second=f"{base}.pad_2",
            width_cm=size_cm[0],
            height_cm=size_cm[1],
            shape=shape,
            view=view,
            at=at,
        ),
        cautions=tuple(f"{base}.caution_{n}" for n in range(1, cautions + 1)),
        wrong=f"{base}.wrong",
        region=region,
        source=source,
        goal=goal,
    )


MOVEMENTS: tuple[Movement, ...] = (
    _movement(
        "open_hand",
        ("extensor_carpi_radialis", "extensor_carpi_ulnaris", "extensor_digitorum"),
        (5, 5),
        2,
        "hand",
        "forearm_back",
        ((98, 384), (107, 282)),
        goal="wrist_extension",
    ),
    _movement(
        "wrist_extension",
        ("extensor_carpi_radialis", "extensor_carpi_ulnaris"),
        (5, 5),
        2,
        "hand",
        "forearm_back",
        ((86, 384), (95, 282)),
        goal="wrist_extension",
    ),
    _movement(
        "grasp",
        ("flexor_digitorum_superficialis", "flexor_digitorum_profundus"),
        (5, 5),
        1,
        "hand",
        "forearm_palm",
        ((94, 396), (104, 294)),
    ),
    _movement(
        "thumb_opposition",
        ("opponens_pollicis", "abductor_pollicis_brevis"),
        (3.2, 3.2),
        2,
        "hand",
        "forearm_palm",
        ((146, 154), (108, 228)),
        shape="round",
        goal="thumb",
    ),
    _movement("elbow_extension", ("triceps",), (5, 5), 1, "elbow", "upper_arm_behind", ((487, 440), (484, 556))),
    _movement(
        "elbow_flexion", ("biceps", "brachialis"), (5, 5), 2, "elbow", "upper_arm_front", ((114, 450), (122, 568))
    ),
    _movement(
        "shoulder_flexion", ("anterior_deltoid",), (5, 5), 2, "shoulder", "shoulder_front", ((114, 350), (102, 452))
    ),
    _movement(
        "shoulder_abduction", ("middle_deltoid",), (5, 5), 2, "shoulder", "shoulder_front", ((94, 350), (92, 452))
    ),
    _movement(
        "shoulder_subluxation",
        ("supraspinatus", "posterior_deltoid"),
        (5, 5),
        2,
        "shoulder",
        "shoulder_behind",
        ((410, 315), (502, 396)),
        source="S15",
        goal="shoulder_subluxation",
    ),
    _movement(
        "ankle_dorsiflexion",
        ("tibialis_anterior", "peroneals"),
        (5, 5),
        2,
        "leg",
        "lower_leg_outer",
        ((126, 548), (146, 650)),
        goal="ankle_dorsiflexion",
    ),
    _movement(
        "ankle_plantarflexion",
        ("gastrocnemius", "soleus"),
        (5, 5),
        2,
        "leg",
        "lower_leg_behind",
        ((338, 548), (338, 664)),
    ),
    _movement(
        "knee_extension",
        ("quadriceps",),
        (9, 5),
        2,
        "leg",
        "thigh_front",
        ((116, 186), (158, 366)),
        shape="rectangle",
        goal="strengthening",
    ),
    _movement(
        "knee_flexion", ("hamstrings",), (9, 5), 2, "leg", "thigh_behind", ((334, 206), (338, 366)), shape="rectangle"
    ),
)


def movement(id_: str) -> Movement | None:
    """Gives the movement of an id, or None."""
    return next((one for one in MOVEMENTS if one.id == id_), None)
