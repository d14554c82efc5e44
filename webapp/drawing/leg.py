"""The right leg: thigh and lower leg from the front and from behind, the lower leg and foot from the outer side."""

from __future__ import annotations

from webapp.drawing.curve import Point, finger, nail, points, smooth
from webapp.drawing.view import Forbidden, Landmark, Line, View

MIDDLE = 240  # of the body

_OUTER = points(
    "84,-120 72,-70 58,0 50,70 53,150 64,250 79,350 87,410 86,452 90,496 84,556 82,612 92,692 106,776 113,836 105,864 "
    "107,884 92,916 82,944"
)
_INNER = points(
    "186,944 178,912 168,884 173,858 165,836 169,780 182,700 195,622 198,560 196,500 201,456 200,420 208,370 220,300 "
    "232,200 237,120"
)
_TOES: tuple[tuple[Point, float, float, float, float], ...] = (
    ((168, 938), 178, 34, 27, 23),
    ((145, 944), 180, 27, 19, 16),
    ((126, 944), 182, 24, 18, 15),
    ((109, 941), 184, 21, 17, 14),
    ((93, 936), 187, 17, 16, 13),
)


def _mirrored(some: list[Point]) -> list[Point]:
    return [(2 * MIDDLE - x, y) for x, y in some]


def _between(some: list[Point], top: float, bottom: float) -> list[Point]:
    """Keeps what a drawing shows of a limb, and enough beyond for its curves."""
    return [(x, y) for x, y in some if top <= y <= bottom]


_HEEL = points("104,904 108,926 126,938 146,938 160,926 166,904")
_SOLE = points("104,962 146,966 178,960")
_THIGH = [*_between(_OUTER, -120, 700), *_between(_INNER, -120, 700)]
_LOWER_FRONT = [*_between(_OUTER, 250, 990), *_SOLE, *_between(_INNER, 220, 990)]
_TIPS = points("84,950 103,962 122,967 140,969 155,970 168,972 180,966")
_OTHER_FRONT = [*_between(_OUTER, 250, 920), *_TIPS, *_between(_INNER, 220, 990)]
_LOWER_BEHIND = [*_between(_OUTER, 250, 890), *_HEEL, *_between(_INNER, 220, 890)]


def _line(kind: str, some: list[Point], *, turned: bool = False, closed: bool = False) -> Line:
    return Line(kind=kind, path=smooth(_mirrored(some) if turned else some, closed=closed))


def _detail(text: str, *, behind: bool = False, kind: str = "detail", closed: bool = False) -> Line:
    return _line(kind, points(text), turned=behind, closed=closed)


_TOE_LINES = [
    line
    for base, degrees, length, width, tip in _TOES
    for line in (
        _line("skin", finger(base, degrees, length, width, tip)),
        Line(kind="detail", path=nail(base, degrees, length, tip)),
    )
]
_HIP = Line(kind="fill", path="M72 -70L240 -70V116L235 150 78 150Z")  # between the thigh and the middle of the body
_HIP_BEHIND = Line(kind="fill", path="M408 -70L240 -70V116L245 150 402 150Z")
_KNEECAP = "144,428 166,438 172,462 162,484 144,490 126,484 116,462 122,438"
_KNEE_FRONT = (
    _detail(_KNEECAP, kind="faint", behind=True, closed=True),  # of the other leg
    _detail(_KNEECAP, closed=True),
    _detail("144,498 142,512 146,522"),
    _detail("112,330 120,390 128,420"),
    _detail("190,340 182,400 172,426"),
)
_KNEE_BEHIND = (
    _detail("96,452 144,462 196,450", kind="faint"),  # of the other leg
    _detail("96,452 144,462 196,450", behind=True),  # the crease behind the knee
    _detail("122,440 112,390 110,340", behind=True),
    _detail("172,440 182,390 186,340", behind=True),
)
_THIGH_FRONT_LINES = (
    _line("faint", _THIGH, turned=True),
    _HIP,
    _line("skin", _THIGH),
    _detail("100,20 150,62 232,116"),
    _detail("380,20 330,62 248,116", kind="faint"),
    _detail("240,-60 240,112", kind="faint"),
    *_KNEE_FRONT,
    _detail("146,540 140,640"),  # edge of the shin
)
_THIGH_BEHIND_LINES = (
    _line("faint", _THIGH),
    _HIP_BEHIND,
    _line("skin", _THIGH, turned=True),
    _detail("74,118 130,136 196,128 236,104", behind=True),  # under the buttock
    _detail("74,118 130,136 196,128 236,104", kind="faint"),
    _detail("240,-60 238,20 240,112"),  # between the buttocks
    *_KNEE_BEHIND,
    _detail("144,500 146,570 142,640", behind=True),
)
_LOWER_FRONT_LINES = (
    _line("faint", _OTHER_FRONT, turned=True),
    _detail("155,948 155,968", kind="faint", behind=True),  # its big toe
    _line("skin", _LOWER_FRONT),
    *_TOE_LINES,
    *_KNEE_FRONT,
    _detail("146,540 140,640 136,740"),  # edge of the shin
    _detail("104,852 110,866 108,878"),
    _detail("168,846 160,860 164,872"),  # ankle bones
)
_LOWER_BEHIND_LINES = (
    _line("faint", _LOWER_BEHIND),
    _line("skin", _LOWER_BEHIND, turned=True),
    *_KNEE_BEHIND,
    _detail("144,500 146,570 142,640", behind=True),
    _detail("88,640 112,668 142,650 172,676 190,650", behind=True),
    _detail("128,780 130,840 126,890", behind=True),
    _detail("150,780 148,840 152,890", behind=True),
    _detail("104,852 110,866 108,878", behind=True),
    _detail("168,846 160,860 164,872", behind=True),
)
_GROIN = Forbidden(key="groin", corners=((150, 20), (240, 20), (240, 120), (226, 132), (160, 90)))
_GROIN_LEFT = Forbidden(key="groin", corners=tuple(_mirrored(list(_GROIN.corners))))

THIGH_FRONT = View(
    id="thigh_front",
    box=(-60, -28, 500, 590),
    start=((116, 186), (158, 366)),
    lines=_THIGH_FRONT_LINES,
    forbidden=(_GROIN, _GROIN_LEFT),
    landmarks=(
        Landmark(key="hip", at=(44, 30), anchor="end"),
        Landmark(key="thigh", at=(50, 230), anchor="end"),
        Landmark(key="knee", at=(78, 468), anchor="end"),
        Landmark(key="groin", at=(286, 60), anchor="middle"),
    ),
)
THIGH_BEHIND = View(
    id="thigh_behind",
    box=(40, -28, 500, 590),
    start=((334, 206), (338, 366)),
    lines=_THIGH_BEHIND_LINES,
    landmarks=(
        Landmark(key="buttock", at=(370, 60), anchor="middle"),
        Landmark(key="thigh", at=(430, 230)),
        Landmark(key="back_of_the_knee", at=(400, 468)),
    ),
)
LOWER_LEG_FRONT = View(
    id="lower_leg_front",
    box=(-60, 392, 500, 600),
    start=((120, 548), (122, 664)),
    lines=_LOWER_FRONT_LINES,
    landmarks=(
        Landmark(key="knee", at=(78, 468), anchor="end"),
        Landmark(key="shin", at=(76, 640), anchor="end"),
        Landmark(key="ankle", at=(98, 872), anchor="end"),
        Landmark(key="big_toe", at=(187, 900)),
    ),
)
LOWER_LEG_BEHIND = View(
    id="lower_leg_behind",
    box=(40, 392, 500, 600),
    start=((338, 548), (338, 664)),
    lines=_LOWER_BEHIND_LINES,
    landmarks=(
        Landmark(key="back_of_the_knee", at=(402, 468)),
        Landmark(key="calf", at=(406, 600)),
        Landmark(key="heel", at=(382, 930)),
    ),
)
_SIDE = points(
    "176,340 184,400 196,436 195,466 184,490 182,512 176,580 168,660 160,740 155,800 158,836 176,866 210,892 244,912 "
    "262,926 268,944 262,958 240,963 208,963 164,963 118,964 98,952 95,924 105,888 110,838 105,776 84,686 68,606 "
    "70,548 90,488 94,440 84,390 78,340"
)
_SIDE_TOES: tuple[tuple[Point, float, float, float, float], ...] = (  # the little one last: it is nearest
    ((258, 935), 100, 44, 28, 22),
    ((250, 943), 99, 40, 19, 17),
    ((240, 946), 99, 36, 18, 16),
    ((228, 949), 98, 32, 18, 15),
    ((214, 951), 97, 28, 18, 15),
)
LOWER_LEG_OUTER = View(
    id="lower_leg_outer",
    box=(-90, 392, 470, 600),
    start=((126, 548), (146, 650)),
    lines=(
        Line(kind="skin", path=smooth(_SIDE)),
        _detail("176,430 168,446 170,470 182,484"),  # the kneecap
        _detail("108,500 116,490 128,492 132,504 124,514 112,512", closed=True),  # the knob below the knee, outer side
        _detail("126,884 134,874 144,880 143,894 132,899", closed=True),  # the outer ankle
        _detail("126,530 138,640 140,760 136,850"),
        *(line for toe in _SIDE_TOES for line in (
            _line("skin", finger(*toe)), Line(kind="detail", path=nail(*toe[:3], toe[4])))),
    ),
    landmarks=(
        Landmark(key="knee", at=(208, 456)),
        Landmark(key="outer_knob", at=(64, 508), anchor="end"),
        Landmark(key="shin", at=(188, 640)),
        Landmark(key="ankle", at=(92, 880), anchor="end"),
        Landmark(key="toes", at=(312, 932)),
    ),
)
