"""Tables: one class per file, known to the store alone; `METADATA` holds them all."""

from hooflast.store.tables.active_catalog_release import ActiveCatalogRelease
from hooflast.store.tables.assortment import Assortment
from hooflast.store.tables.assortment_item import AssortmentItem
from hooflast.store.tables.audit_entry import AuditEntry
from hooflast.store.tables.base import Base
from hooflast.store.tables.catalog_release import CatalogRelease
from hooflast.store.tables.catalog_release_content import CatalogReleaseContent
from hooflast.store.tables.catalog_release_seal import CatalogReleaseSeal
from hooflast.store.tables.catalog_release_step import CatalogReleaseStep
from hooflast.store.tables.client_key import ClientKey
from hooflast.store.tables.hook import Hook
from hooflast.store.tables.hook_delivery import HookDelivery
from hooflast.store.tables.hook_tenant import HookTenant
from hooflast.store.tables.idempotency_key import IdempotencyKey
from hooflast.store.tables.match_job import MatchJob
from hooflast.store.tables.match_job_end import MatchJobEnd
from hooflast.store.tables.match_job_line import MatchJobLine
from hooflast.store.tables.match_job_result import MatchJobResult
from hooflast.store.tables.match_job_turn import MatchJobTurn
from hooflast.store.tables.match_receipt import MatchReceipt
from hooflast.store.tables.plugin_fetch import PluginFetch
from hooflast.store.tables.plugin_report import PluginReport
from hooflast.store.tables.request_count import RequestCount
from hooflast.store.tables.seal_key import SealKey
from hooflast.store.tables.signing_key import SigningKey
from hooflast.store.tables.tenant import Tenant

METADATA = Base.metadata

__all__ = [
    "METADATA",
    "ActiveCatalogRelease",
    "Assortment",
    "AssortmentItem",
    "AuditEntry",
    "CatalogRelease",
    "CatalogReleaseContent",
    "CatalogReleaseSeal",
    "CatalogReleaseStep",
    "ClientKey",
    "Hook",
    "HookDelivery",
    "HookTenant",
    "IdempotencyKey",
    "MatchJob",
    "MatchJobEnd",
    "MatchJobLine",
    "MatchJobResult",
    "MatchJobTurn",
    "MatchReceipt",
    "PluginFetch",
    "PluginReport",
    "RequestCount",
    "SealKey",
    "SigningKey",
    "Tenant",
]
