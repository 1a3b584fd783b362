"""Composing: the editions of all plugins put together into one catalog release for each day of any of them.

An id belongs to the plugin of the highest priority that ever publishes it, and of those to the first; another plugin's
record of it, and its boots of a maker that is not its own, are left out and told. An edition that is not complete is
put over what its plugin offered before. What was withdrawn stays so, and its id stays its plugin's.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from hooflast.catalog.offers import Edition
from hooflast.catalog.reading import Records
from hooflast.catalog.release import compose_release
from hooflast.catalog.values import CatalogRelease
from hooflast.errors import Fault

KINDS: Final = ("makers", "boots", "accessories")

Owners = Mapping[tuple[str, str], str]
"""Which plugin an id of a kind belongs to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """One edition of a plugin, read."""

    plugin: str
    priority: int
    edition: Edition
    records: Records


@dataclass(frozen=True, slots=True, kw_only=True)
class Composed:
    """The catalog releases, oldest first, and for each plugin what of its editions was left out."""

    releases: tuple[CatalogRelease, ...]
    left_out: Mapping[str, tuple[Fault, ...]]


def compose(published: Iterable[Published]) -> Composed:
    """One catalog release for each day in `published`."""
    in_order = sorted(published, key=lambda one: (one.edition.released_on, one.plugin))
    owners = _owners(in_order)
    left_out: dict[str, list[Fault]] = {}
    kept = []
    for one in in_order:
        left_out.setdefault(one.plugin, []).extend(_others_ids(one, owners))
        kept.append(replace(one, records=_own_records(one, owners)))
    return Composed(
        releases=tuple(_releases(kept)), left_out={plugin: tuple(faults) for plugin, faults in left_out.items()}
    )


def _owners(published: Sequence[Published]) -> Owners:
    """Whose each id is; `published` is in order of days."""
    owners: dict[tuple[str, str], str] = {}
    for one in sorted(published, key=lambda one: -one.priority):
        for kind in KINDS:
            for record_id in (*getattr(one.records, kind), *one.records.withdrawn.get(kind, ())):
                owners.setdefault((kind, record_id), one.plugin)
    return owners


def _others_ids(one: Published, owners: Owners) -> Iterator[Fault]:
    for kind in KINDS:
        for record_id, record in getattr(one.records, kind).items():
            if owner := _other_owner(kind, record, plugin=one.plugin, owners=owners):
                path = (record.provenance.source, kind, record_id)
                yield Fault(path=path, code="catalog-id-taken", received=record_id, facts={"plugin": owner})


def _other_owner(kind: str, record: Any, *, plugin: str, owners: Owners) -> str | None:
    """The plugin that a record, or the maker it names, belongs to, if it is not its own."""
    named = [(kind, record.id), *([] if kind == "makers" else [("makers", record.maker)])]
    return next((owner for place in named if (owner := owners.get(place, plugin)) != plugin), None)


def _own_records(one: Published, owners: Owners) -> Records:
    return Records(
        **{
            kind: {
                record_id: record
                for record_id, record in getattr(one.records, kind).items()
                if _other_owner(kind, record, plugin=one.plugin, owners=owners) is None
            }
            for kind in KINDS
        },
        withdrawn={
            kind: frozenset(record_id for record_id in ids if owners[kind, record_id] == one.plugin)
            for kind, ids in one.records.withdrawn.items()
        },
    )


def _releases(kept: Sequence[Published]) -> Iterator[CatalogRelease]:
    """One catalog release for each day in `kept`, which is in order of days."""
    offered: dict[str, Records] = {}
    for day in sorted({one.edition.released_on for one in kept}):
        today = [one for one in kept if one.edition.released_on == day]
        for one in today:
            offered[one.plugin] = _offered_then(one, before=offered.get(one.plugin))
        notes = [one.edition.note for one in today if one.edition.note]
        yield compose_release(_together(offered.values()), released_on=day, note="\n".join(notes))


def _offered_then(one: Published, *, before: Records | None) -> Records:
    """What a plugin offers from an edition on: that alone if it is complete, else that over what it offered before."""
    records = one.records if before is None or one.edition.complete else _together([before, one.records])
    return Records(
        **{
            kind: {
                record_id: record
                for record_id, record in getattr(records, kind).items()
                if record_id not in one.records.withdrawn.get(kind, ())
            }
            for kind in KINDS
        }
    )


def _together(records: Iterable[Records]) -> Records:
    """Records of several put together; of one id, the last."""
    listed = list(records)
    return Records(
        **{kind: {key: one for each in listed for key, one in getattr(each, kind).items()} for kind in KINDS}
    )
