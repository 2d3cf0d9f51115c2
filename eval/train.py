"""Train the sentence heads from the labelled set: multinomial logistic regression, reproducible from a seed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from sklearn.linear_model import LogisticRegression
from sklearn.metrics import f1_score

from eval.labelled import LabelledDocument
from kbindex.engines.sentence_heads import HEADS_FILE
from kbindex.reading.kinds import HEADS, Heads, judge, make_features
from kbindex.reading.lexicon import load_lexicon
from kbindex.records import Sentence

Matrix = NDArray[np.float32]
Encode = Callable[[Sequence[str]], Matrix]

STRENGTHS = {"kind": 3.0, "attempt": 3.0, "turn": 3.0, "operation": 3.0, "by": 3.0, "tag": 3.0}
"""For each head the inverse strength of the penalty on squared weights, chosen on the dev voices."""


def train(documents: Sequence[LabelledDocument], encode: Encode) -> Heads:
    """Fit the heads on labelled documents."""
    documents = [document for document in documents if document.sentences]
    features = np.concatenate([features_of(document, encode) for document in documents])
    labels = [label for document in documents for label in document.labels]
    weights, bias = {}, {}
    for name, classes in HEADS.items():
        wanted = [getattr(label, name) for label in labels]
        rows = [place for place, one in enumerate(wanted) if one is not None]
        weights[name], bias[name] = _fit(features[rows], [wanted[row] for row in rows], classes, STRENGTHS[name])
    return Heads(weights, bias)


def shipped_heads_file() -> Path:
    """Where the package keeps the heads."""
    import kbindex.reading

    return Path(kbindex.reading.__file__).parent / "data" / HEADS_FILE


def features_of(document: LabelledDocument, encode: Encode) -> Matrix:
    """Features of a document's own sentences."""
    lexicon = load_lexicon()
    mended = [Sentence(lexicon.mend(one.text), one.heard, one.at) for one in document.sentences]
    return make_features(mended, encode([one.text for one in mended]), lexicon)


def _fit(features: Matrix, labels: Sequence[str], classes: Sequence[str], strength: float) -> tuple[Matrix, Matrix]:
    model = LogisticRegression(C=strength, max_iter=400, tol=1e-3, random_state=0)
    model.fit(features, labels)
    weights = np.zeros((features.shape[1], len(classes)), dtype=np.float32)
    bias = np.full(len(classes), -20.0, dtype=np.float32)
    rows = model.coef_ if len(model.classes_) > 2 else np.vstack([-model.coef_, model.coef_]) / 2
    shifts = model.intercept_ if len(model.classes_) > 2 else np.array([-model.intercept_[0], model.intercept_[0]]) / 2
    for row, name in enumerate(model.classes_):
        weights[:, list(classes).index(name)] = rows[row]
        bias[list(classes).index(name)] = shifts[row]
    return weights, bias


def score_heads(heads: Heads, documents: Sequence[LabelledDocument], encode: Encode) -> dict[str, float]:
    """Macro-F1 of each head over the given documents' own sentences."""
    lexicon = load_lexicon()
    gold: dict[str, list[str]] = {name: [] for name in HEADS}
    told: dict[str, list[str]] = {name: [] for name in HEADS}
    for document in documents:
        texts = [lexicon.mend(sentence.text) for sentence in document.sentences]
        verdicts = judge(document.sentences, encode(texts), heads, lexicon) if texts else []
        for verdict, label in zip(verdicts, document.labels, strict=True):
            for name in HEADS:
                if getattr(label, name) is not None:
                    gold[name].append(getattr(label, name))
                    told[name].append(max(verdict.chances[name], key=verdict.chances[name].__getitem__))
    return {name: float(f1_score(gold[name], told[name], average="macro")) for name in HEADS}
