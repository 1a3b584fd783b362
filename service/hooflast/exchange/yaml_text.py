"""YAML text: documents read by the core schema of YAML 1.2, where words stay words and days stay text.

`no` is a word, `2026-03-14` is text (the form makes a day of it), `12:30` is no number. Tags, aliases and merge keys
are not taken: a form needs none of them.
"""

import re
from typing import Final, Never, Protocol

import yaml
from yaml.events import AliasEvent, CollectionEndEvent, CollectionStartEvent
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from hooflast.errors import Fact, InputRefused
from hooflast.exchange.faults import FaultCode, fault
from hooflast.exchange.plain import DEEPEST, MOST_VALUES, Members, read_text

_WORDS: Final = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
    **dict.fromkeys((".inf", ".Inf", ".INF", "+.inf", "+.Inf", "+.INF"), float("inf")),
    **dict.fromkeys(("-.inf", "-.Inf", "-.INF"), float("-inf")),
    **dict.fromkeys((".nan", ".NaN", ".NAN"), float("nan")),
}
_WHOLE: Final = re.compile(r"[-+]?[0-9]{1,15}")
_DECIMAL: Final = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_PLAIN_TAGS: Final = frozenset(f"tag:yaml.org,2002:{kind}" for kind in ("str", "seq", "map"))
_SNIPPET: Final = 20


class _Mark(Protocol):
    @property
    def index(self) -> int: ...
    @property
    def line(self) -> int: ...
    @property
    def column(self) -> int: ...


def read_yaml(raw: bytes) -> object:
    """Read a YAML document as a value for `plain`. Raises InputRefused."""
    text = read_text(raw)
    try:
        _look_over(text)
        root = yaml.compose(text, Loader=yaml.BaseLoader)
        return None if root is None else _value(root)
    except yaml.MarkedYAMLError as error:
        _refuse_at(error.problem_mark, text=text)
    except yaml.YAMLError:
        _refuse_at(None, text=text)


def _look_over(text: str) -> None:
    """Refuse what is too deep, too big or refers to itself before anything is built of it."""
    depth = 0
    for count, event in enumerate(yaml.parse(text, Loader=yaml.BaseLoader)):
        depth += isinstance(event, CollectionStartEvent) - isinstance(event, CollectionEndEvent)
        if depth > DEEPEST:
            _refuse(FaultCode.TOO_DEEP, None, limit=DEEPEST)
        if count > 4 * MOST_VALUES:
            _refuse(FaultCode.TOO_BIG, None, limit=MOST_VALUES)
        if isinstance(event, AliasEvent):
            _refuse_at(event.start_mark, text=text)


def _value(node: Node) -> object:
    if node.tag not in _PLAIN_TAGS:
        raise yaml.MarkedYAMLError(problem_mark=node.start_mark)
    if isinstance(node, MappingNode):
        return Members((_name(key), _value(value)) for key, value in node.value)
    if isinstance(node, SequenceNode):
        return [_value(item) for item in node.value]
    return _scalar(node)


def _name(key: Node) -> str:
    if not isinstance(key, ScalarNode) or key.tag not in _PLAIN_TAGS:
        raise yaml.MarkedYAMLError(problem_mark=key.start_mark)
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


def _refuse_at(mark: _Mark | None, *, text: str) -> Never:
    line, column, index = (mark.line, mark.column, mark.index) if mark else (0, 0, 0)
    _refuse(FaultCode.NOT_YAML, text[index : index + _SNIPPET], line=line + 1, column=column + 1)


def _refuse(code: FaultCode, received: str | None, **facts: Fact) -> Never:
    raise InputRefused(faults=(fault(code, received=received, facts=facts),)) from None
