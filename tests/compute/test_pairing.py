"""Pairs are made where nothing else could be meant, and only there."""

from __future__ import annotations

from ferrule.compute.pairing import Paired, pair_up

Entry = tuple[str, int]


def paired(before: list[Entry], after: list[Entry]) -> Paired[Entry]:
    return pair_up(before, after, lambda entry: entry[0], content=lambda entry: entry[1])


def test_one_and_one_of_a_key_are_a_pair() -> None:
    found = paired([("a", 1), ("b", 2)], [("b", 3), ("a", 1)])
    assert found.pairs == ((("b", 2), ("b", 3)), (("a", 1), ("a", 1)))
    assert (found.gone, found.new) == ((), ())


def test_same_key_twice_is_told_apart_by_content_and_the_last_two_are_a_pair() -> None:
    found = paired([("a", 1), ("a", 2)], [("a", 2), ("a", 3)])
    assert found.pairs == ((("a", 2), ("a", 2)), (("a", 1), ("a", 3)))


def test_nothing_is_guessed_among_several() -> None:
    found = paired([("a", 1), ("a", 2)], [("a", 3), ("a", 4)])
    assert found.pairs == ()
    assert (found.gone, found.new) == ((("a", 1), ("a", 2)), (("a", 3), ("a", 4)))


def test_entry_that_comes_changes_nothing_for_the_others() -> None:
    assert paired([("a", 1)], [("c", 1), ("a", 2)]).pairs == ((("a", 1), ("a", 2)),)
    assert paired([("a", 1)], [("c", 1)]).pairs == ()


def test_next_key_is_for_what_is_left() -> None:
    found = pair_up(
        [("a", 1), ("b", 2)],
        [("a", 2), ("c", 2)],
        lambda entry: entry[0],
        lambda entry: entry[1],
        content=lambda entry: entry,
    )
    assert found.pairs == ((("a", 1), ("a", 2)), (("b", 2), ("c", 2)))
