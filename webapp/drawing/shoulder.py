"""The right shoulder and upper arm with head and trunk, from the front and from behind."""

from __future__ import annotations

from webapp.drawing.curve import Point, points, smooth
from webapp.drawing.view import Forbidden, Landmark, Line, View

MIDDLE = 300  # of the body

_OUTER = points(
    "96,860 90,770 86,720 88,676 97,636 99,600 93,540 85,480 77,420 75,380 83,342 106,312 136,299 180,291 224,280 "
    "252,262 261,236 263,205"
)
_INNER = points(
    "158,860 158,770 160,720 162,676 157,636 151,590 150,530 151,470 151,425 157,408 166,436 175,480 181,540 182,620 "
    "178,720 172,860"
)
_HEAD = points(
    "300,12 344,22 369,56 374,104 369,152 352,196 322,224 300,229 278,224 248,196 231,152 226,104 231,56 256,22"
)


def _mirrored(some: list[Point]) -> list[Point]:
    return [(2 * MIDDLE - x, y) for x, y in some]


def _trunk() -> str:
    right = [*_OUTER, *_mirrored(_OUTER)[::-1]]
    return smooth([*right, *_mirrored(_INNER), *_INNER[::-1]], closed=True)


def _detail(text: str, *, behind: bool = False, kind: str = "detail", closed: bool = False) -> Line:
    through = points(text)
    return Line(kind=kind, path=smooth(_mirrored(through) if behind else through, closed=closed))


_SKIN = (Line(kind="skin", path=_trunk()), Line(kind="skin", path=smooth(_HEAD, closed=True)))
_FRONT_LINES = (
    *_SKIN,
    _detail("255,98 268,92 281,98"),
    _detail("319,98 332,92 345,98"),  # eyes
    _detail("300,104 294,142 305,146"),
    _detail("276,178 300,184 324,178"),
    _detail("228,108 218,104 216,130 229,150"),
    _detail("372,108 382,104 384,130 371,150"),  # ears
    _detail("270,238 284,282 292,303"),
    _detail("330,238 316,282 308,303"),  # the neck's muscles
    _detail("290,308 250,305 190,311 132,308"),
    _detail("310,308 350,305 410,311 468,308"),  # collar bones
    _detail("158,410 186,432 236,440 290,428"),
    _detail("442,410 414,432 364,440 310,428"),  # lower edge of the chest muscles
    _detail("151,330 146,368 154,400"),  # between deltoid and chest
    _detail("98,636 126,646 156,634"),  # the crease of the elbow
    _detail("128,470 132,530 128,590"),  # outer edge of the biceps
)
_BEHIND_LINES = (
    *_SKIN,
    _detail("228,108 218,104 216,130 229,150"),
    _detail("372,108 382,104 384,130 371,150"),
    _detail("236,168 256,196 300,205 344,196 364,168"),  # the hairline
    _detail("270,60 262,120 268,170"),
    _detail("300,40 300,120 300,180"),
    _detail("330,60 338,120 332,170"),
    _detail("300,250 300,420 300,700", kind="faint"),  # the spine
    _detail("118,318 160,334 228,366", behind=True),
    _detail("228,366 232,410 214,470 188,430", behind=True),  # shoulder blade
    _detail("118,318 160,334 228,366"),
    _detail("228,366 232,410 214,470 188,430"),
    _detail("86,456 108,448 128,420 136,392", behind=True),  # lower edge of the deltoid
    _detail("108,620 117,606 134,606 143,620 140,642", behind=True),  # tip of the elbow
    _detail("118,480 124,530 132,572", behind=True),
)
_NECK = ((258, 236), (342, 236), (352, 266), (322, 308), (278, 308), (248, 266))
_FACE = tuple(_HEAD)
_CHEST = ((178, 318), (290, 312), (310, 312), (422, 318), (430, 440), (420, 640), (180, 640), (170, 440))
_OFF_FRONT = (
    Forbidden(key="neck", corners=_NECK),
    Forbidden(key="face", corners=_FACE),
    Forbidden(key="chest", corners=_CHEST),
)
_OFF_BEHIND = (
    Forbidden(key="head", corners=_FACE),
    Forbidden(key="neck_behind", corners=((258, 236), (342, 236), (352, 266), (340, 300), (260, 300), (248, 266))),
    Forbidden(key="spine", corners=((262, 300), (338, 300), (338, 700), (262, 700))),
)

SHOULDER_FRONT = View(
    id="shoulder_front",
    box=(-20, 60, 442, 480),
    start=((114, 350), (102, 452)),
    lines=_FRONT_LINES,
    forbidden=_OFF_FRONT,
    landmarks=(
        Landmark(key="chest", at=(300, 380), anchor="middle"),
        Landmark(key="shoulder", at=(100, 290), anchor="end"),
        Landmark(key="upper_arm", at=(70, 520), anchor="end"),
    ),
)
SHOULDER_BEHIND = View(
    id="shoulder_behind",
    box=(178, 60, 442, 480),
    start=((410, 315), (502, 396)),
    lines=_BEHIND_LINES,
    forbidden=_OFF_BEHIND,
    landmarks=(
        Landmark(key="spine", at=(288, 300), anchor="end"),
        Landmark(key="shoulder_blade", at=(408, 512), anchor="middle"),
        Landmark(key="shoulder", at=(500, 290)),
        Landmark(key="upper_arm", at=(530, 520)),
    ),
)
UPPER_ARM_FRONT = View(
    id="upper_arm_front",
    box=(-44, 222, 384, 520),
    start=((114, 450), (122, 568)),
    lines=_FRONT_LINES,
    forbidden=_OFF_FRONT,
    landmarks=(
        Landmark(key="shoulder", at=(100, 290), anchor="end"),
        Landmark(key="chest", at=(270, 380), anchor="middle"),
        Landmark(key="elbow_crease", at=(84, 640), anchor="end"),
    ),
)
UPPER_ARM_BEHIND = View(
    id="upper_arm_behind",
    box=(260, 222, 384, 520),
    start=((487, 440), (484, 556)),
    lines=_BEHIND_LINES,
    forbidden=_OFF_BEHIND,
    landmarks=(
        Landmark(key="shoulder", at=(500, 290)),
        Landmark(key="spine", at=(310, 560)),
        Landmark(key="elbow", at=(512, 640)),
    ),
)
