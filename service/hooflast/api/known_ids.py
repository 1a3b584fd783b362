"""Known ids: what cannot be an id of what is kept is not looked for."""

from hooflast.errors import NotFound
from hooflast.store import is_id


def require_id(written: str, *, resource: str) -> str:
    """The id as it was written. Raises NotFound for what cannot be one."""
    if not is_id(written):
        raise NotFound(resource=resource, name=written)
    return written
