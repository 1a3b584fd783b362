"""Command line: `hooflast match`, `serve`, `catalog`, `plugins`, `database`.

    command_line   the commands put together, their words from `texts`, errors told as sentences
    match          one horse matched here, without a service
    pad            what a pad does to the size
    plan           what to buy for one horse, from what is on sale
    cycle          a boot over the weeks between two trims
    serve          the service, and an example call to paste
    catalog        the catalog releases, boot models, accessories and sizes that the installed plugins offer
    releases       the life of a catalog release: stage, check, publish, roll back, withdraw, purge, list
    diff           two catalog releases compared; change_tables prints it
    present        where an old size leads today
    stored         how commands reach the catalog releases in the store
    database       the database's tables, up and down
    offered        what the installed plugins offer, for commands without a service
    tables         answers and catalogs as tables for a terminal; accessory_tables, plugin_tables

Reads its options, calls one use case, prints the answer. Everything else is done in the rooms below.
"""

from hooflast.cli.command_line import main

__all__ = ["main"]
