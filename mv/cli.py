"""The command line: reads the words, calls one function a command, prints what it returns.

Exit codes: 0 done; 1 done, and a stated acceptance test failed or the data are not enough to say;
2 the input is wrong.
"""

import argparse
import errno
import sys
from collections.abc import Sequence
from pathlib import Path

from mv import __version__
from mv.base.errors import TallyluxError
from mv.collecting import look_seldom
from mv.terminal import forgive_code_pages, screen

DONE, NOT_ALL_SAID, WRONG_INPUT = 0, 1, 2
INTERRUPTED = 130  # 128 + SIGINT, the shell's convention


def main(words: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    look_seldom()
    arguments = _parser().parse_args(words)
    forgive_code_pages(as_json=getattr(arguments, "json", False))
    try:
        return int(arguments.run(arguments))
    except TallyluxError as error:
        print(f"tallylux: {error}", file=sys.stderr)
        return WRONG_INPUT
    except KeyboardInterrupt:
        print("tallylux: stopped; nothing half-written was left", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        sys.stderr.close()
        return DONE
    except OSError as error:
        print(f"tallylux: {_system_says(error)}", file=sys.stderr)
        return WRONG_INPUT


def _system_says(error: OSError) -> str:
    """What the operating system refused, on which file, and what to do."""
    where = f"{error.filename}: " if error.filename else ""
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return f"{where}no space is left where the output goes; free some and run again"
    return f"{where}{error.strerror or error}. Check that the path is there and may be read and written."


def _demo(arguments: argparse.Namespace) -> int:
    from mv.demo import copy_sample

    study = copy_sample(arguments.folder)
    print(f"The sample study of an invented site is in {study.parent}\n")
    code = _verify_and_print(study, None, as_json=False)
    if not arguments.no_dashboard:
        _serve(study, arguments)
    return code


def _new(arguments: argparse.Namespace) -> int:
    from mv.drafting.draft import write_new_study

    path = write_new_study(arguments.study_folder, arguments.before, arguments.after)
    print(f"{path} is written. Fill in what it marks, then run: tallylux check {path}")
    return DONE


def _check(arguments: argparse.Namespace) -> int:
    from mv.check import check_study

    report = check_study(arguments.study)
    print(report.as_json() if arguments.json else report.as_text(), end="")
    return DONE


def _verify(arguments: argparse.Namespace) -> int:
    return _verify_and_print(arguments.study, arguments.out, as_json=arguments.json)


def _verify_and_print(study: Path, out: Path | None, *, as_json: bool) -> int:
    from mv import store
    from mv.base.files import refuse_file_for_folder
    from mv.documents.summary import summary_text
    from mv.progress import progress_bar
    from mv.verify import verify_study

    folder = out or store.results_folder(study)
    refuse_file_for_folder(folder)  # before the long work
    with progress_bar() as step:
        verification = verify_study(study, step=step)
    path = store.save(verification, folder)
    result = verification.result
    width, height = screen()
    text = store.result_text(result) if as_json else summary_text(result, path, width=width, height=height)
    print(text, end="")
    return DONE if result["acceptance"]["met"] else NOT_ALL_SAID


def _month(arguments: argparse.Namespace) -> int:
    from mv.documents.month_page import note_on_finding, write_month_page
    from mv.progress import progress_bar

    if arguments.acknowledge:
        note = note_on_finding(arguments.study, arguments.acknowledge, who=arguments.who, why=arguments.why)
        print(f"Noted by {note.who}: {note.where}: {note.what}\n")
    with progress_bar() as step:
        page = write_month_page(
            arguments.study, month=arguments.month, out=arguments.out, width=screen()[0], step=step
        )
    print(f"{page.text}\nThe page: {page.path}")
    return DONE


def _claim(arguments: argparse.Namespace) -> int:
    from mv.documents.claim_package import write_claim
    from mv.progress import progress_bar

    with progress_bar() as step:
        package = write_claim(arguments.study, arguments.out, step=step)
    print(package.text(screen()[0]))
    return DONE if package.met else NOT_ALL_SAID


def _sample(arguments: argparse.Namespace) -> int:
    from mv.base.estimate import CannotSay
    from mv.sampling import achieved_precision, sample_lines

    lines = sample_lines(
        population=arguments.population,
        cv=arguments.cv,
        precision=arguments.precision,
        confidence=arguments.confidence,
        readings=arguments.readings,
    )
    print("\n".join(lines))
    if arguments.readings is None:
        return DONE
    reached = achieved_precision(
        arguments.readings,
        population=arguments.population,
        precision=arguments.precision,
        confidence=arguments.confidence,
    )
    return NOT_ALL_SAID if isinstance(reached, CannotSay) or not reached.met else DONE


def _portfolio(arguments: argparse.Namespace) -> int:
    from mv.portfolio import summary_lines
    from mv.programme.run import run_portfolio
    from mv.progress import progress_bar

    with progress_bar() as step:
        run = run_portfolio(
            arguments.folders,
            arguments.out,
            workers=arguments.workers,
            scheduler=arguments.scheduler,
            step=step,
        )
    print("\n".join(summary_lines(run.summary)))
    kept = run.summary["studies"]["found"] - run.fresh
    print(f"\n{run.fresh:,} worked on now, {kept:,} unchanged and kept. Everything: {run.folder}")
    return DONE if run.all_accepted else NOT_ALL_SAID


def _dashboard(arguments: argparse.Namespace) -> int:
    _serve(arguments.study, arguments)
    return DONE


def _serve(study: Path, arguments: argparse.Namespace) -> None:
    from importlib.metadata import entry_points

    (serving,) = entry_points(group="tallylux.dashboard", name="serve")
    serve = serving.load()
    serve(study, host=arguments.host, port=arguments.port, open_browser=not arguments.no_browser)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="tallylux",
        description="Proves from meter data what a lighting retrofit with controls has saved, "
        "how sure that is, and whether the settings agreed at hand-over are still there.",
        epilog="STUDY is a study.toml or the folder that holds one. Start with: tallylux demo",
    )
    parser.add_argument("--version", action="version", version=f"tallylux {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    _add_demo(commands)
    _add_new(commands)
    _add_check(commands)
    _add_verify(commands)
    _add_month(commands)
    _add_claim(commands)
    _add_sample(commands)
    _add_portfolio(commands)
    _add_dashboard(commands)
    return parser


Commands = argparse._SubParsersAction  # the type argparse gives no public name


def _add_demo(commands: "Commands[argparse.ArgumentParser]") -> None:
    demo = commands.add_parser("demo", help="verify the sample study of an invented site and show it")
    demo.add_argument("--folder", type=Path, default=Path("tallylux-demo"), metavar="DIR")
    demo.add_argument("--no-dashboard", action="store_true", help="print the result and stop")
    _add_serving(demo)
    demo.set_defaults(run=_demo)


def _add_new(commands: "Commands[argparse.ArgumentParser]") -> None:
    new = commands.add_parser("new", help="write a study.toml from a folder of meter files")
    new.add_argument("study_folder", type=Path, metavar="FOLDER")
    for period in ("before", "after"):
        new.add_argument(
            f"--{period}",
            type=Path,
            nargs="+",
            required=True,
            metavar="FILE",
            help=f"readings {period} the retrofit",
        )
    new.set_defaults(run=_new)


def _add_check(commands: "Commands[argparse.ArgumentParser]") -> None:
    check = commands.add_parser("check", help="read and clean only; print each meter's ledger")
    check.add_argument("study", type=Path, metavar="STUDY")
    check.add_argument("--json", action="store_true", help="print the ledgers as JSON")
    check.set_defaults(run=_check)


def _add_verify(commands: "Commands[argparse.ArgumentParser]") -> None:
    verify = commands.add_parser("verify", help="the main job: savings, settings and drift of one study")
    verify.add_argument("study", type=Path, metavar="STUDY")
    verify.add_argument("--out", type=Path, metavar="DIR", help="default: results/ beside the study")
    verify.add_argument("--json", action="store_true", help="print the result alone, as JSON")
    verify.set_defaults(run=_verify)


def _add_month(commands: "Commands[argparse.ArgumentParser]") -> None:
    month = commands.add_parser("month", help="the facility manager's page for one month")
    month.add_argument("study", type=Path, metavar="STUDY")
    month.add_argument(
        "--month", metavar="YYYY-MM", help="default: the last whole month of the reporting period"
    )
    month.add_argument("--out", type=Path, metavar="DIR", help="default: results/ beside the study")
    month.add_argument("--acknowledge", metavar="KEY", help="note on a finding, named by its key on the page")
    month.add_argument("--who", default="", help="with --acknowledge: who has seen it")
    month.add_argument("--why", default="", help="with --acknowledge: why it may stand, or what is done")
    month.set_defaults(run=_month)


def _add_claim(commands: "Commands[argparse.ArgumentParser]") -> None:
    claim = commands.add_parser("claim", help="the claim package: report, workbook, client's page, evidence")
    claim.add_argument("study", type=Path, metavar="STUDY")
    claim.add_argument(
        "--out", type=Path, required=True, metavar="DIR", help="a new folder, or a former package"
    )
    claim.set_defaults(run=_claim)


def _add_sample(commands: "Commands[argparse.ArgumentParser]") -> None:
    sample = commands.add_parser("sample", help="how many loggers, or the precision that readings achieved")
    sample.add_argument("--population", type=int, required=True, metavar="N")
    sample.add_argument("--cv", type=float, default=0.5, help="expected coefficient of variation (0.5)")
    sample.add_argument("--precision", type=float, default=0.10, help="relative half-width wanted (0.10)")
    sample.add_argument("--confidence", type=float, default=0.90, help="two-sided (0.90)")
    sample.add_argument(
        "--readings",
        type=float,
        nargs="+",
        metavar="X",
        help="values found, for the precision achieved",
    )
    sample.set_defaults(run=_sample)


def _add_portfolio(commands: "Commands[argparse.ArgumentParser]") -> None:
    portfolio = commands.add_parser("portfolio", help="verify many studies and pool what they prove")
    portfolio.add_argument(
        "folders", nargs="+", metavar="FOLDER", help="a study, or a folder of studies at any depth"
    )
    portfolio.add_argument(
        "--out", type=Path, required=True, metavar="DIR", help="takes results, tables and summary"
    )
    crew = portfolio.add_mutually_exclusive_group()
    crew.add_argument("--workers", type=int, metavar="N", help="local processes; default: one a processor")
    crew.add_argument("--scheduler", metavar="ADDRESS", help="a Dask cluster that sees the same folders")
    portfolio.set_defaults(run=_portfolio)


def _add_dashboard(commands: "Commands[argparse.ArgumentParser]") -> None:
    dashboard = commands.add_parser("dashboard", help="open the dashboard of a verified study")
    dashboard.add_argument("study", type=Path, metavar="STUDY_OR_FOLDER")
    _add_serving(dashboard)
    dashboard.set_defaults(run=_dashboard)


def _add_serving(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--host", default="127.0.0.1", help="another address needs a password")
    parser.add_argument("--port", type=int, default=8050)
    parser.add_argument("--no-browser", action="store_true", help="serve without opening a browser")
