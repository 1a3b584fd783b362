"""YAML as JSON: a YAML document written as the JSON it stands for, by the core schema of YAML 1.2.

`no` is a word and `2026-03-14` a text. Anchors, aliases and tags are refused: a document with aliases can stand for
one that is millions of times its size.
"""

import json
import re
from typing import Final

import yaml
from yaml.events import AliasEvent, CollectionEndEvent, CollectionStartEvent, NodeEvent
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

DEEPEST: Final = 20
_WORDS: Final = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}
_WHOLE: Final = re.compile(r"-?(0|[1-9][0-9]{0,14})")
_DECIMAL: Final = re.compile(r"-?[0-9]+\.[0-9]+")


class YamlRefused(ValueError):
    """What stands in the YAML and where, and why it is not taken."""


def yaml_as_json(content: bytes) -> bytes:
    """The JSON that a YAML document stands for. Raises YamlRefused."""
    try:
        text = content.decode("utf-8-sig")
        _look_over(text)
        root = yaml.compose(text, Loader=yaml.BaseLoader)
    except UnicodeDecodeError as error:
        raise YamlRefused(f"it is not UTF-8 (byte {error.start})") from None
    except yaml.YAMLError as error:
        raise YamlRefused(" ".join(str(error).split())) from None
    return json.dumps(None if root is None else _value(root), ensure_ascii=False).encode()


def _look_over(text: str) -> None:
    """Refuse what JSON has no word for, before anything is built."""
    depth = 0
    for event in yaml.parse(text, Loader=yaml.BaseLoader):
        depth += isinstance(event, CollectionStartEvent) - isinstance(event, CollectionEndEvent)
        if depth > DEEPEST:
            raise _refused("more than 20 levels", event)
        if isinstance(event, AliasEvent) or (isinstance(event, NodeEvent) and event.anchor is not None):
            raise _refused("an anchor or alias", event)
        if getattr(event, "tag", None) not in (None, "!"):
            raise _refused("a tag", event)


def _refused(what: str, event: yaml.Event) -> YamlRefused:
    where = f" in line {event.start_mark.line + 1}" if event.start_mark else ""
    return YamlRefused(what + where)


def _value(node: Node) -> object:
    if isinstance(node, MappingNode):
        members = [(_name(key), _value(value)) for key, value in node.value]
        names = [name for name, _ in members]
        for name in names:
            if names.count(name) > 1:
                raise YamlRefused(f"{name!r} is given twice, the first time in line {node.start_mark.line + 1}")
        return dict(members)
    if isinstance(node, SequenceNode):
        return [_value(entry) for entry in node.value]
    return _scalar(node)


def _name(key: Node) -> str:
    if not isinstance(key, ScalarNode):
        raise YamlRefused(f"a name that is no text in line {key.start_mark.line + 1}")
    return str(key.value)


def _scalar(node: Node) -> object:
    text = str(node.value)
    if not isinstance(node, ScalarNode) or node.style is not None:
        return text
    if text in _WORDS:
        return _WORDS[text]
    if _WHOLE.fullmatch(text):
        return int(text)
    return float(text) if _DECIMAL.fullmatch(text) else text
