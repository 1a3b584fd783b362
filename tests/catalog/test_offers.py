"""Offers: what is told of a plugin's offer holds none of its secrets."""

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from hooflast.catalog.offers import Edition, Offer
from hooflast.catalog.plugin import CatalogFile, Fate, RowFate

DAY = date(2026, 3, 1)
FILE = CatalogFile(source="list.txt", retrieved_on=DAY, content=b"{}")
SECRETS = st.text(st.sampled_from("abc-xyz '/%"), min_size=6, max_size=12)


def offer(said: str) -> Offer:
    rows = (RowFate(place="line 6", fate=Fate.REFUSED, why=said),)
    return Offer(plugin="p", editions=(Edition(released_on=DAY, files=[FILE], findings=[said]),), rows=rows)


@given(SECRETS, st.sampled_from(["{}", "refused with {}.", "{} and {}"]))
def test_no_secret_stands_in_findings_or_in_why_a_row_has_its_fate(secret: str, sentence: str) -> None:
    told = offer(sentence.replace("{}", secret)).without({secret})
    assert secret not in told.editions[0].findings[0]
    assert secret not in told.rows[0].why
    assert told.rows[0].place == "line 6"


@given(st.text(max_size=20))
def test_without_a_secret_nothing_changes(said: str) -> None:
    assert offer(said).without(()) == offer(said)
