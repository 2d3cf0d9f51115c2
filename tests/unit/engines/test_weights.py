"""Where weights come from: packages that are not imported, parts joined once and safely, hashes that are not passed over."""

import hashlib
import json
import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from kbindex.engines import weights
from kbindex.engines.atomic import whole_file
from kbindex.engines.weights import Model, PackagedFolder, PackagedParts, check_file, file_sha256, find_weights
from kbindex.errors import EngineError, WeightsDamaged, WeightsMissing

CONTENT = b"weights of a small model" * 1000
SHA256 = hashlib.sha256(CONTENT).hexdigest()
BOMB = "raise RuntimeError('the package was imported')\n"


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("KBINDEX_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache"


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of installed packages: one with a whole model, two with a half each. None may be imported."""
    folder = tmp_path / "site"
    whole, first, second = (folder / name for name in ("kbtest_whole", "kbtest_first", "kbtest_second"))
    for package, inner in ((whole, "model"), (first, "data"), (second, "data")):
        (package / inner).mkdir(parents=True)
        (package / "__init__.py").write_text(BOMB)
    (whole / "model" / "model.bin").write_bytes(CONTENT)
    (first / "data" / "model.bin.part1").write_bytes(CONTENT[:7000])
    (second / "data" / "model.bin.part2").write_bytes(CONTENT[7000:])
    (first / "data" / "config.json").write_text('{"small": true}')
    monkeypatch.syspath_prepend(str(folder))
    parts = (("kbtest_first", "data/model.bin.part1"), ("kbtest_second", "data/model.bin.part2"))
    packaged = PackagedParts(("kbtest-first==1", "kbtest-second==1"), parts, ("config.json",))
    monkeypatch.setitem(weights.MODELS, "in-parts", Model("model.bin", SHA256, packaged, "none/none"))
    folder_of = PackagedFolder("kbtest-whole==1", "kbtest_whole", "model")
    monkeypatch.setitem(weights.MODELS, "whole", Model("model.bin", SHA256, folder_of, "none/none"))
    return folder


def test_a_package_is_found_without_running_it(cache: Path, site: Path) -> None:
    assert find_weights("whole") == site / "kbtest_whole" / "model"
    assert "kbtest_whole" not in sys.modules


def test_a_damaged_package_is_never_given(cache: Path, site: Path) -> None:
    file = site / "kbtest_whole" / "model" / "model.bin"
    file.write_bytes(CONTENT[:-1] + b"x")
    for _ in range(2):
        with pytest.raises(WeightsDamaged) as caught:
            find_weights("whole")
        assert caught.value.expected == SHA256
        assert caught.value.found == hashlib.sha256(CONTENT[:-1] + b"x").hexdigest()
    file.write_bytes(CONTENT)
    assert find_weights("whole") == file.parent


def test_damage_after_a_passed_check_is_found(cache: Path, site: Path) -> None:
    file = find_weights("whole") / "model.bin"
    file.write_bytes(CONTENT[:-1] + b"x")
    with pytest.raises(WeightsDamaged):
        find_weights("whole")


def test_a_passed_check_is_remembered(cache: Path, site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    find_weights("whole")
    (stamp,) = (cache / "checked").iterdir()
    told = json.loads(stamp.read_text())
    stat = (site / "kbtest_whole" / "model" / "model.bin").stat()
    assert (told["size"], told["mtime_ns"], told["sha256"]) == (stat.st_size, stat.st_mtime_ns, SHA256)

    def never(file: Path) -> None:
        raise AssertionError(f"{file} was read again")

    monkeypatch.setattr(weights, "_blocks", never)
    assert find_weights("whole").name == "model"


@pytest.mark.parametrize("stamp", ["", "[]", "{}", '{"sha256": 3}', "not json"])
def test_a_broken_stamp_is_no_stamp(cache: Path, site: Path, stamp: str) -> None:
    find_weights("whole")
    (file,) = (cache / "checked").iterdir()
    file.write_text(stamp)
    assert find_weights("whole").name == "model"
    assert json.loads(file.read_text())["sha256"] == SHA256


def test_a_cache_that_cannot_be_written_costs_only_the_stamp(
    tmp_path: Path, site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setenv("KBINDEX_CACHE", str(tmp_path / "file"))
    assert find_weights("whole").name == "model"
    with pytest.raises(EngineError, match="cannot be joined.*KBINDEX_CACHE"):
        find_weights("in-parts")


def test_parts_are_joined_once(cache: Path, site: Path) -> None:
    folder = find_weights("in-parts")
    assert folder.is_relative_to(cache)
    assert sorted(file.name for file in folder.iterdir()) == ["config.json", "model.bin"]
    assert (folder / "model.bin").read_bytes() == CONTENT
    first = (folder / "model.bin").stat().st_mtime_ns
    assert find_weights("in-parts") == folder
    assert (folder / "model.bin").stat().st_mtime_ns == first


def test_a_joined_file_that_was_damaged_is_joined_again(cache: Path, site: Path) -> None:
    file = find_weights("in-parts") / "model.bin"
    file.write_bytes(CONTENT[:100])
    assert (find_weights("in-parts") / "model.bin").read_bytes() == CONTENT


def test_damaged_parts_leave_nothing_behind(cache: Path, site: Path) -> None:
    (site / "kbtest_second" / "data" / "model.bin.part2").write_bytes(b"short")
    with pytest.raises(WeightsDamaged):
        find_weights("in-parts")
    assert not [file for file in cache.rglob("model.bin*")]


def test_one_part_alone_is_missing_weights(cache: Path, site: Path) -> None:
    (site / "kbtest_second" / "data" / "model.bin.part2").unlink()
    with pytest.raises(WeightsMissing, match=r"package kbtest-second==1.*; install them with"):
        find_weights("in-parts")


JOIN = """
import sys
from kbindex.engines import weights
from kbindex.engines.weights import Model, PackagedParts
parts = (("kbtest_first", "data/model.bin.part1"), ("kbtest_second", "data/model.bin.part2"))
packaged = PackagedParts((), parts, ("config.json",))
weights.MODELS["in-parts"] = Model("model.bin", sys.argv[1], packaged, "none/none")
print("ready", flush=True)
sys.stdin.readline()
{slow}
print(weights.find_weights("in-parts"))
"""
SLOW = """
import time
plain = weights._blocks
def slowly(file):
    for block in plain(file):
        yield block
        print("writing", flush=True)
        time.sleep(60)
weights._blocks = slowly
"""


def start_join(site: Path, slow: str = "") -> subprocess.Popen[str]:
    places = os.pathsep.join([str(site), str(Path(weights.__file__).parents[2])])
    child = subprocess.Popen(
        [sys.executable, "-c", JOIN.replace("{slow}", slow), SHA256],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": places},
    )
    assert child.stdout and child.stdout.readline() == "ready\n"
    return child


def test_four_processes_at_once_join_whole(cache: Path, site: Path) -> None:
    children = [start_join(site) for _ in range(4)]
    for child in children:
        assert child.stdin
        child.stdin.write("go\n")
        child.stdin.flush()
    outputs = [child.communicate(timeout=60)[0].strip() for child in children]
    assert [child.returncode for child in children] == [0, 0, 0, 0]
    (folder,) = set(outputs)
    assert sorted(file.name for file in Path(folder).iterdir()) == ["config.json", "model.bin"]
    assert Path(folder, "model.bin").read_bytes() == CONTENT


def test_a_killed_join_leaves_nothing_that_is_taken_for_weights(cache: Path, site: Path) -> None:
    child = start_join(site, SLOW)
    assert child.stdin and child.stdout
    child.stdin.write("go\n")
    child.stdin.flush()
    assert child.stdout.readline() == "writing\n"
    child.kill()
    child.communicate()
    assert not list(cache.rglob("model.bin"))
    (left,) = cache.rglob("model.bin.unfinished-*")
    folder = find_weights("in-parts")
    assert (folder / "model.bin").read_bytes() == CONTENT
    # An hour later what was left is cleared away by the next write.
    os.utime(left, (time.time() - 4000, time.time() - 4000))
    (folder / "model.bin").unlink()
    find_weights("in-parts")
    assert sorted(file.name for file in folder.iterdir()) == ["config.json", "model.bin"]


def test_a_named_folder_is_taken(tmp_path: Path, cache: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "model.bin").write_bytes(b"own")
    assert find_weights(tmp_path / "mine") == tmp_path / "mine"
    assert find_weights(str(tmp_path / "mine")) == tmp_path / "mine"


def test_what_is_no_model_names_those_that_are(tmp_path: Path, cache: Path) -> None:
    with pytest.raises(WeightsMissing, match=r"whisper-huge.*all-minilm-l6-v2.*whisper-tiny\.en"):
        find_weights("whisper-huge")


def test_without_leave_the_hub_is_not_even_loaded(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    gone = PackagedFolder("kbtest-gone==1", "kbtest_gone", "model")
    monkeypatch.setitem(weights.MODELS, "gone", Model("model.bin", SHA256, gone, "none/none"))
    monkeypatch.setitem(sys.modules, "huggingface_hub", None)
    with pytest.raises(WeightsMissing, match="the hub was not asked"):
        find_weights("gone")


def test_with_leave_the_hub_is_asked_and_what_comes_is_checked(
    tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = PackagedFolder("kbtest-gone==1", "kbtest_gone", "model")
    monkeypatch.setitem(weights.MODELS, "gone", Model("model.bin", SHA256, gone, "kbtest/gone", "abc"))
    asked: list[tuple[str, object]] = []

    class Hub:
        @staticmethod
        def snapshot_download(name: str, revision: str | None, cache_dir: str) -> str:
            asked.append((name, revision))
            (tmp_path / "got").mkdir(exist_ok=True)
            (tmp_path / "got" / "model.bin").write_bytes(CONTENT if len(asked) == 1 else b"other")
            return str(tmp_path / "got")

    monkeypatch.setitem(sys.modules, "huggingface_hub", Hub)
    assert find_weights("gone", allow_hub=True) == tmp_path / "got"
    assert asked == [("kbtest/gone", "abc")]
    with pytest.raises(WeightsDamaged):
        find_weights("gone", allow_hub=True)


def test_a_hub_that_cannot_be_reached_is_named_among_the_tried(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    gone = PackagedFolder("kbtest-gone==1", "kbtest_gone", "model")
    monkeypatch.setitem(weights.MODELS, "gone", Model("model.bin", SHA256, gone, "kbtest/gone"))

    class Hub:
        @staticmethod
        def snapshot_download(name: str, revision: str | None, cache_dir: str) -> str:
            raise ConnectionError("no network")

    monkeypatch.setitem(sys.modules, "huggingface_hub", Hub)
    with pytest.raises(WeightsMissing, match="kbtest/gone.*no network"):
        find_weights("gone", allow_hub=True)


def test_a_file_that_is_not_there(tmp_path: Path, cache: Path) -> None:
    with pytest.raises(WeightsMissing):
        check_file(tmp_path / "none.bin", SHA256)
    with pytest.raises(WeightsMissing):
        file_sha256(tmp_path / "none.bin")


def test_a_whole_file_replaces_or_leaves_what_was(tmp_path: Path) -> None:
    target = tmp_path / "folder" / "a.txt"
    with whole_file(target) as unfinished:
        unfinished.write_text("one")
        assert not target.exists()
    with pytest.raises(ZeroDivisionError), whole_file(target) as unfinished:
        unfinished.write_text("two")
        raise ZeroDivisionError
    assert [file.read_text() for file in target.parent.iterdir()] == ["one"]


def test_threads_that_write_the_same_file_do_not_meet(tmp_path: Path) -> None:
    target = tmp_path / "a.txt"

    def write(text: str) -> None:
        with whole_file(target) as unfinished:
            unfinished.write_text(text * 10_000)

    threads = [threading.Thread(target=write, args=(letter,)) for letter in "abcdef"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(set(target.read_text())) == 1
    assert [file.name for file in tmp_path.iterdir()] == ["a.txt"]
