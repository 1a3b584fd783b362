"""Offered: what the installed catalog plugins offer, for commands that work without a service."""

from hooflast.catalog.library import Library
from hooflast.catalog.loading import LoadedCatalog, load_catalog
from hooflast.cli.speaking import Speaking
from hooflast.exchange.plugin_file import configured_plugins
from hooflast.matching.shelf import Shelf, lay_out


def ask_plugins(speak: Speaking) -> LoadedCatalog:
    """Every plugin's offer and report, with the settings of the plugin file. Raises InputRefused."""
    return load_catalog(configured=configured_plugins(speak.settings.plugins_file))


def library_of(speak: Speaking) -> Library:
    """The catalog releases that the plugins offer."""
    return ask_plugins(speak).library


def shelf_of(speak: Speaking, pinned: str | None) -> Shelf:
    """A catalog release that the plugins offer, or the newest, laid out. Raises NotFound, CatalogUnavailable."""
    library = library_of(speak)
    return lay_out(library.active if pinned is None else library.release(pinned))
