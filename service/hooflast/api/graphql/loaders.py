"""Loaders: what many fields of one request ask of the store, asked at once, and each thing once."""

from collections.abc import Mapping

from strawberry.dataloader import DataLoader

from hooflast.api.kept_matches import find_matches
from hooflast.api.service import Service
from hooflast.catalog.loading import PluginReport
from hooflast.errors import NotFound
from hooflast.matching.publishing import read_report
from hooflast.store import KeptAnswer

PluginReports = Mapping[str, PluginReport]


def match_loader(service: Service) -> DataLoader[str, KeptAnswer]:
    """Matches by their ids."""

    async def load(match_ids: list[str]) -> list[KeptAnswer | BaseException]:
        found = await find_matches(service, match_ids)
        return [found.get(one) or NotFound(resource="match", name=one) for one in match_ids]

    return DataLoader(load)


def plugin_loader(service: Service) -> DataLoader[None, PluginReports]:
    """What became of every plugin, by its name; there is one answer to all who ask."""

    async def load(asked: list[None]) -> list[PluginReports | BaseException]:
        written = await service.store.plugin_reports.all()
        reports = {name: read_report(text) for name, text in written.items()}
        return [reports for _ in asked]

    return DataLoader(load)
