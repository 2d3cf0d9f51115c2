"""Two rankings into one, and a question's telling words."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kbindex.search.fusion import fuse_ranks, keyword_query


def test_reciprocal_ranks_are_summed() -> None:
    """Cormack, Clarke & Buettcher 2009: the sum of 1 / (60 + rank)."""
    fused = dict(fuse_ranks([[1, 2], [2, 1, 3]]))
    assert fused[1] == pytest.approx(1 / 61 + 1 / 62)
    assert round(fused[1], 6) == 0.032522
    assert fused[3] == pytest.approx(1 / 63)


def test_best_first_and_equals_by_id() -> None:
    assert [one for one, _ in fuse_ranks([[7, 5, 9], [9, 7]])] == [7, 9, 5]
    assert [one for one, _ in fuse_ranks([[5], [3]])] == [3, 5]


def test_one_ranking_keeps_its_order_and_none_gives_nothing() -> None:
    assert [one for one, _ in fuse_ranks([[4, 2, 8], []])] == [4, 2, 8]
    assert fuse_ranks([]) == fuse_ranks([[], []]) == []


@given(st.lists(st.lists(st.integers(0, 30), unique=True), max_size=4))
def test_every_id_comes_once_with_scores_that_fall(rankings: list[list[int]]) -> None:
    fused = fuse_ranks(rankings)
    assert sorted(one for one, _ in fused) == sorted({one for ranking in rankings for one in ranking})
    scores = [score for _, score in fused]
    assert scores == sorted(scores, reverse=True)
    assert all(0 < score <= len(rankings) / 61 for score in scores)


def test_telling_words_are_asked_for_once_each() -> None:
    assert keyword_query("Won't start, beeps and beeps 3 times") == '"wont" OR "start" OR "beeps" OR "3" OR "times"'


def test_words_that_tell_nothing_give_no_query() -> None:
    assert keyword_query("it is on") is None
    assert keyword_query("?!") is None


def test_other_words_are_added() -> None:
    assert keyword_query("beeps", ["door latch"]) == '"beeps" OR "door" OR "latch"'


@pytest.mark.parametrize("text", ['" OR ""', "a* NEAR(b, c)", "text: beeps", "-beeps ^x", "beeps'); --"])
def test_no_sign_of_the_query_language_gets_through(text: str) -> None:
    query = keyword_query(text)
    assert query is None or all(part.strip('"').isalnum() for part in query.split(" OR "))
