"""The command line: it parses, calls and prints."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, Optional

import typer

from kbindex import __version__
from kbindex import errors as e
from kbindex.records import IngestSummary, Progress
from kbindex.settings import known_meanings, library_folder

if TYPE_CHECKING:
    from rich.console import Console

EXIT_CODES: dict[type[e.KbindexError], int] = {
    e.SettingsError: 2,
    e.QuestionError: 2,
    e.LibraryMissing: 2,
    e.LibraryNewer: 3,
    e.LibraryBusy: 3,
    e.StoreError: 3,
    e.EngineError: 4,
    e.MediaError: 1,
    e.DocumentError: 1,
    e.KbindexError: 1,
}
"""What the program exits with for an error that ends it; the nearest class counts."""
_STOPPED = 130
"""What typer makes of Ctrl-C, as shells do."""

app = typer.Typer(
    help="Search and count your own repair recordings and notes, offline.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

LibraryOption = Annotated[
    Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
    typer.Option("--library", metavar="DIR", help="The library's folder; else KBINDEX_LIBRARY, else your data folder."),
]
USAGE_ERROR: type[Exception] = typer.BadParameter.__bases__[0]
"""What typer raises for arguments it cannot use; it has no public name of its own."""

JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]


@app.command(epilog="Example: kbindex ingest ~/repairs --library ~/repairs-library")
def ingest(
    paths: Annotated[list[Path], typer.Argument(metavar="PATH...", help="Files and folders of recordings and notes.")],
    library: LibraryOption = None,
    model: Annotated[
        str | None,
        typer.Option("--model", metavar="NAME|DIR", help="Speech model: whisper-base, whisper-tiny.en, or a folder."),
    ] = None,  # noqa: UP045
    columns: Annotated[
        list[str] | None,
        typer.Option(
            metavar="HEADING=MEANING,...",
            help=f"What columns of your tables hold, where it is not understood; remembered. {known_meanings().capitalize()}.",
        ),
    ] = None,  # noqa: UP045
    as_json: JsonOption = False,
) -> None:
    """Take recordings and notes into the library; unchanged files are passed over."""
    from kbindex import assemble
    from kbindex.exports import contract_json, terminal
    from kbindex.ingest import ingest as run_ingest
    from kbindex.review import count_waiting

    folder = library_folder(library)
    assemble.check_settings(folder)
    said = assemble.check_columns(columns or (), paths)
    with assemble.writing(folder, _say_busy), assemble.open_library(folder, create=True) as opened:
        assemble.remember_columns(folder, said)
        summary = _follow(run_ingest(paths, opened, assemble.ingest_engines(folder, model)))
        waiting = count_waiting(opened)
    lines = [*terminal.summary_lines(summary), *terminal.waiting_count_lines(*waiting)]
    _print([contract_json.summary_json(summary)] if as_json else lines, plain=as_json)
    raise typer.Exit(1 if summary.failed else 0)


@app.command(epilog='Example: kbindex ask "won\'t start, three beeps" --appliance dishwasher --tried latch')
def ask(
    text: Annotated[str, typer.Argument(metavar="TEXT", help="What the machine does, or does not do.")],
    appliance: Annotated[str | None, typer.Option(metavar="NAME", help="The machine, where the text does not name it.")] = None,  # noqa: UP045
    tried: Annotated[
        list[str] | None,
        typer.Option(metavar="COMPONENT", help="A part that has been tried already; may be given again."),
    ] = None,  # noqa: UP045
    limit: Annotated[int, typer.Option(metavar="N", min=1, max=100, help="How many rows of each sort.")] = 8,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Ask what cured it before, how often, what to try first, and where to see it."""
    from kbindex import assemble
    from kbindex.answer import Asked
    from kbindex.answer import ask as run_ask
    from kbindex.exports import contract_json, terminal

    with assemble.open_library(library_folder(library)) as opened:
        _warn_if_old(current=opened.jobs_are_current())
        answer = run_ask(Asked(text, appliance, tuple(tried or ()), limit), opened, assemble.ask_engines(opened))
    _print([contract_json.answer_json(answer)] if as_json else terminal.answer_lines(answer, limit), plain=as_json)


@app.command(epilog="Example: kbindex export --json > jobs.json")
def export(library: LibraryOption = None, as_json: JsonOption = False) -> None:
    """Print all jobs of the library."""
    from kbindex import assemble
    from kbindex.exports import contract_json, terminal

    with assemble.open_library(library_folder(library)) as opened:
        jobs = opened.jobs()
    lines: Iterable[str] = (line for job in jobs for line in terminal.job_lines(job))
    _print([contract_json.library_json(jobs)] if as_json else lines, plain=as_json)


@app.command(epilog="Example: kbindex show 2057")
def show(
    job: Annotated[str, typer.Argument(metavar="JOB", help="A job's number or id, as answers name it.")],
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show one job's story in order, with times."""
    from kbindex import assemble
    from kbindex.exports import contract_json, terminal

    with assemble.open_library(library_folder(library)) as opened:
        found = [one for one in opened.jobs() if job in (one.id, one.job_no)]
    if not found:
        raise e.QuestionError(f"there is no job '{job}' in the library; kbindex export lists them all")
    _print([contract_json.job_json(found[0])] if as_json else terminal.job_lines(found[0]), plain=as_json)


def _handles(help_text: str) -> Any:
    return typer.Option(metavar="HANDLE", help=f"{help_text}; may be given again.")


@app.command(epilog="Example: kbindex review --same p1 --wrong a4")
def review(
    same: Annotated[list[str] | None, _handles("A pair that is one job")] = None,  # noqa: UP045
    apart: Annotated[list[str] | None, _handles("A pair that is two jobs")] = None,  # noqa: UP045
    right: Annotated[list[str] | None, _handles("A fact that was read as it is")] = None,  # noqa: UP045
    wrong: Annotated[list[str] | None, _handles("A fact that is not so")] = None,  # noqa: UP045
    undo: Annotated[list[str] | None, _handles("An answer to take back")] = None,  # noqa: UP045
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """List what reading was not sure of; answers given here are kept, whatever is read anew."""
    from kbindex import assemble
    from kbindex.doubts import Verdict
    from kbindex.exports import contract_json, terminal
    from kbindex.review import decide, list_waiting

    answers = {Verdict.SAME: same, Verdict.APART: apart, Verdict.RIGHT: right, Verdict.WRONG: wrong}
    said = [(handle, verdict) for verdict, handles in answers.items() for handle in handles or ()]
    folder = library_folder(library)
    with assemble.open_library(folder) as opened:
        if said or undo:
            with assemble.writing(folder, _say_busy):
                decide(opened, said, undo or ())
            _say(
                "; ".join(
                    [*(f"{handle} is {verdict}" for handle, verdict in said), *(f"{one} is open again" for one in undo or ())]
                )
            )
        _warn_if_old(current=opened.jobs_are_current())
        waiting = list_waiting(opened)
    _print([contract_json.waiting_json(waiting)] if as_json else terminal.waiting_lines(waiting), plain=as_json)


@app.callback(invoke_without_command=True)
def _version(version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False) -> None:
    if version:
        typer.echo(__version__)
        raise typer.Exit


def _follow(steps: Iterator[Progress | IngestSummary]) -> IngestSummary:
    """Show progress: a bar with the time left on a terminal, plain lines in a pipe; both on standard error."""
    from kbindex.exports.progress import show_progress

    return show_progress(steps, sys.stderr)


def _print(lines: Iterable[str], *, plain: bool) -> None:
    if plain:
        for line in lines:
            typer.echo(line)
        return
    console = _console()
    for line in lines:
        console.print(line, highlight=False, soft_wrap=True)


def _console() -> Console:
    from rich.console import Console

    return Console(color_system=None if os.environ.get("NO_COLOR") else "auto", emoji=False)


def _say(message: str) -> None:
    """Tell a person something on one line of standard error."""
    typer.echo(f"kbindex: {' '.join(message.split())}", err=True)


def _say_busy() -> None:
    _say("another ingest is at work in this library; waiting for it")


def _warn_if_old(*, current: bool) -> None:
    if not current:
        _say("the last ingest did not finish: counts may be old; run kbindex ingest again")


def exit_code_of(error: e.KbindexError) -> int:
    """The exit code of an error: that of the nearest class in the table."""
    return next(EXIT_CODES[one] for one in type(error).__mro__ if one in EXIT_CODES)


def main() -> NoReturn:
    """Run the program; errors meant for a person are printed on one line and become exit codes."""
    try:
        code = app(prog_name="kbindex", standalone_mode=False)
    except e.KbindexError as error:
        _say(str(error))
        sys.exit(exit_code_of(error))
    except USAGE_ERROR as error:
        sys.exit(_explain_usage(error))
    if code == _STOPPED:
        _say("stopped; what was taken in is kept, the same command goes on from there")
    sys.exit(code or 0)


def _explain_usage(error: Any) -> int:
    """Say what is wrong with the arguments, and give the exit code; without any arguments show the help."""
    if len(sys.argv) == 1:
        error.show()
    else:
        command = error.ctx.command_path if error.ctx else "kbindex"
        _say(f"{error.format_message().rstrip('.')}; see {command} --help")
    return int(error.exit_code)


if __name__ == "__main__":
    main()
