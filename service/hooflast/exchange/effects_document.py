"""Effects document: which hooves a newer catalog release answers otherwise, as it is sent."""

from collections.abc import Iterable, Sequence
from typing import Annotated

from msgspec import Meta

from hooflast.exchange.answer_parts import (
    CautionDocument,
    Chance,
    Document,
    RemarkDocument,
    Sentence,
    VersionsDocument,
    cautions,
    remarks,
    rounded_chance,
    versions_document,
)
from hooflast.fit.hoof import Limb
from hooflast.fit.remark import Remark
from hooflast.matching.cautions import assumptions
from hooflast.matching.release_effects import BestSize, Effect, EffectsAnswer, HoofEffect, HorseEffects
from hooflast.texts import Texts


class BestSizeDocument(Document, frozen=True):
    """A boot model in its best size for the hoof."""

    boot: str
    boot_name: str
    maker_name: str
    size: str
    fit_chance: Chance


class HoofEffectDocument(Document, frozen=True):
    """One hoof that is answered otherwise."""

    limb: Limb
    limb_text: Sentence
    effects: Annotated[list[Effect], Meta(min_length=1, max_length=2, description="What is otherwise.")]
    effects_text: Sentence
    before: Annotated[
        BestSizeDocument | None, Meta(description="The first boot model on the older one; null: none was offered.")
    ]
    after: Annotated[
        BestSizeDocument | None, Meta(description="The first boot model on the newer one; null: none is offered.")
    ]
    same_boot_after: Annotated[
        BestSizeDocument | None,
        Meta(description="The boot model that was first before, on the newer one; null: it is offered no more."),
    ]


class HorseEffectsDocument(Document, frozen=True):
    """One horse with hooves that are answered otherwise."""

    place: Annotated[int, Meta(ge=0, description="The how-manieth horse it was, from 0.")]
    horse_name: str
    hooves: Annotated[list[HoofEffectDocument], Meta(min_length=1, max_length=4)]
    cautions: Annotated[list[CautionDocument], Meta(description="What to be careful about with this horse.")]


class ReleaseEffectsDocument(Document, frozen=True):
    """Which hooves the newer catalog release answers otherwise than the older. Nothing of it is kept."""

    since: Annotated[str, Meta(description="The older catalog release.")]
    since_edition: str
    horses_asked: Annotated[int, Meta(ge=0)]
    hooves_asked: Annotated[int, Meta(ge=0)]
    hooves_changed: Annotated[int, Meta(ge=0)]
    horses: Annotated[list[HorseEffectsDocument], Meta(max_length=100, description="Only those with a change.")]
    assumptions: Annotated[list[RemarkDocument], Meta(description="What was taken for granted with any of them.")]
    versions: VersionsDocument


def effects_document(answer: EffectsAnswer, *, texts: Texts) -> ReleaseEffectsDocument:
    """The effects as a document."""
    horses = answer.horses
    changed = [horse for horse in horses if horse.hooves]
    return ReleaseEffectsDocument(
        since=answer.since.id,
        since_edition=answer.since.edition,
        horses_asked=len(horses),
        hooves_asked=sum(len(horse.question.hooves) for horse in horses),
        hooves_changed=sum(len(horse.hooves) for horse in changed),
        horses=[_horse(horse, texts=texts.in_unit(horse.question.unit)) for horse in changed],
        assumptions=remarks(_assumed(horses), family="assumption", texts=texts),
        versions=versions_document(answer.versions),
    )


def effects_text(effect: HoofEffect, *, texts: Texts) -> str:
    """What is otherwise for a hoof, in sentences."""
    return " ".join(texts.say(f"effect.{one.value}") for one in effect.effects)


def _horse(horse: HorseEffects, *, texts: Texts) -> HorseEffectsDocument:
    return HorseEffectsDocument(
        place=horse.place,
        horse_name=horse.question.horse_name,
        hooves=hoof_documents(horse.hooves, texts=texts),
        cautions=cautions(horse.cautions, texts=texts),
    )


def hoof_documents(hooves: Iterable[HoofEffect], *, texts: Texts) -> list[HoofEffectDocument]:
    """Hooves that are answered otherwise."""
    return [
        HoofEffectDocument(
            limb=hoof.limb,
            limb_text=texts.say(f"limb.{hoof.limb}"),
            effects=list(hoof.effects),
            effects_text=effects_text(hoof, texts=texts),
            before=_best(hoof.before),
            after=_best(hoof.after),
            same_boot_after=_best(hoof.same_boot_after),
        )
        for hoof in hooves
    ]


def _best(best: BestSize | None) -> BestSizeDocument | None:
    if best is None:
        return None
    return BestSizeDocument(
        boot=best.boot.id,
        boot_name=best.boot.name,
        maker_name=best.maker.name,
        size=best.size,
        fit_chance=rounded_chance(best.fit_chance),
    )


def _assumed(horses: Sequence[HorseEffects]) -> list[Remark]:
    """What was taken for granted with any of them, each once."""
    found = {remark.code: remark for horse in horses for remark in assumptions(horse.question)}
    return list(found.values())
