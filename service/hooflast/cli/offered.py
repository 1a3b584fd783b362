"""Offered: what the installed catalog plugins offer, for commands that work without a service."""

from hooflast.catalog.library import Library
from hooflast.catalog.loading import LoadedCatalog, load_catalog
from hooflast.cli.progress import showing
from hooflast.cli.speaking import Speaking
from hooflast.cli.stored import with_store_if_ready
from hooflast.exchange.plugin_file import configured_plugins
from hooflast.matching.shelf import Shelf, lay_out
from hooflast.store import Store
from hooflast.store.plugin_fetches import Fetches


def ask_plugins(speak: Speaking) -> LoadedCatalog:
    """Every plugin's offer and report, with the settings of the plugin file. Raises InputRefused."""
    return load_catalog(configured=configured_plugins(speak.settings.plugins_file))


def ask_and_keep(speak: Speaking) -> LoadedCatalog:
    """The same, with progress; where there is a store, what it keeps of the last fetches is handed over and renewed."""
    configured = configured_plugins(speak.settings.plugins_file)
    held: Fetches = with_store_if_ready(speak, _fetches) or {}
    with showing(speak) as on_progress:
        loaded = load_catalog(configured=configured, held=held, on_progress=on_progress)

    async def keep(store: Store) -> None:
        await store.plugin_fetches.replace(loaded.fetched)

    if loaded.fetched:
        with_store_if_ready(speak, keep)
    return loaded


async def _fetches(store: Store) -> Fetches:
    return await store.plugin_fetches.all()


def library_of(speak: Speaking) -> Library:
    """The catalog releases that the plugins offer."""
    return ask_plugins(speak).library


def shelf_of(speak: Speaking, pinned: str | None) -> Shelf:
    """A catalog release that the plugins offer, or the newest, laid out. Raises NotFound, CatalogUnavailable."""
    library = library_of(speak)
    return lay_out(library.active if pinned is None else library.release(pinned))
