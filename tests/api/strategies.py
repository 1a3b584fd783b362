"""Strategies: what a client might send."""

import json

from hypothesis import strategies as st

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
_any_json = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | texts,
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(texts, inner, max_size=5),
    max_leaves=15,
)
_hooves = st.fixed_dictionaries({"limb": st.sampled_from(["LF", "RH", "x"]), "width": _any_json, "length": _any_json})
_near_forms = st.fixed_dictionaries(
    {"hooves": st.lists(_hooves, max_size=5)},
    optional={"horse": _any_json, "uses": _any_json, "needs": _any_json, "pad": _any_json, "boots_per_hoof": _any_json},
)
bodies = st.binary(max_size=200) | (_any_json | _near_forms).map(json.dumps).map(str.encode)
methods = st.sampled_from(["GET", "HEAD", "DELETE", "POST"])
raw_queries = st.binary(max_size=60)
header_values = st.text(st.characters(max_codepoint=255))
headers = st.lists(
    st.tuples(
        st.sampled_from(
            [b"accept", b"accept-language", b"if-none-match", b"x-request-id", b"content-type", b"content-encoding"]
        ),
        st.binary(max_size=40).map(lambda raw: raw.translate(None, b"\r\n\0")),
    ),
    max_size=5,
)
received_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.text(st.characters(categories=["Cs"])),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=20,
)
