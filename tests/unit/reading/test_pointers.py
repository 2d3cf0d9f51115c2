"""What a sentence may point at, and how the choice lies to it."""

import numpy as np

from kbindex.reading.lexicon import Mention
from kbindex.reading.pointers import (
    AHEAD,
    AMOUNT_SIGNS,
    CANDIDATE_SIGNS,
    REACH,
    TURN_SIGNS,
    describe_amount,
    describe_candidates,
    describe_turns,
    find_candidates,
    find_named_near,
)


def named(*components: str) -> list[Mention]:
    return [Mention(component, 10 * n, 10 * n + 5) for n, component in enumerate(components)]


def test_own_mentions_come_first_then_the_latest_of_each_other_component() -> None:
    mentions = [named("door latch", "drain pump"), named("control board"), named("door latch"), named("wash pump")]
    found = [(one.sentence, one.mention.component) for one in find_candidates(mentions, 3)]
    assert found == [(3, "wash pump"), (2, "door latch"), (1, "control board"), (0, "drain pump")]


def test_what_was_named_long_ago_or_before_the_window_is_out_of_reach() -> None:
    mentions = [named("door latch"), *([] for _ in range(REACH)), named("wash pump")]
    assert [one.mention.component for one in find_candidates(mentions, REACH + 1)] == ["wash pump"]
    assert [one.mention.component for one in find_candidates([named("door latch"), named("fuse")], 1, first=1)] == ["fuse"]


def test_signs_tell_distance_and_rank() -> None:
    mentions = [named("door latch"), named("control board", "fuse")]
    rows = describe_candidates(find_candidates(mentions, 1), 1)
    assert rows.shape == (3, CANDIDATE_SIGNS)
    assert rows[:, 0].tolist() == [1, 1, 0]  # named in the sentence itself
    assert rows[:, 1].tolist() == [0, 0, 1]  # named in the one before
    assert describe_candidates([], 3).dtype == np.float32


def test_the_component_of_an_amount_may_be_named_a_little_later() -> None:
    mentions = [named("door latch"), [], named("fuse"), *([] for _ in range(AHEAD - 1)), named("drain pump")]
    assert [(one.sentence, one.mention.component) for one in find_named_near(mentions, 1)] == [(0, "door latch"), (2, "fuse")]


def test_signs_tell_on_which_side_of_an_amount_a_component_stands() -> None:
    mentions = [named("door latch"), named("control board", "fuse"), named("drain pump")]  # at 0-5 and at 10-15
    rows = describe_amount(find_named_near(mentions, 1), 1, 6, 9)
    assert rows.shape == (4, AMOUNT_SIGNS)
    before, after = rows[:, 11].tolist(), rows[:, 12].tolist()
    assert (before, after) == ([1, 0, 0, 0], [0, 1, 0, 0])
    assert rows[:, 13].tolist() == [1, 1, 0, 0]  # right beside the amount
    assert rows[:, 5].tolist() == [0, 0, 0, 1]  # named in the next sentence


def test_signs_tell_how_much_work_lies_between_work_and_what_shows_its_end() -> None:
    rows = describe_turns(0, [0, 1, 3], [0, 2, 3])
    assert rows.shape == (3, TURN_SIGNS)
    assert rows[:, 0].tolist() == [1, 0, 0]  # in the sentence itself
    assert rows[:, 5].tolist() == [1, 1, 0]  # before any other work
    assert rows[:, 9].tolist() == [0, 0, 1]  # where other work is told
    assert rows[:, 10].tolist() == [0, 0, 1]  # after the last work
    assert describe_turns(0, [], []).shape == (0, TURN_SIGNS)
