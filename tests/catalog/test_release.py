"""Release: one content, one id; what is written is read back."""

import json
from dataclasses import replace
from datetime import date
from hashlib import sha256
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.catalog.reading import Records as ReadRecords
from hooflast.catalog.reading import read_files
from hooflast.catalog.release import compose_release, read_release, release_id, write_release
from hooflast.catalog.values import CatalogRelease, MakerId
from hooflast.errors import InputRefused

from .strategies import FORMAT, Records, as_file, bounded, in_one_file, layouts, records

DAY = date(2025, 3, 1)


def release_of(files: list[Any], *, plugin: str = "demo") -> CatalogRelease:
    return compose_release(read_files(files, plugin=plugin), released_on=DAY, note="Spring.")


@bounded
@given(records())
def test_reading_a_written_release_gives_it_back(edition: Records) -> None:
    release = release_of(in_one_file(edition))
    assert read_release(write_release(release)) == release


@bounded
@given(records())
def test_a_release_read_back_lists_its_records_in_the_same_order(edition: Records) -> None:
    release = release_of(in_one_file(edition))
    back = read_release(write_release(release))
    assert (list(back.makers), list(back.boots)) == (list(release.makers), list(release.boots))


@bounded
@given(records().flatmap(lambda one: st.tuples(st.just(one), layouts(one))))
def test_the_id_does_not_depend_on_files_or_order_or_source(spread: tuple[Records, list[Any]]) -> None:
    edition, files = spread
    assert release_of(files, plugin="other").id == release_of(in_one_file(edition)).id


@bounded
@given(records(), st.data())
def test_another_content_has_another_id(edition: Records, data: st.DataObject) -> None:
    release = release_of(in_one_file(edition))
    key = data.draw(st.sampled_from(list(release.boots)))
    boot = release.boots[key]
    first, *rest = boot.sizes
    others = [
        replace(boot, name=boot.name + "x"),
        replace(boot, max_pad_mm=boot.max_pad_mm + 1),
        replace(boot, animal_types=frozenset()),
        replace(boot, sizes=(replace(first, width=None, length=None), *rest)),
    ]
    ids = {release_id(replace(release, boots={**release.boots, key: other})) for other in others}
    ids |= {release_id(replace(release, note="Autumn.")), release_id(replace(release, edition="other")), release.id}
    assert len(ids) == len(others) + 3


def test_the_id_is_the_digest_of_the_canonical_form_written_by_hand() -> None:
    canonical = (
        '{"edition":"2025-03-01","makers":{"vellory":{"id":"vellory","name":"Vellory"}},'
        '"note":"Spring.","released_on":"2025-03-01"}'
    )
    release = release_of([as_file({"format": FORMAT, "makers": [{"id": "vellory", "name": "Vellory"}]})])
    assert release.id == f"sha256-{sha256(canonical.encode()).hexdigest()}"


@bounded
@given(records(), st.data())
def test_a_written_release_with_any_text_changed_is_refused(edition: Records, data: st.DataObject) -> None:
    written = json.loads(write_release(release_of(in_one_file(edition))))
    boot = data.draw(st.sampled_from(list(written["boots"].values())))
    member = data.draw(st.sampled_from(["name", "closure", "chart_step_mm", "sizes"]))
    boot[member] = {"name": boot["name"] + "x", "closure": "glue", "chart_step_mm": 999, "sizes": []}[member]
    with pytest.raises(InputRefused):
        read_release(json.dumps(written).encode())


@pytest.mark.parametrize("written", [b"", b"{", b"[]", b"\xff", b"{}", b'{"id": 1}'])
def test_what_is_no_release_is_refused(written: bytes) -> None:
    with pytest.raises(InputRefused) as refused:
        read_release(written)
    assert [fault.code for fault in refused.value.faults] == ["catalog-release-damaged"]


def test_a_release_of_nothing_is_a_release() -> None:
    empty = compose_release(ReadRecords(makers={}, boots={}, accessories={}), released_on=DAY, note="")
    assert read_release(write_release(empty)) == empty
    assert MakerId("vellory") not in empty.makers
