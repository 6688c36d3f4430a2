"""Makes the claim package: report, workbook, client's page and evidence, whole or not at all."""

import shutil
import sys
import tempfile
import textwrap
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from mv import __version__
from mv.base.errors import OutputError
from mv.base.files import refuse_file_for_folder, replace_folder, tidy
from mv.base.result_parts import part
from mv.base.verification import Verification
from mv.claim import (
    Item,
    Material,
    Space,
    checklist,
    contradictions,
    ledger_csv,
    missing,
    proof,
    report,
    workbook,
)
from mv.documents.claim_drawings import claim_drawings
from mv.documents.claim_mark import CONTENTS, MARK, is_claim_package, not_of_the_package
from mv.documents.evidence import absent_attachments, fingerprints, write_evidence
from mv.paper import as_html, as_pdf
from mv.predicted import read_inventory
from mv.progress import Step, no_progress
from mv.study import load_study, study_path
from mv.terminal import WIDTH
from mv.verify import verify_study

# On one screen
MOST_NAMED, MOST_CONTRADICTIONS, LONGEST_SENTENCE = 6, 4, 220
LIBRARIES = ("numpy", "pandas", "pydantic", "scipy", "statsmodels", "typst", "XlsxWriter")


@dataclass(frozen=True, slots=True)
class ClaimPackage:
    """Where the package is, whether the result is accepted, and what is still missing."""

    folder: Path
    met: bool
    items: tuple[Item, ...]
    contradictions: tuple[str, ...] = ()

    def text(self, width: int = WIDTH) -> str:
        """What a terminal shows: one screen, whatever is missing."""
        open_items = missing(self.items)
        there = len(self.items) - len(open_items)
        lines = _wrapped(f"The claim package is in {self.folder}: open report.pdf or report.html.", width)
        lines += ["Accepted." if self.met else "Not every acceptance test is met; the report says which."]
        lines += ["", f"{there} of {len(self.items)} things that programmes ask for are in it. Still to do:"]
        for who in ("analyst", "contractor", "owner", "programme"):
            theirs = [item.what for item in open_items if item.who == who]
            lines += _wrapped(f"- {who} ({len(theirs)}): {_some(theirs)}", width) if theirs else []
        lines += [] if open_items else ["- nothing"]
        if self.contradictions:
            lines += ["", "Papers and data contradict each other:"]
            for sentence in self.contradictions[:MOST_CONTRADICTIONS]:
                lines += _wrapped(f"- {textwrap.shorten(sentence, LONGEST_SENTENCE, placeholder='…')}", width)
            more = len(self.contradictions) - MOST_CONTRADICTIONS
            lines += [f"- and {more} more in the report"] if more > 0 else []
        lines += ["", "contents.txt lists every item with what is to do; the lines to sign are empty."]
        return "\n".join(lines)


def _some(names: list[str]) -> str:
    more = len(names) - MOST_NAMED
    return "; ".join(names[:MOST_NAMED]) + (f"; and {more} more" if more > 0 else "")


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)


def write_claim(study: Path | str, out: Path, *, step: Step = no_progress) -> ClaimPackage:
    """Verify the study and write the package into `out`, in one step, or not at all.

    A former package at `out` is replaced. Raises OutputError where `out` holds anything else.
    """
    _refuse_foreign(out)
    absent_attachments(load_study(study))  # before the long work
    verification = verify_study(study, step=step)
    step("Writing the claim", 0.985)
    return package_of(verification, study_path(study), out)


def package_of(verification: Verification, study_file: Path, out: Path) -> ClaimPackage:
    """Write the package of a verification into `out`."""
    _refuse_foreign(out)
    material = material_of(verification)
    items, against = checklist(material), contradictions(material)

    def fill(folder: Path) -> None:
        document = report(material)
        (folder / "report.html").write_text(as_html(document), encoding="utf-8", newline="\n")
        (folder / "report.pdf").write_bytes(as_pdf(document))
        (folder / "proof.html").write_text(as_html(proof(material)), encoding="utf-8", newline="\n")
        (folder / "workbook.xlsx").write_bytes(workbook(material))
        write_evidence(
            verification,
            folder / "evidence",
            study_file=study_file,
            ledger=ledger_csv(material),
            software=dict(material.software),
        )
        (folder / CONTENTS).write_text(_contents(folder, items, against), encoding="utf-8", newline="\n")

    _whole(out, fill)
    return ClaimPackage(out, bool(part(verification.result, "acceptance", "met")), items, against)


def material_of(verification: Verification) -> Material:
    """All that the claim's parts are written from."""
    return Material(
        verification,
        claim_drawings(verification),
        _spaces(verification),
        absent_attachments(verification.study),
        tuple(software().items()),
    )


def software() -> Mapping[str, str]:
    """The versions that bear on the numbers and on the files."""
    versions = {"tallylux": __version__, "python": sys.version.split()[0]}
    for name in LIBRARIES:
        try:
            versions[name] = version(name)
        except PackageNotFoundError:
            versions[name] = "not installed"
    return versions


def _spaces(verification: Verification) -> tuple[Space, ...]:
    study = verification.study
    if study.predicted.inventory is None:
        return ()
    inventory = read_inventory(
        study.folder / study.predicted.inventory, known_zones=[zone.id for zone in study.zone] or None
    )
    return tuple(
        Space(
            row.space, row.zone, row.quantity, row.watts_before, row.watts_after,
            row.hours_per_year, row.control_saving_fraction, row.hvac_energy_factor,
        )
        for row in inventory.rows
    )  # fmt: skip


def _contents(folder: Path, items: tuple[Item, ...], against: tuple[str, ...]) -> str:
    """The package's list: what is in it, what is not and whose task that is, fingerprints of all files."""
    lines = [MARK, "", "Contents and completeness"]
    for item in items:
        todo = f" | {item.who}: {item.todo}" if item.todo else ""
        lines.append(f"{item.part} | {item.state} | {item.what}{todo}")
    lines += ["", "Contradictions", *against] if against else []
    return "\n".join([*lines, "", "Files (SHA-256)", fingerprints(folder)])


def _refuse_foreign(out: Path) -> None:
    refuse_file_for_folder(out)
    if not out.exists() and not out.is_symlink():
        return
    remedy = "Choose a new folder with --out, or one that holds a former claim package alone."
    if out.is_symlink():
        raise OutputError("is a link, not a folder", file=out, remedy=remedy)
    if not any(out.iterdir()):
        return
    if not is_claim_package(out):
        raise OutputError("holds other things than a claim package", file=out, remedy=remedy)
    if others := not_of_the_package(out):
        raise OutputError(
            "holds files that the claim in it did not write, or that were changed since",
            file=out,
            value=_some(others),
            remedy="Move them to a place of your own, or choose a new folder with --out.",
        )


def _whole(out: Path, fill: Callable[[Path], None]) -> None:
    """Fill a folder beside `out` and move it into place; a former package stays until then."""
    remedy = "Check the folder's permissions and free space, or choose another with --out."
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(dir=out.parent, prefix=f".{out.name}."))
    except OSError as error:
        raise OutputError(f"cannot be written: {error.strerror}", file=out, remedy=remedy) from None
    try:
        new = beside / "new"
        new.mkdir()
        fill(new)
        replace_folder(new, out)
        tidy(out)
    except OSError as error:
        raise OutputError(f"cannot be written: {error.strerror}", file=out, remedy=remedy) from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)
