"""Provenance: where the records of a catalog release in the store came from, verified against its seal."""

from datetime import UTC, datetime

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.catalog.comparing import RecordKind
from hooflast.catalog.naming import short_id
from hooflast.catalog.provenance import Statement, record_of
from hooflast.catalog.values import CatalogRelease
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.stored import named, with_store
from hooflast.errors import Fact, NotFound
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.provenance_document import (
    ProvenancePage,
    proved_document,
    record_document,
    seal_document,
)
from hooflast.matching.proving import Proved, prove
from hooflast.matching.seals import require_sealed
from hooflast.store import Store


@click.command("provenance", help="cli.provenance.help")
@click.argument("release")
@click.argument("record", required=False)
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def provenance(speak: Speaking, /, *, release: str, record: str | None, as_json: bool) -> None:
    """Verify a catalog release, and tell where its records, or one of them, came from."""

    async def read(store: Store) -> tuple[CatalogRelease, Proved]:
        content = await store.releases.read((await named(store, release)).id)
        return content, await prove(content, store=store)

    content, proved = with_store(speak, read)
    places = [place for place, one in enumerate(proved.tree.statements) if record in (None, one.id)]
    if not places:
        raise NotFound(resource="record", name=record or "")
    for place in places:
        require_sealed(proved.tree.proof(place), by=proved.sealed, release=content.id)
    if as_json:
        click.echo(_written(content, proved, record=record, places=places))
        return
    _print([proved.tree.statements[place] for place in places], speak=speak)
    sealed_at = datetime.fromtimestamp(proved.sealed.iat, UTC)
    facts: dict[str, Fact] = {
        "edition": content.edition,
        "release": short_id(content.id),
        "count": len(places),
        "kid": proved.seal.kid,
        "sealed_date": sealed_at.date().isoformat(),
    }
    _console().print(Text(speak.texts.say("cli.provenance.good", facts)))


def _written(content: CatalogRelease, proved: Proved, *, record: str | None, places: list[int]) -> bytes:
    """The record, or all of them, with what proves them."""
    seal = seal_document(proved.seal.token, kid=proved.seal.kid, sealed=proved.sealed)
    if record is None:
        items = [proved_document(proved.tree, place) for place in places]
        return encode(ProvenancePage(items=items, next=None, seal=seal, catalog_release=content.id))
    proof = proved.tree.proof(places[0])
    kind = RecordKind(proof.statement.kind)
    found = record_of(content, kind=kind, record_id=record)
    return encode(record_document(proof, record=found, seal=seal, release=content.id))


def _print(statements: list[Statement], *, speak: Speaking) -> None:
    table = Table()
    for column in ("record", "plugin", "source", "retrieved", "digest"):
        table.add_column(speak.texts.say(f"cli.column.{column}"), overflow="fold")
    for one in statements:
        table.add_row(
            Text(f"{speak.texts.say(f'record.{one.kind}')} {one.id}"),
            Text(f"{one.plugin} {one.plugin_version}".strip()),
            Text(one.source),
            Text(one.retrieved_on.isoformat()),
            Text(one.source_sha256[:12]),
        )
    _console().print(table)


def _console() -> Console:
    return Console(highlight=False, soft_wrap=False)
