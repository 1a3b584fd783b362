"""Command line: `hooflast match`, `serve`, `catalog`, `plugins`, `database`.

    command_line   the commands put together, their words from `texts`, errors told as sentences
    match          one horse matched here, without a service
    pad            what a pad does to the size
    plan           what to buy for one horse, from what is on sale
    cycle          a boot over the weeks between two trims
    serve          the service, and an example call to paste
    catalog        the catalog releases, boot models, accessories and sizes that the installed plugins offer
    releases       the life of a catalog release: stage, publish, roll back, withdraw, purge, list
    check          what is wrong or doubtful in a catalog release, in what plugins offer, or in a file
    watch          the plugins asked again and again; progress shows how far long work has come
    provenance     where records came from, verified
    telling        what a catalog release in the store is now, and what to do next with it
    diff           two catalog releases compared; change_tables prints it
    present        where an old size leads today
    jobs           files of horses answered in the background
    stored         how commands reach the catalog releases in the store
    database       the database's tables, up and down
    offered        what the installed plugins offer, for commands without a service
    tables         answers and catalogs as tables for a terminal; accessory_tables, plugin_tables

Reads its options, calls one use case, prints the answer. Everything else is done in the rooms below.
"""

from hooflast.cli.command_line import main

__all__ = ["main"]
