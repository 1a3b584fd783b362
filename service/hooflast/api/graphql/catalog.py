"""Catalog: makers, boot models and their sizes."""

from typing import Annotated, Any, cast

import strawberry

from hooflast.api.documents import BootDocument, MakerDocument, SizeDocument
from hooflast.api.graphql.connections import USUAL, After, Asked, First, PageFound, connection_type
from hooflast.api.graphql.context import Info
from hooflast.api.graphql.fields import declared
from hooflast.api.graphql.nodes import ID_MEANING, Found, Node, NodeId, id_of, in_release, node_from
from hooflast.api.graphql.outputs import output_type
from hooflast.api.graphql.pinned import Listed, Pin, Place, page_within, pinned_page, place_of
from hooflast.api.graphql.provenance import provenance_of
from hooflast.api.reading import boot_in, boots_in, maker_in, makers_in
from hooflast.api.shaping import boot_document, maker_document, size_documents
from hooflast.catalog.availability import find_present, size_called
from hooflast.catalog.comparing import RecordKind
from hooflast.catalog.values import BootModel, CatalogRelease, Maker
from hooflast.errors import NotFound
from hooflast.exchange.present_document import PresentDocument, present_document
from hooflast.fit.boot import Closure, IntendedUse
from hooflast.fit.hoof import AnimalType

MAKER = "Maker"
BOOT = "Boot"

Id = Annotated[strawberry.ID, strawberry.argument(description=ID_MEANING)]
Use = Annotated[IntendedUse | None, strawberry.argument(description="Only boot models made for this use.")]
ClosedBy = Annotated[Closure | None, strawberry.argument(description="Only boot models closed this way.")]
For = Annotated[AnimalType | None, strawberry.argument(description="Only boot models made for this kind of animal.")]
SizeOf = Annotated[
    str | None,
    strawberry.argument(description="The size's code; left out, the boot model as a whole is followed."),
]


def maker_found(maker: Maker, place: Place) -> Found:
    """A maker as a node."""
    document = maker_document(maker, release=place.release)
    return Found(kind=MAKER, rest_id=maker.id, document=document, release=place.release, within=place.pinned)


def boot_found(boot: BootModel, place: Place) -> Found:
    """A boot model as a node."""
    document = boot_document(boot)
    return Found(kind=BOOT, rest_id=boot.id, document=document, release=place.release, within=place.pinned)


def _place(root: Found) -> Place:
    if root.release is None:
        raise ValueError(root.kind)
    return Place(release=root.release, pinned=root.within)


def _size(size: SizeDocument, _place: Place) -> SizeDocument:
    return size


async def _boots_of_maker(root: Any, *, first: First = USUAL, after: After = None) -> PageFound:
    place = _place(root)
    asked = Asked(scope=f"makers/{root.rest_id}/boots", first=first, after=after)
    return page_within(place, asked=asked, listed=boots_in(place.release, maker=root.rest_id), shape=boot_found)


def _maker_of_boot(root: Any) -> Found:
    place = _place(root)
    return maker_found(place.release.makers[root.document.maker], place)


async def _sizes_of_boot(root: Any, *, first: First = USUAL, after: After = None) -> PageFound:
    place = _place(root)
    documents = size_documents(boot_in(place.release, root.rest_id).sizes)
    asked = Asked(scope=f"boots/{root.rest_id}/sizes", first=first, after=after)
    return page_within(place, asked=asked, listed=(documents, [one.code for one in documents]), shape=_size)


def _present_size(root: Any, info: Info, *, size: SizeOf = None) -> PresentDocument:
    place, context = _place(root), info.context
    boot = boot_in(place.release, root.rest_id)
    found = None if size is None else size_called(boot, size)
    if size is not None and found is None:
        raise NotFound(resource="size", name=f"{boot.id} {size}")
    day = context.service.clock().date()
    present = find_present(place.release, boot=boot, size=found, day=day)
    return present_document(present, release=place.release, day=day, texts=context.texts)


def _release_of(root: Any) -> str:
    return cast("str", _place(root).release.id)


_IN_RELEASE = strawberry.field(
    resolver=_release_of, graphql_type=str, description="The catalog release it was read from, by its content."
)
SizeConnection = connection_type(output_type(SizeDocument), name="Size")


@node_from(BootDocument, kind=BOOT, renamed={"maker": "makerId", "sizes": "sizeCount", "successor": "successorId"})
class BootNode(Node):
    """A boot model, with its maker and its sizes."""

    made_by = strawberry.field(
        resolver=_maker_of_boot,
        graphql_type=Annotated["MakerNode", strawberry.lazy("hooflast.api.graphql.catalog")],
        name="maker",
        description="Who makes it.",
    )
    record_provenance = provenance_of(RecordKind.BOOT)
    all_sizes = strawberry.field(
        resolver=_sizes_of_boot, graphql_type=SizeConnection, name="sizes", description="Its sizes from small to large."
    )
    present_size = strawberry.field(
        resolver=_present_size,
        graphql_type=output_type(PresentDocument),
        description=(
            "Follows what took the place of a size, or of the whole boot model, up to what is in sale today. Charts "
            "change with new boot models: match the hoof before you order."
        ),
    )
    catalog_release = _IN_RELEASE


BootConnection = connection_type(BootNode, name="Boot")


@node_from(MakerDocument, kind=MAKER, renamed={"boots": "bootCount"})
class MakerNode(Node):
    """Who makes a boot model."""

    all_boots = strawberry.field(
        resolver=_boots_of_maker, graphql_type=BootConnection, name="boots", description="Its boot models."
    )
    record_provenance = provenance_of(RecordKind.MAKER)
    catalog_release = _IN_RELEASE


MakerConnection = connection_type(MakerNode, name="Maker")


async def _makers(info: Info, *, first: First = USUAL, after: After = None, catalog_release: Pin = None) -> PageFound:
    asked = Asked(scope="makers", first=first, after=after)
    return await pinned_page(info, asked=asked, pinned=catalog_release, read=makers_in, shape=maker_found)


async def _boots(
    info: Info,
    *,
    first: First = USUAL,
    after: After = None,
    maker: Annotated[str | None, strawberry.argument(description="Only this maker's, by its REST id.")] = None,
    use: Use = None,
    closure: ClosedBy = None,
    animal_type: For = None,
    catalog_release: Pin = None,
) -> PageFound:
    filters = {"maker": maker, "use": use, "closure": closure, "animal_type": animal_type}
    asked = Asked(scope="boots", first=first, after=after, filters=filters)

    def read(release: CatalogRelease) -> Listed[BootModel]:
        return boots_in(release, maker=maker, use=use, closure=closure, animal_type=animal_type)

    return await pinned_page(info, asked=asked, pinned=catalog_release, read=read, shape=boot_found)


async def find_maker(info: Info, node: NodeId) -> Found:
    """The maker that a node's id means. Raises NotFound, ReleaseGone, CatalogUnavailable."""
    place = await place_of(info, node.within)
    return maker_found(maker_in(place.release, node.rest_id), place)


async def find_boot(info: Info, node: NodeId) -> Found:
    """The boot model that a node's id means. Raises NotFound, ReleaseGone, CatalogUnavailable."""
    place = await place_of(info, node.within)
    return boot_found(boot_in(place.release, node.rest_id), place)


async def _maker(info: Info, *, id: Id, catalog_release: Pin = None) -> Found:  # noqa: A002 (the argument's name)
    return await find_maker(info, in_release(id_of(id, kind=MAKER, resource="maker"), catalog_release))


async def _boot(info: Info, *, id: Id, catalog_release: Pin = None) -> Found:  # noqa: A002 (the argument's name)
    return await find_boot(info, in_release(id_of(id, kind=BOOT, resource="boot model"), catalog_release))


FIELDS = {
    "makers": declared(_makers, gives=MakerConnection, description="Makers in the order of their REST ids."),
    "maker": declared(_maker, gives=MakerNode, description="One maker."),
    "boots": declared(_boots, gives=BootConnection, description="Boot models in the order of their REST ids."),
    "boot": declared(_boot, gives=BootNode, description="One boot model."),
}
FINDERS = {MAKER: find_maker, BOOT: find_boot}
