"""The electrical figures of an exercise in words: at the strength found, at the ceiling, and how near to a limit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, floor

from webapp.prescribing.checking import CheckedExercise, ceilings_of
from webapp.stimulation.dose import (
    phase_charge_uc,
    power_density_w_cm2,
    pulse_energy_mj,
    rms_density_ma_cm2,
    rms_ma,
)
from webapp.stimulation.limits import (
    POWER_DENSITY_W_CM2,
    PULSE_ENERGY_MJ,
    RMS_DENSITY_MA_CM2,
    RMS_MA,
    TOLERANCE,
    at_ceilings,
)
from webapp.stimulation.plan import Channel, Settings
from webapp.stimulation.units import number_text, three_digits
from webapp.translations import Translate

MOST_IN_WORDS = 20  # "one twentieth"; smaller shares are written in figures
NOT_ELECTRICAL = frozenset({"moved", "most", "sensation", "skin_at_rest", "title"})

Work = Callable[[Settings, Channel], float | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One number with its name, and a remark under it; an electrical one also at the ceiling, and how near its limit.

    `share` is that of the larger of the two, rounded up: "one eighth" says an eighth or less.
    """

    name: str
    value: str
    remark: str = ""
    at_ceiling: str = ""
    share: str = ""


def electrical_figures(checked: CheckedExercise, t: Translate) -> tuple[tuple[Figure, ...], str]:
    """Gives the figures and what is nearest to its limit; no figures, and why, where they can't be worked out."""
    settings = checked.settings
    if settings is None or all(channel.intensity_ma is None for channel in settings.channels):
        return (), _why_none(checked, t)
    ceilings = ceilings_of(checked.raw)
    reached = at_ceilings(settings, ceilings)
    has = [ceilings[n] is not None for n in range(len(settings.channels))]
    pads = " · ".join(dict.fromkeys(number_text(channel.pad_cm2) for channel in settings.channels))
    density, power = number_text(RMS_DENSITY_MA_CM2.value), number_text(POWER_DENSITY_W_CM2.value * 1000)

    def figure(name: str, remark: str, unit: str, work: Work, limit: float | None, scale: float = 1) -> Figure:
        found = [work(settings, channel) for channel in settings.channels]
        at_most = [work(reached, channel) if there else None for channel, there in zip(reached.channels, has,
                                                                                       strict=True)]
        worst = max((value for value in (*found, *at_most) if value is not None), default=None)
        return Figure(name=name, remark=remark, value=_joined(found, scale, unit),
                      at_ceiling=_joined(at_most, scale, unit),
                      share=share_of(worst, limit, t) if limit and worst is not None else "")

    return (
        figure(t("figures.charge"), "", "µC", phase_charge_uc, None),
        figure(t("figures.rms"), number_text(RMS_MA.value), "mA", rms_ma, RMS_MA.value),
        figure(t("figures.density", pads=pads), t("figures.look_again", limit=density), "mA/cm²",
               rms_density_ma_cm2, RMS_DENSITY_MA_CM2.value),
        figure(t("figures.power"), power, "mW/cm²", power_density_w_cm2,
               POWER_DENSITY_W_CM2.value, 1000),
    ), _nearest_limit(settings, reached, t)


def _joined(values: list[float | None], scale: float, unit: str) -> str:
    texts = ["–" if value is None else three_digits(value * scale) for value in values]
    return " · ".join(texts) + (f" {unit}" if set(texts) != {"–"} else "")


def share_of(value: float, limit: float, t: Translate) -> str:
    """Says which part of its limit a value is, rounded up: of 1/8.6 an eighth, never a ninth."""
    if value >= limit * (1 - TOLERANCE):
        return t("figures.share.all")
    parts = floor(limit / value * (1 + TOLERANCE)) if value else 0
    if parts == 0:
        return t("figures.share.none")
    if parts == 1:
        return t("figures.share.percent", percent=ceil(100 * value / limit * (1 - TOLERANCE)))
    return t(f"figures.share.{parts}") if parts <= MOST_IN_WORDS else t("figures.share.small", n=parts)


def _nearest_limit(settings: Settings, reached: Settings, t: Translate) -> str:
    """Says which figure of which channel comes nearest to its limit at the ceiling, and how near."""
    shares: list[tuple[float, str, float, float]] = []
    for at in (settings, reached):
        for channel in at.channels:
            for work, limit, name in (
                (rms_density_ma_cm2, RMS_DENSITY_MA_CM2.value, "density"), (rms_ma, RMS_MA.value, "rms"),
                (power_density_w_cm2, POWER_DENSITY_W_CM2.value, "power"),
                (pulse_energy_mj, PULSE_ENERGY_MJ.value, "energy")):  # fmt: skip
                if value := work(at, channel):
                    shares.append((value / limit, name, value, limit))
    if not shares:
        return t("figures.no_share")
    _, name, value, limit = max(shares)
    return t("figures.nearest_is", what=t(f"figures.nearest.{name}"), share=share_of(value, limit, t))


def _why_none(checked: CheckedExercise, t: Translate) -> str:
    """Says what the electrical figures wait for, by the names of the fields."""
    if checked.raw["stimulator"].get("shows") == "level":
        return t("figures.none_for_levels")
    names = []
    for trouble in checked.troubles:
        _, *inner = trouble.field.split(".")
        if inner and inner[-1] not in NOT_ELECTRICAL:
            label = t(f"builder.field.{inner[-1]}")
            of_channel = inner[0].startswith("ch")
            names.append(t("builder.of_channel", n=inner[0][2:], field=label) if of_channel else label)
    return t("figures.none_yet", fields=", ".join(dict.fromkeys(names)))
