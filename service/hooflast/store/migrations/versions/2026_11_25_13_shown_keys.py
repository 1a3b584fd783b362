"""Keys that many requests show are found by one query: row-level security shows each of the ids that are told."""

from alembic import op

revision = "2026_11_25_13"
down_revision = "2026_11_25_12"

OF_PAGES = "nullif(current_setting('app.origin', true), '') = ANY (string_to_array(origins, ' '))"
ONE = "id = nullif(current_setting('app.key', true), '')"
SEVERAL = "id = ANY (string_to_array(nullif(current_setting('app.key', true), ''), ' '))"


def upgrade() -> None:
    """Take what a request shows for any number of ids, parted by spaces."""
    _let_see(SEVERAL)


def _let_see(shown: str) -> None:
    if op.get_context().dialect.name == "postgresql":
        op.execute(f"ALTER POLICY shown_key ON client_keys USING ({shown} OR {OF_PAGES})")


def downgrade() -> None:
    """Take it for one id."""
    _let_see(ONE)
