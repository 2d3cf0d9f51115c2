"""Measures of boundaries: nltk's, on published examples, and how labelled and told passages become its strings."""

from pathlib import Path

import pytest
from nltk.metrics.segmentation import pk, windowdiff

from eval.labelled import Label, LabelledDocument
from eval.reading_figures import score_boundaries
from kbindex.records import At, Kind, Passage, Sentence, SourceKind, Told

S1, S2, S3 = "000100000010", "000010000100", "100000010000"


@pytest.mark.parametrize(("one", "other", "expected"), [(S1, S1, 0.0), (S1, S2, 0.3), (S2, S3, 0.8)])
def test_window_diff_of_the_worked_examples(one: str, other: str, expected: float) -> None:
    """Source: documentation of nltk.metrics.segmentation, after Pevzner & Hearst 2002 (window 3)."""
    assert windowdiff(one, other, 3) == pytest.approx(expected, abs=0.005)


def test_pk_of_the_worked_examples() -> None:
    """Source: documentation of nltk.metrics.segmentation, after Beeferman et al. 1999 (window 2)."""
    text = "0100" * 100
    assert pk(text, "1" * 400, 2) == pytest.approx(0.5, abs=0.005)
    assert pk(text, "0" * 400, 2) == pytest.approx(0.5, abs=0.005)
    assert pk(text, text, 2) == 0.0


def test_passages_told_as_labelled_have_no_error_and_others_have() -> None:
    texts, kinds = (
        ["it beeps and stops dead", "we put a new latch in", "it runs right through now"],
        ["symptom", "action", "result"],
    )
    sentences = tuple(Sentence(text, text, At("a.vtt", None, 0.0, 1.0)) for text in texts)
    labels = tuple(Label(kind, "no", "none") for kind in kinds)
    document = LabelledDocument("a.vtt", Path("a.yaml"), "x", SourceKind.RECORDING, False, sentences, labels, ())
    starts = [1.0, 1.0 + 5 * 0.36 + 0.45, 1.0 + 11 * 0.36 + 0.9]
    right = [Passage(Kind(kind), "", At("a.vtt", None, at, at + 1)) for kind, at in zip(kinds, starts, strict=True)]
    assert score_boundaries([(document, Told((), tuple(right)))]) == (0.0, 0.0, 3)
    merged = [Passage(Kind.ASIDE, "", At("a.vtt", None, 1.0, 9.0))]
    worse = score_boundaries([(document, Told((), tuple(merged)))])
    assert worse[0] > 0.2
    assert worse[1] > 0.2
