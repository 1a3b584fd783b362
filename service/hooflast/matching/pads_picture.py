"""Pads picture: a hoof lifted by a pad, drawn. The numbers are those of the answer, every word comes from `texts`."""

from math import radians, tan

from hooflast import draw
from hooflast.draw import DrawnPad, Identity, PaddedHoof, PadKey, PadPanel, PadPicture, Slopes
from hooflast.errors import Fact
from hooflast.fit.pad import USUAL_WALLS, WIDEST_AT, PadKind, RoomLost
from hooflast.matching.padding import asked_pad
from hooflast.matching.pads_answer import HoofWithPad, PadsAnswer
from hooflast.texts import Texts


def pads_picture(answer: PadsAnswer, *, texts: Texts, prefix: str = "pad") -> str:
    """Every hoof of the answer with the pad under it, from behind and from the side, as SVG."""
    horse = answer.question.horse
    texts = texts.in_unit(horse.unit)
    hooves = tuple(_hoof(hoof, answer=answer, texts=texts) for hoof in answer.hooves)
    told = [f"{hoof.label}: {hoof.behind.said} {hoof.side.said}" for hoof in hooves]
    facts: dict[str, Fact] = {"pad": horse.pad_kind.value, "pad_mm": horse.pad_mm}
    picture = PadPicture(
        identity=Identity(
            prefix=prefix,
            title=texts.say("picture.pad.title", facts),
            desc=" ".join(told),
            language=texts.language,
        ),
        hooves=hooves,
        slopes=Slopes(
            medial=_slope(USUAL_WALLS.medial_deg.middle),
            lateral=_slope(USUAL_WALLS.lateral_deg.middle),
            toe=_slope(USUAL_WALLS.toe_deg.middle),
        ),
        key=PadKey(
            boot=texts.say("picture.pad.key.boot"),
            bare=texts.say("picture.pad.key.bare"),
            padded=texts.say("picture.pad.key.padded"),
            pad=texts.say("picture.pad.key.pad"),
            lost=texts.say("picture.pad.key.lost"),
        ),
        caption=texts.say("picture.pad.caption"),
    )
    return draw.pad_picture(picture)


def _hoof(hoof: HoofWithPad, *, answer: PadsAnswer, texts: Texts) -> PaddedHoof:
    behind, side = _said(hoof.room, texts=texts)
    return PaddedHoof(
        label=texts.say(f"limb.{hoof.reading.limb}"),
        width_mm=hoof.width.mean_mm,
        length_mm=hoof.length.mean_mm,
        pad=_pad(answer),
        behind=PadPanel(name=texts.say("picture.pad.behind"), said=behind),
        side=PadPanel(name=texts.say("picture.pad.side"), said=side),
    )


def _said(room: RoomLost, *, texts: Texts) -> tuple[str, str]:
    """What is said of the room lost, seen from behind and from the side."""
    if not room.heel_lift_mm:
        nothing = texts.say("picture.pad.nothing-lost")
        return nothing, nothing
    width_mm, length_mm = (float(lost) for lost in room.mean_mm)
    side = "picture.pad.length-lost" if length_mm >= 0.0 else "picture.pad.length-gained"
    return (
        texts.say("picture.pad.width-lost", {"width_mm": width_mm, "lift_mm": room.heel_lift_mm}),
        texts.say(side, {"length_mm": abs(length_mm)}),
    )


def _pad(answer: PadsAnswer) -> DrawnPad:
    """The asked pad as it lies under the horse."""
    pad = asked_pad(answer.question.horse)
    kept = 1.0 - pad.compressed.middle
    toe_mm = pad.toe_mm if pad.kind is PadKind.WEDGE else pad.thickness_mm
    widest_mm = toe_mm + (pad.thickness_mm - toe_mm) * WIDEST_AT.middle
    return DrawnPad(kind=pad.kind, toe_mm=kept * toe_mm, widest_mm=kept * widest_mm, heel_mm=kept * pad.thickness_mm)


def _slope(angle_deg: float) -> float:
    return 1.0 / tan(radians(angle_deg))
