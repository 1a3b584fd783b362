"""Tables: one class per file, known to the store alone; `METADATA` holds them all."""

from hooflast.store.tables.base import Base
from hooflast.store.tables.match_receipt import MatchReceipt
from hooflast.store.tables.signing_key import SigningKey
from hooflast.store.tables.tenant import Tenant

METADATA = Base.metadata

__all__ = ["METADATA", "MatchReceipt", "SigningKey", "Tenant"]
