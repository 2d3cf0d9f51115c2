"""Fit how sure a told attempt is, on voices that the heads were not trained on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from eval.labelled import LabelledDocument
from eval.reading_figures import told_attempts
from eval.reading_report import read_documents, with_plain_jobs
from kbindex.engines.document_encoder import HEADS_FILE
from kbindex.reading.confidence import Trust, describe_trust
from kbindex.reading.events import Work
from kbindex.reading.jobs import Knowledge
from kbindex.reading.reader import ReadingTools
from kbindex.reading.result_choice import Shown


@dataclass(frozen=True)
class _Watching(Trust):
    """Keeps what is asked, in the order of the attempts."""

    asked: list[Any] = field(default_factory=list)

    def of(self, work: Work, shown: Shown) -> float:
        self.asked.append(describe_trust(work, shown))
        return 0.5


class _WatchedTools(ReadingTools):
    @cached_property
    def known(self) -> Knowledge:
        return replace(super().known, trust=_Watching(self.heads))


def fit_trust(documents: Sequence[LabelledDocument], tools: ReadingTools) -> dict[str, np.ndarray[Any, Any]]:
    """Fit the weights of `kbindex.reading.confidence`: a logistic regression on what is right of the attempts told."""
    from sklearn.linear_model import LogisticRegression

    watched = _WatchedTools(tools.lexicon, tools.heads, tools.encoder, tools.settings)
    right = [is_right for is_right, _ in told_attempts(with_plain_jobs(read_documents(documents, watched), tools))]
    trust = watched.known.trust
    signs = np.stack(trust.asked) if isinstance(trust, _Watching) else np.zeros((0, 0))
    if len(signs) != len(right):
        raise RuntimeError(f"{len(signs)} attempts were asked about, {len(right)} were told")
    fitted = LogisticRegression(C=1.0).fit(signs, right)
    return {
        "trust.weight": fitted.coef_.astype(np.float32),
        "trust.bias": fitted.intercept_.astype(np.float32),
    }


def write_trust(weights: dict[str, np.ndarray[Any, Any]], folder: Path) -> None:
    """Put the weights into the file of heads in a folder."""
    from safetensors.numpy import load_file, save_file

    file = folder / HEADS_FILE
    save_file({**load_file(file), **{name: tensor.astype(np.float16) for name, tensor in weights.items()}}, file)
