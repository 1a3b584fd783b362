"""Demo: what the installed catalog plugins offer without settings, asked once a process: it is the same each time."""

from functools import cache

from hooflast.catalog.loading import LoadedCatalog, load_catalog


@cache
def offered() -> LoadedCatalog:
    """What all plugins offer, and what became of each. Asking them starts a process for each."""
    return load_catalog()
