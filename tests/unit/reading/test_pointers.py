"""What a sentence may point at, and how the choice lies to it."""

import numpy as np

from kbindex.reading.lexicon import Mention
from kbindex.reading.pointers import (
    CANDIDATE_SIGNS,
    REACH,
    WORK_SIGNS,
    describe_candidates,
    describe_works,
    find_candidates,
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
    works = describe_works([0, 4, 5], 5)
    assert works.shape == (3, WORK_SIGNS)
    assert works[:, 0].tolist() == [0, 0, 1]
    assert works[:, 5].tolist() == [0, 0, 1]  # the latest
    assert describe_works([], 3).shape == (0, WORK_SIGNS)
    assert describe_candidates([], 3).dtype == np.float32
