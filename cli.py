"""The wrapwright command: reads, calls each step, prints.  Nothing else in the project prints or exits.

Whatever takes long to import is imported by the command that needs it, so that help comes at once.
"""

from __future__ import annotations

import errno
import io
import math
import os
import shutil
import sys
import time
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from templates_core import __version__
from templates_core.errors import Fault, Gathered, InputError, WrapwrightError

if TYPE_CHECKING:
    from render.pages.paper import Layout
    from templates_core.jobs.job import Job
    from templates_core.model import Model

BAD_INPUT, INTERNAL_FAULT = 2, 1
DEBUG = "WRAPWRIGHT_DEBUG"
"""Set in the environment, it makes an internal fault show where it came from."""
_PROGRESS_AFTER_S = 1.0
_PLAIN_WIDTH = 100


class _Commands(click.Group):
    """A group whose commands end with status 2 and every fault, or 1 and a message to report."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 (click calls it so)
        """Commands as they are first needed, not by the alphabet."""
        return ["start", "sheets", "figures", "single", "trial"]

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except InputError as error:
            _tell_faults(error.faults)
            ctx.exit(BAD_INPUT)
        except WrapwrightError as error:
            click.echo(str(error), err=True)
            ctx.exit(BAD_INPUT)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except Exception as error:
            if os.environ.get(DEBUG) or (isinstance(error, OSError) and error.errno == errno.EPIPE):
                raise
            _tell_internal_fault(error)
            ctx.exit(INTERNAL_FAULT)


def _tell_faults(faults: Sequence[Fault]) -> None:
    for fault in faults:
        click.echo(f"{fault.where}: {fault.what}\n    {fault.remedy}", err=True)
    if len(faults) > 1:
        click.echo(f"{len(faults)} faults. Put them right, and give the command again.", err=True)


def _tell_internal_fault(error: Exception) -> None:
    last = error.__traceback__
    while last is not None and last.tb_next is not None:
        last = last.tb_next
    place = "?" if last is None else f"{Path(last.tb_frame.f_code.co_filename).name} line {last.tb_lineno}"
    python = ".".join(map(str, sys.version_info[:3]))
    click.echo(
        "This is a fault in wrapwright, not in your job; nothing was written.\n"
        "Please report it, with the command, the job file and this line:\n"
        f"    wrapwright {__version__}, Python {python}, {place}: {type(error).__name__}: {error}\n"
        f"{DEBUG}=1 in front of the command shows more.",
        err=True,
    )


class _Progress:
    """Shows on a terminal what is being done, once a command has taken more than a second."""

    def __init__(self) -> None:
        self._start = time.monotonic()
        self._shown = 0

    def __call__(self, what: str, done: int, total: int) -> None:
        if not sys.stderr.isatty() or time.monotonic() - self._start < _PROGRESS_AFTER_S:
            return
        line = f"{what}: {done} of {total}"
        click.echo("\r" + line.ljust(self._shown), err=True, nl=False)
        self._shown = len(line)

    def __enter__(self) -> _Progress:
        return self

    def __exit__(self, *_: object) -> None:
        self.clear()

    def clear(self) -> None:
        if self._shown:
            click.echo("\r" + " " * self._shown + "\r", err=True, nl=False)
            self._shown = 0


_out = click.option(
    "-o", "--out", type=click.Path(path_type=Path), required=True, help="PDF to write, such as pack.pdf."
)
_paper = click.option(
    "--paper", metavar="NAME", help='letter, A4, A3, tabloid, or a roll by its width: "roll 610 mm".'
)
_printed = click.option(
    "--printed",
    metavar="WxH",
    help="What the 100 mm square of the print check measured, across x up, such as 99.2x99.6: "
    "everything is drawn again so that 100 prints as 100.",
)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96})
@click.version_option(__version__, prog_name="wrapwright")
def main() -> None:
    """True-scale paper wraps and bench sheets for cutting pipe elbows to odd angles.

    \b
    A first pack:
      wrapwright start myrail.toml           a job file with notes; change its numbers
      wrapwright sheets myrail.toml -o myrail.pdf
    \b
    One corner, without a job file:
      wrapwright single --size "NPS 1-1/2" --schedule 40 \\
          --elbow "90 long radius" --inside-angle 147.3 -o corner.pdf

    Each command has its own help: wrapwright sheets --help
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


@main.command(short_help="Write the pack of a job as a PDF.")
@click.argument("job_file", metavar="JOB", type=click.Path(path_type=Path))
@_out
@_paper
@_printed
@click.option(
    "--only",
    metavar="SECTION",
    multiple=True,
    help="Only these sheets: print-check, measure, job, buy, cut-list, wraps, bench, members, fit-up, "
    "straightness, record. Give it again, or with commas, for several.",
)
def sheets(job_file: Path, out: Path, paper: str | None, printed: str | None, only: tuple[str, ...]) -> None:
    """Write the pack of a JOB file as a PDF, at true scale.

    Print it at actual size (100 %), never fitted to the page, and measure its first sheet before
    anything else. The paper is the one in the job file unless --paper names another.

    \b
    Examples:
      wrapwright sheets stair.toml -o stair.pdf
      wrapwright sheets stair.toml -o stair.pdf --paper A3
      wrapwright sheets stair.toml -o wraps.pdf --only wraps,bench
      wrapwright sheets stair.toml -o stair.pdf --printed 99.2x99.6
    """
    from render.pack import check_words, sections_named
    from render.pages.paper import paper_named
    from templates_core.jobs.job_file import load_job
    from templates_core.model import build_model

    gathered = Gathered()
    sections = gathered.get(lambda: sections_named(only))
    job = gathered.get(lambda: load_job(job_file, paper_named))
    layout = gathered.get(lambda: _layout(paper or (job.shop.paper if job else None), printed))
    gathered.get(lambda: _check_out(out))
    with _Progress() as progress:
        if job:
            gathered.get(lambda: check_words(job))
        model = gathered.get(lambda: build_model(job, progress)) if job else None
        gathered.refuse()
        assert sections is not None and layout is not None and model is not None
        pages = _write(out, model, layout, sections, progress)
    _tell_written(out, model, layout, pages)


@main.command(short_help="Show the figures of a job.")
@click.argument("job_file", metavar="JOB", type=click.Path(path_type=Path))
@click.option(
    "--json", "as_json", is_flag=True, help="As JSON, in full precision; the README says what is in it."
)
@click.option(
    "--csv",
    "csv_folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="As CSV files in this folder, one for each table, in full precision; made if need be.",
)
def figures(job_file: Path, as_json: bool, csv_folder: Path | None) -> None:
    """Show the figures of a JOB file: corners, cuts, what to buy, the cut list and sizes to fit up by.

    \b
    Examples:
      wrapwright figures stair.toml
      wrapwright figures stair.toml --json > stair.json
      wrapwright figures stair.toml --csv stair_figures
    """
    from render.pages.paper import paper_named
    from templates_core.jobs.job_file import load_job
    from templates_core.model import build_model

    gathered = Gathered()
    gathered.get(lambda: _check_csv(csv_folder, as_json))
    job = gathered.get(lambda: load_job(job_file, paper_named))
    gathered.refuse()
    assert job is not None
    with _Progress() as progress:
        model = build_model(job, progress)
    if as_json:
        from render.figures.figures_json import figures_json

        click.echo(figures_json(model))
        return
    if csv_folder is not None:
        _write_csvs(csv_folder, model)
        return
    from render.figures.figure_list import figure_tables
    from render.pages.tables import plain_text

    width = shutil.get_terminal_size().columns if sys.stdout.isatty() else _PLAIN_WIDTH
    click.echo("\n".join(plain_text(table, width) for table in figure_tables(model)), nl=False)
    _tell_warnings(model)


@main.command(short_help="Write the sheets of one corner, without a job file.")
@click.option("--size", metavar="SIZE", help='Pipe size, "NPS 1-1/2" or "DN 40".')
@click.option("--schedule", metavar="NAME", help="Schedule of an NPS size: 5S, 10S, 40, 80, STD or XS.")
@click.option("--od", metavar="LENGTH", help="Measured outside diameter, in place of a size.")
@click.option("--wall", metavar="LENGTH", help="Wall, with --od or with a DN size.")
@click.option("--elbow", metavar="KIND", help='Elbow to cut, such as "90 long radius" or "EN 90 3D".')
@click.option("--bend-radius", metavar="LENGTH", help="Bend radius of a real elbow, to the centreline.")
@click.option("--sweep", metavar="DEGREES", help="Sweep of that elbow; 90 unless given.")
@click.option("--shoulder", metavar="LENGTH", help="From its face to the first edge of full diameter.")
@click.option("--ends", metavar="KIND", help="Ends of the elbow: bevelled (unless given) or square.")
@click.option("--turn", metavar="DEGREES", help="How far the corner turns.")
@click.option("--inside-angle", metavar="DEGREES", help="Or its inside angle, as a drawing gives it.")
@click.option("--mitre", is_flag=True, help="A mitred joint: half of the turn on each pipe, no elbow.")
@click.option("--run", metavar="LENGTH", help="Longer run at the corner, to say what an error costs there.")
@click.option("--units", metavar="UNIT", default="mm", show_default=True, help="Of bare numbers: mm or in.")
@click.option("--title", metavar="TEXT", help="Title on the sheets.")
@_out
@_paper
@_printed
def single(out: Path, paper: str | None, printed: str | None, **options: Any) -> None:
    """Write the sheets of one corner: print check, wrap and bench sheet.

    Lengths may carry their unit: "57 mm", "2-1/4 in". Angles are degrees: 32.7 or 32°42'.

    \b
    Examples:
      wrapwright single --size "NPS 1-1/2" --schedule 40 --elbow "90 long radius" \\
          --turn 32.7 -o corner.pdf
      wrapwright single --od 48.3 --wall 3.7 --bend-radius 57 --inside-angle 118 -o corner.pdf
      wrapwright single --size "NPS 2" --schedule 40 --mitre --turn 9.5 --paper letter -o mitre.pdf
    """
    from render.pack import SINGLE_SECTIONS
    from render.pages.paper import paper_named
    from templates_core.single import SingleAsked, single_job, single_model

    gathered = Gathered()
    job = gathered.get(lambda: single_job(SingleAsked(paper=paper, **options), paper_named))
    model = gathered.get(lambda: single_model(job)) if job else None
    layout = gathered.get(lambda: _layout(job.shop.paper if job else None, printed))
    gathered.get(lambda: _check_out(out))
    gathered.refuse()
    assert layout is not None and model is not None
    with _Progress() as progress:
        pages = _write(out, model, layout, SINGLE_SECTIONS, progress)
    _tell_written(out, model, layout, pages)


@main.command(short_help="Turn measured weld trials into numbers for the job file.")
@click.option("--bow", metavar="LENGTH", required=True, help="Bow that one weld left at the middle.")
@click.option("--span", metavar="LENGTH", required=True, help="Length that it was measured over.")
@click.option("--preset", metavar="LENGTH", help="Second trial: bow that clamps held the other way.")
@click.option("--left", metavar="LENGTH", help="Second trial: bow left, with a minus if away from the weld.")
@click.option("--units", metavar="UNIT", default="mm", show_default=True, help="Of bare numbers: mm or in.")
def trial(**options: Any) -> None:
    """Turn measured weld trials into numbers for the [weld] table of a job file.

    First trial: take a spare length of the pipe, straight. Weld one post at the middle as in the job, and
    let it cool. Lay a straight edge along it and measure the bow at the middle, over as long a span as goes.

    Second trial, only for presets that clamps hold: the same again, but clamped to a known bow the other way
    while it is welded and until it is cold. Release it, and measure the bow that is left over the same span.

    \b
    Examples:
      wrapwright trial --bow 3 --span 1200
      wrapwright trial --bow 3 --span 1200 --preset 6 --left 0.8
      wrapwright trial --bow 1/8 --span "4 ft" --units in
    """
    from templates_core.units import INCH, format_angle, format_length
    from templates_core.welding.weld_trial import READING_MM, TrialAsked, to_hold, trial_of

    found = trial_of(TrialAsked(**options))
    small = format_length(READING_MM, options["units"], fine=True)
    per = (
        (12 * found.kink_rad, "in in each foot")
        if options["units"] == INCH
        else (1000 * found.kink_rad, "mm in each metre")
    )
    click.echo(
        f"One weld turns the pipe by {format_angle(found.kink_rad, 3)} ({1000 * found.kink_rad:.1f} mrad), "
        f"{per[0]:.2f} {per[1]}.\n"
        f"A bow misread by {small} changes that by {format_angle(found.kink_error_rad, 3)}."
    )
    lines = [f"kink = {math.degrees(found.kink_rad):.3f}"]
    if found.kept is not None and found.kept_error is not None:
        click.echo(f"Of a clamped preset {found.kept:.2f} stays, ± {found.kept_error:.2f} for each {small}.")
        if found.kept > 0:
            click.echo(f"To come out straight, hold {to_hold(found.kept):.1f} times the free bow.")
            lines.append(f"kept = {found.kept:.2f}")
        else:
            click.echo("Clamps do nothing for this weld: bend the pipe beforehand, or straighten it after.")
    click.echo("In the job file, under [weld]:")
    for line in lines:
        click.echo(f"    {line}")


@main.command(short_help="Write a job file to fill in.")
@click.argument("name", metavar="NAME.toml", type=click.Path(path_type=Path))
def start(name: Path) -> None:
    """Write a job file with notes, to change and make a first pack from.

    \b
    Example:
      wrapwright start myrail.toml
    """
    if name.suffix.lower() != ".toml":
        raise _refusal(str(name), "a job file's name ends in .toml", f"write {name}.toml")
    text = files("templates_core.data").joinpath("start.toml").read_text(encoding="utf-8")
    try:
        with name.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        raise _refusal(str(name), "there is such a file already", "choose another name") from None
    except OSError as error:
        raise _cannot_write(name, error) from None
    click.echo(f"Wrote {name}. Change its numbers, then:")
    click.echo(f"    wrapwright sheets {name} -o {name.with_suffix('.pdf')}")


def _layout(paper: str | None, printed: str | None) -> Layout | None:
    """The pages to lay out on; None, with the options checked, where the paper isn't known."""
    from render.pages.paper import UNCORRECTED, Layout, correction_printed, paper_named

    gathered = Gathered()
    correction = gathered.get(lambda: correction_printed(printed) if printed is not None else UNCORRECTED)
    found = gathered.get(lambda: paper_named(paper, "--paper") if paper is not None else None)
    gathered.refuse()
    return Layout(found, correction) if found and correction else None


def _check_out(out: Path) -> None:
    """Refuse a place that can't be written to, before any work is done."""
    if out.suffix.lower() != ".pdf":
        raise _refusal(f"-o {out}", "the pack is a PDF", "give a name that ends in .pdf")
    if out.is_dir():
        raise _refusal(f"-o {out}", "that is a folder", "give the name of a file")
    if not out.parent.is_dir():
        raise _refusal(f"-o {out}", f"there is no folder {out.parent}", "make it first, or choose another")


def _write(out: Path, model: Model, layout: Layout, sections: Sequence[str], progress: _Progress) -> int:
    """Draw the sheets and write them; gives their number."""
    from render.pack import pack_metadata, pack_pages
    from render.pages.pdf import write_pdf

    pages = pack_pages(model, layout, sections, progress)
    try:
        write_pdf(out, pages, pack_metadata(model.job), lambda done, total: progress("writing", done, total))
    except OSError as error:
        raise _cannot_write(out, error) from None
    return len(pages)


def _check_csv(folder: Path | None, as_json: bool) -> None:
    """Refuse a folder for CSV that will not do, before any work is done."""
    from render.figures.figures_csv import check_folder

    if folder is None:
        return
    if as_json:
        raise _refusal("--csv", "it doesn't go with --json", "give the command once for each")
    check_folder(folder)


def _write_csvs(folder: Path, model: Model) -> None:
    from render.figures.figures_csv import figure_csvs, write_csvs

    texts = figure_csvs(model)
    try:
        write_csvs(folder, texts)
    except OSError as error:
        raise _cannot_write(folder, error) from None
    _tell_warnings(model)
    click.echo(f"{_name(model.job)}: {len(texts)} tables written to {folder}")


def _tell_written(out: Path, model: Model, layout: Layout, pages: int) -> None:
    _tell_warnings(model)
    count = "1 sheet" if pages == 1 else f"{pages} sheets"
    click.echo(f"{_name(model.job)}: {count} on {layout.paper.name}, written to {out}")
    click.echo("Print at actual size, and measure the print check before you cut paper.")


def _name(job: Job) -> str:
    from render.pack import number_of

    revision = "" if job.revision == "-" else f", revision {job.revision}"
    return f"{number_of(job)} {job.title}{revision}".strip()


def _tell_warnings(model: Model) -> None:
    for text in model.warnings:
        click.echo(f"Caution: {text}", err=True)


def _refusal(where: str, what: str, remedy: str) -> InputError:
    return InputError([Fault(where, what, remedy)])


def _cannot_write(path: Path, error: OSError) -> InputError:
    reason = (error.strerror or "unknown reason").lower()
    return _refusal(str(path), f"it can't be written: {reason}", "choose another place, or free this one")


if __name__ == "__main__":
    main()
