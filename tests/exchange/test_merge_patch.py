"""Merge patch: the test cases of RFC 7396, appendix A (the ones whose target and patch are JSON values)."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.exchange.merge_patch import merge_patch

APPENDIX_A = [
    ('{"a":"b"}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"b"}', '{"b":"c"}', '{"a":"b","b":"c"}'),
    ('{"a":"b"}', '{"a":null}', "{}"),
    ('{"a":"b","b":"c"}', '{"a":null}', '{"b":"c"}'),
    ('{"a":["b"]}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"c"}', '{"a":["b"]}', '{"a":["b"]}'),
    ('{"a":{"b":"c"}}', '{"a":{"b":"d","c":null}}', '{"a":{"b":"d"}}'),
    ('{"a":[{"b":"c"}]}', '{"a":[1]}', '{"a":[1]}'),
    ('["a","b"]', '["c","d"]', '["c","d"]'),
    ('{"a":"b"}', '["c"]', '["c"]'),
    ('{"a":"foo"}', "null", "null"),
    ('{"a":"foo"}', '"bar"', '"bar"'),
    ('{"e":null}', '{"a":1}', '{"e":null,"a":1}'),
    ("[1,2]", '{"a":"b","c":null}', '{"a":"b"}'),
    ("{}", '{"a":{"bb":{"ccc":null}}}', '{"a":{"bb":{}}}'),
]
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=3),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=2), inner, max_size=3),
    max_leaves=12,
)


@pytest.mark.parametrize(("target", "patch", "result"), APPENDIX_A)
def test_a_case_of_the_appendix(target: str, patch: str, result: str) -> None:
    assert merge_patch(json.loads(target), json.loads(patch)) == json.loads(result)


@given(VALUES, VALUES)
def test_a_patch_applied_twice_is_applied_once_and_its_target_stays_as_it_was(target: object, patch: object) -> None:
    before = json.dumps(target)
    once = merge_patch(target, patch)
    assert merge_patch(once, patch) == once
    assert json.dumps(target) == before
