"""Reading: what is looked up in a catalog release, whichever way it was asked for."""

from collections.abc import Sequence

from hooflast.catalog.lifecycle import KeptRelease
from hooflast.catalog.values import BootId, BootModel, CatalogRelease, Maker, MakerId
from hooflast.errors import NotFound
from hooflast.fit.boot import Closure, IntendedUse
from hooflast.fit.hoof import AnimalType


def maker_in(release: CatalogRelease, maker_id: str) -> Maker:
    """The maker called `maker_id`. Raises NotFound."""
    maker = release.makers.get(MakerId(maker_id))
    if maker is None:
        raise NotFound(resource="maker", name=maker_id)
    return maker


def makers_in(release: CatalogRelease) -> tuple[Sequence[Maker], Sequence[str]]:
    """All makers in the order of their ids, and these."""
    keys = sorted(release.makers)
    return [release.makers[key] for key in keys], keys


def boot_in(release: CatalogRelease, boot_id: str) -> BootModel:
    """The boot model called `boot_id`. Raises NotFound."""
    boot = release.boots.get(BootId(boot_id))
    if boot is None:
        raise NotFound(resource="boot model", name=boot_id)
    return boot


def boots_in(
    release: CatalogRelease,
    *,
    maker: str | None = None,
    use: IntendedUse | None = None,
    closure: Closure | None = None,
    animal_type: AnimalType | None = None,
) -> tuple[Sequence[BootModel], Sequence[str]]:
    """The boot models that meet every condition in the order of their ids, and these."""
    keys = [
        key
        for key, boot in sorted(release.boots.items())
        if maker in (None, boot.maker)
        and closure in (None, boot.closure)
        and (use is None or use in boot.intended_uses)
        and (animal_type is None or animal_type in boot.animal_types)
    ]
    return [release.boots[key] for key in keys], keys


def published_in(published: Sequence[KeptRelease], release_id: str) -> KeptRelease:
    """The published catalog release called `release_id`. Raises NotFound."""
    release = next((one for one in published if one.id == release_id), None)
    if release is None:
        raise NotFound(resource="catalog release", name=release_id)
    return release
