"""SDL: the schema written down, as it is committed.

`python -m hooflast.api.graphql.sdl > openapi/hooflast.graphql` writes it anew.
"""

import sys

from hooflast.api.graphql.schema import schema


def written_schema() -> str:
    """The schema in its own language, with one final line end."""
    return schema().as_str().rstrip() + "\n"


if __name__ == "__main__":
    sys.stdout.write(written_schema())
