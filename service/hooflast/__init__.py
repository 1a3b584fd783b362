"""Hooflast: which hoof boot and which size suits each hoof, how sure that is, and why.

Rooms, from the ground up; each may import those above it in this list, never those below:

errors, units   the error tree, and lengths as people write them
fit             pure computation on millimetres
catalog         boot models, catalog releases, the plugin interface
store           tables, repositories, migrations
draw            pictures from values
texts           every sentence said to a person
matching        the use case "one horse in, boots out"
exchange        request forms and answer documents: JSON, YAML, CSV
api             HTTP
cli, settings   the command line and what can be set
"""

from importlib.metadata import version

__version__ = version("hooflast")
