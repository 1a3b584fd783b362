"""One boot model for both hooves of a pair, where the best of each differ."""

from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.hoof import Limb
from hooflast.fit.remark import Remark
from hooflast.matching.level_pairs import level_pairs

from .worlds import BOOTS, SHELF

PAIR = {"limb": "LF", "other_limb": "RF"}
OTHER_SIDE = {Limb.LF: Limb.RF, Limb.RF: Limb.LF, Limb.LH: Limb.RH, Limb.RH: Limb.LH}
lists = st.lists(st.sampled_from([boot.id for boot in BOOTS]), unique=True, max_size=5)
shown_boots = st.dictionaries(st.sampled_from(Limb), lists.map(lambda boots: {boot: f"for-{boot}" for boot in boots}))


def test_the_boot_that_stands_highest_in_both_lists_is_named_with_both_sizes() -> None:
    shown = {
        Limb.LF: {"amble": "lark", "brook": "dove", "clover": "rook"},
        Limb.RF: {"heath": "wren", "brook": "thrush", "clover": "lark", "amble": "finch"},
    }
    facts = {**PAIR, "boot": "Brook", "size": "dove", "other_size": "thrush"}
    assert level_pairs(shown, SHELF) == (Remark(code="one-boot-for-both", facts=facts),)


def test_of_two_that_stand_as_high_the_first_by_name_is_taken() -> None:
    shown = {Limb.LF: {"brook": "lark", "amble": "lark"}, Limb.RF: {"amble": "dove", "brook": "dove"}}
    facts = {**PAIR, "boot": "Amble", "size": "lark", "other_size": "dove"}
    assert level_pairs(shown, SHELF) == (Remark(code="one-boot-for-both", facts=facts),)


def test_nothing_is_said_where_both_lead_with_one_boot_or_one_has_none() -> None:
    alike = {"amble": "lark", "brook": "dove"}
    assert level_pairs({Limb.LF: alike, Limb.RF: {"amble": "dove"}}, SHELF) == ()
    assert level_pairs({Limb.LF: alike, Limb.RF: {}}, SHELF) == ()
    assert level_pairs({Limb.LF: alike, Limb.LH: {"brook": "lark"}}, SHELF) == ()


def test_where_no_boot_is_shown_for_both_that_is_said() -> None:
    shown = {Limb.LH: {"amble": "lark"}, Limb.RH: {"brook": "dove"}}
    facts = {"limb": "LH", "other_limb": "RH"}
    assert level_pairs(shown, SHELF) == (Remark(code="no-boot-shown-for-both", facts=facts),)


@given(shown=shown_boots)
def test_left_and_right_may_change_places(shown: dict[Limb, dict[str, str]]) -> None:
    mirrored = {OTHER_SIDE[limb]: boots for limb, boots in shown.items()}
    said, turned = level_pairs(shown, SHELF), level_pairs(mirrored, SHELF)
    assert [(one.code, one.facts.get("boot")) for one in said] == [(one.code, one.facts.get("boot")) for one in turned]
    assert [one.facts.get("size") for one in said] == [one.facts.get("other_size") for one in turned]
