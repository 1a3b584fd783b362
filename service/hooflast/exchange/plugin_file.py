"""Plugin file: how each catalog plugin is used, as an operator writes it down in YAML or JSON.

    folder:
      priority: 1
      settings:
        folder: /srv/boots

The names are those of the plugins' entry points. What a plugin's own settings may be, the plugin says.
"""

from datetime import date
from pathlib import Path
from typing import Any, Final

from pydantic import Field

from hooflast.catalog.loading import PluginConfiguration
from hooflast.errors import Fault, InputRefused
from hooflast.exchange.faults import FaultCode, ValueType, fault
from hooflast.exchange.form_reading import read_form
from hooflast.exchange.match_form import Form
from hooflast.exchange.plain import Members
from hooflast.exchange.yaml_text import read_yaml

MOST_PRIORITY: Final = 1000
_NO_OBJECT: Final = fault(FaultCode.WRONG_TYPE, received=None, facts={"expected_type": ValueType.OBJECT.value})


class PluginUseForm(Form):
    """How one plugin is used."""

    priority: int = Field(
        0,
        strict=True,
        ge=-MOST_PRIORITY,
        le=MOST_PRIORITY,
        description="Of several plugins that claim one maker or boot model, the one of the highest priority has it.",
        examples=[1],
    )
    settings: dict[str, Any] | None = Field(
        None, description="The plugin's own settings, as its page describes them.", examples=[{"folder": "/srv/boots"}]
    )


def read_plugin_file(raw: bytes) -> dict[str, PluginConfiguration]:
    """Read a plugin file; JSON is YAML. Raises InputRefused with every fault there is, but never what is written."""
    document = read_yaml(raw)
    if not isinstance(document, Members | None):
        raise InputRefused(faults=(_NO_OBJECT,))
    faults: list[Fault] = []
    configured = {}
    for name, use in document or ():
        if name in configured:
            faults.append(fault(FaultCode.DUPLICATE_KEY, path=(name,), received=None, facts={"key": name}))
        try:
            read = read_form(use, form=PluginUseForm, today=date.min)
        except InputRefused as refused:
            faults += [_untold(one).under(name) for one in refused.faults]
        else:
            configured[name] = PluginConfiguration(settings=read.settings, priority=read.priority)
    if faults:
        raise InputRefused(faults=tuple(faults))
    return configured


def configured_plugins(file: str) -> dict[str, PluginConfiguration]:
    """How each catalog plugin is used, as the plugin file at a path says; an empty path configures none.

    Raises InputRefused and OSError.
    """
    return read_plugin_file(Path(file).read_bytes()) if file else {}


def _untold(found: Fault) -> Fault:
    """The fault without what was written: that may be a password in the wrong place."""
    return Fault(path=found.path, code=found.code, received=None, facts=found.facts)
