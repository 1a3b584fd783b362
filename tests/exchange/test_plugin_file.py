"""Plugin file: what an operator writes down of plugins, with every fault named by its place."""

import pytest

from hooflast.catalog.loading import PluginConfiguration
from hooflast.errors import InputRefused
from hooflast.exchange.plugin_file import read_plugin_file

WRITTEN = b"""
folder:
  priority: 2
  settings:
    folder: /srv/boots
demo:
"""


def test_settings_and_priority_are_read_by_plugin() -> None:
    written = WRITTEN.replace(b"demo:", b"demo: {}")
    assert read_plugin_file(written) == {
        "folder": PluginConfiguration(settings={"folder": "/srv/boots"}, priority=2),
        "demo": PluginConfiguration(),
    }


@pytest.mark.parametrize("empty", [b"", b"{}", b"# nothing yet\n"])
def test_an_empty_file_configures_nothing(empty: bytes) -> None:
    assert read_plugin_file(empty) == {}


def test_json_is_read_as_well() -> None:
    assert read_plugin_file(b'{"folder": {"priority": -1}}') == {"folder": PluginConfiguration(priority=-1)}


@pytest.mark.parametrize(
    ("written", "code", "place"),
    [
        (b"- folder", "wrong-type", ""),
        (b"folder: 3", "wrong-type", "/folder"),
        (b"folder:\n  prio: 1", "unknown-field", "/folder/prio"),
        (b"folder:\n  priority: high", "wrong-type", "/folder/priority"),
        (b"folder:\n  priority: 5000", "out-of-range", "/folder/priority"),
        (b"folder:\n  settings: x", "wrong-type", "/folder/settings"),
        (b"folder: {}\nfolder: {}", "duplicate-key", "/folder"),
        (b"folder: [", "not-yaml", ""),
    ],
)
def test_what_is_wrong_is_named_with_its_place(written: bytes, code: str, place: str) -> None:
    with pytest.raises(InputRefused) as caught:
        read_plugin_file(written)
    assert [(fault.code, fault.pointer) for fault in caught.value.faults] == [(code, place)]


def test_every_fault_is_told_at_once() -> None:
    with pytest.raises(InputRefused) as caught:
        read_plugin_file(b"folder:\n  prio: 1\nother:\n  priority: x")
    assert [fault.pointer for fault in caught.value.faults] == ["/folder/prio", "/other/priority"]


@pytest.mark.parametrize(
    "written",
    [
        b"folder:\n  settings: hush-hush",
        b"folder: hush-hush",
        b"folder:\n  token: hush-hush",
        b"folder:\n  priority: hush-hush",
        b"hush-hush",
    ],
)
def test_what_stands_in_the_file_is_never_told(written: bytes) -> None:
    with pytest.raises(InputRefused) as caught:
        read_plugin_file(written)
    assert "hush" not in str(caught.value)
    assert "hush" not in repr(caught.value.faults)
