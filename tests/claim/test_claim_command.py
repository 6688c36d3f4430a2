"""`tallylux claim`: what the package holds, what it says, and what it refuses."""

import hashlib
import html as html_texts
import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from pypdf import PdfReader

from mv import store
from mv.base import wording
from mv.base.errors import OutputError
from mv.base.unsaid import spoken_name
from mv.base.verification import Verification
from mv.cli import main
from mv.documents import claim_package

HOSTILE = "<script>alert(1)</script>"
PAGES = ("report.html", "proof.html")
# Words that would call a modelled number more than it is.
FORBIDDEN = re.compile(r"\b(certif(y|ies|ied)|guaranteed|proved|proven)\b", re.IGNORECASE)


class Words(HTMLParser):
    """The page's visible words and its elements."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self._hidden = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        self._hidden = tag == "style"

    def handle_data(self, data: str) -> None:
        if not self._hidden:
            self.words.append(data)


def parsed(path: Path) -> Words:
    parser = Words()
    parser.feed(path.read_text(encoding="utf-8"))
    return parser


def words_of(path: Path) -> str:
    return plain(" ".join(parsed(path).words))


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text.replace(wording.NO_BREAK, " ").replace("\u200b", ""))


@pytest.fixture(scope="module")
def pdf(made: Any) -> str:
    reader = PdfReader(made.folder / "report.pdf")
    return plain(" ".join(page.extract_text() for page in reader.pages))


def test_the_command_makes_every_part_and_its_exit_code_is_the_results(made: Any) -> None:
    assert made.code == (0 if made.result["acceptance"]["met"] else 1)
    names = sorted(path.name for path in made.folder.iterdir())
    assert names == ["contents.txt", "evidence", "proof.html", "report.html", "report.pdf", "workbook.xlsx"]


@pytest.mark.parametrize("page", PAGES)
def test_pages_hold_no_link_no_script_and_nothing_from_outside(made: Any, page: str) -> None:
    text = (made.folder / page).read_text(encoding="utf-8")
    found = parsed(made.folder / page)
    assert not {tag for tag, _ in found.elements} & {"script", "link", "iframe", "img", "a", "object", "form"}
    assert not [name for _, attrs in found.elements for name in attrs if name in ("src", "href", "onerror")]
    assert not re.search(r"https?://|@import|url\(", text)


@pytest.mark.parametrize("page", PAGES)
def test_hostile_names_are_words_on_the_page(made: Any, page: str) -> None:
    text = (made.folder / page).read_text(encoding="utf-8")
    assert HOSTILE not in text
    assert html_texts.escape(HOSTILE) in text
    assert HOSTILE in words_of(made.folder / page)


def headline_numbers(result: dict[str, Any]) -> Iterator[str]:
    savings = result["savings"]
    for key in ("avoided_kwh", "normalised_annual_kwh"):
        yield plain(wording.amount(savings[key], "kWh"))
        yield plain(wording.between(savings[key], "kWh"))
    for month in savings["monthly"]:
        yield wording.number(month["expected_kwh"])
        yield wording.amount(month["avoided_kwh"], "")
    for entry in result["inputs"]:
        yield entry["sha256"]
    for row in result["cleaning"]:
        yield f"{row['rows_read']:,}"


def test_report_says_the_results_numbers_on_screen_and_on_paper_alike(made: Any, pdf: str) -> None:
    page = words_of(made.folder / "report.html")
    squeezed = pdf.replace(" ", "")  # a hash may break over lines
    for number in headline_numbers(made.result):
        assert number in page
        assert number.replace(" ", "") in squeezed


def test_report_has_every_part_from_a_to_j_and_what_cannot_be_said(made: Any, pdf: str) -> None:
    page = words_of(made.folder / "report.html")
    for title in (
        "A Identity", "B Scope", "C Controls", "D Measurement", "E Data quality", "F Models", "G Adjustments",
        "H Results", "I Money", "J Attachments", "K What cannot be said", "L Cautions", "M Versions",
        "N Every item asked for", "O Signatures",
    ):  # fmt: skip
        assert title in page
        assert title in pdf
    for entry in made.result["cannot_say"]:
        assert plain(entry["why"]) in page
        assert spoken_name(entry["what"]) in page
    for caution in made.result["cautions"]:
        assert caution in page
    for model in made.result["models"]:
        for test in model["tests"]:
            assert test["source"] in page


def test_hostile_texts_reach_the_pdf_as_words(pdf: str) -> None:
    assert HOSTILE in pdf
    assert "#set page(fill: red)" in pdf


def test_the_pdf_is_tagged_titled_and_repeats_the_heads_of_long_tables(made: Any) -> None:
    reader = PdfReader(made.folder / "report.pdf")
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] and "/StructTreeRoot" in root and root["/Lang"] == "en"
    assert HOSTILE in str(reader.metadata.title if reader.metadata else "")
    heads = [page.extract_text().count("whose task") for page in reader.pages]
    assert sum(count > 0 for count in heads) >= 2  # the checklist is longer than a page


def test_nothing_calls_a_modelled_number_certified(made: Any, pdf: str) -> None:
    for page in PAGES:
        words = words_of(made.folder / page).replace("completion certificate", "")
        assert not FORBIDDEN.search(words), page
    assert not FORBIDDEN.search(pdf.replace("completion certificate", ""))


def test_signature_lines_are_empty(made: Any) -> None:
    text = (made.folder / "report.html").read_text(encoding="utf-8")
    (lines,) = re.findall(r'<div class="signatures">(.*?)</div>', text)
    assert re.sub(r"<p>[^<]+: name, date, signature</p>", "", lines) == ""


def test_the_clients_page_gives_the_interval_in_words(made: Any) -> None:
    words = words_of(made.folder / "proof.html")
    annual = made.result["savings"]["normalised_annual_kwh"]
    ends = plain(wording.between(annual, "kWh", joint="and"))
    assert f"We are 90 % confident that the yearly saving lies between {ends}." in words
    assert "What was promised" in words and "Is it lasting?" in words


@pytest.fixture(scope="module")
def run_again(made: Any, tmp_path_factory: pytest.TempPathFactory) -> Verification:
    """The verification of the evidence's own study."""
    study, results = made.folder / "evidence" / "study", tmp_path_factory.mktemp("again")
    main(["verify", str(study), "--out", str(results)])
    return store.open_results(study, results)


def test_evidence_runs_again_to_the_same_result(made: Any, run_again: Verification) -> None:
    again, first = dict(run_again.result), made.result
    assert again.pop("made_at") and first.pop("made_at")
    assert again == first


def test_evidences_fingerprints_are_those_of_its_files(made: Any) -> None:
    evidence = made.folder / "evidence"
    lines = (evidence / "SHA256SUMS.txt").read_text(encoding="utf-8").splitlines()
    listed = dict(reversed(line.split("  ", 1)) for line in lines)
    files = {path for path in evidence.rglob("*") if path.is_file() and path.name != "SHA256SUMS.txt"}
    assert {path.relative_to(evidence).as_posix() for path in files} == set(listed)
    for path in files:
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        assert listed[path.relative_to(evidence).as_posix()] == digest


def test_attachments_go_along_under_harmless_names_and_absent_ones_are_told(made: Any) -> None:
    files = [path.name for path in (made.folder / "evidence" / "attachments").iterdir()]
    assert files == ["01-in_voice_1_.txt"]
    contents = (made.folder / "contents.txt").read_text(encoding="utf-8")
    assert "J | there | invoices, material and labour apart\n" in contents
    assert re.search(r"J \| missing \| permits \| contractor: Attach it", contents)


def test_an_attachment_outside_the_studys_folder_is_refused_before_any_work(
    small: ModuleType, sample_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "secret.txt").write_text("x")
    (tmp_path / "study").mkdir()
    claim = {"attachment": [{"kind": "other", "file": "../secret.txt"}]}
    study = small.small_study(sample_folder, tmp_path / "study", claim=claim)
    assert main(["claim", str(study), "--out", str(tmp_path / "out")]) == 2
    assert "outside the study's folder" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_the_checklist_names_whose_task_each_missing_thing_is(made: Any) -> None:
    lines = (made.folder / "contents.txt").read_text(encoding="utf-8").splitlines()
    items = [line.split(" | ") for line in lines if re.match(r"[A-J] \| ", line)]
    assert {item[0] for item in items} == set("ABCDEFGHIJ")
    for item in items:
        assert item[1] in ("there", "partly", "missing")
        assert (len(item) == 3) == (item[1] == "there")
        if len(item) == 4:
            assert item[3].split(":")[0] in ("analyst", "contractor", "owner", "programme")
    state = {item[2]: item[1] for item in items}
    assert state["measurement option"] == "there" and state["site address"] == "there"
    assert state["instruments: kind and accuracy"] == "partly"  # one meter of two
    assert state["plan agreed before installation"] == "missing"


def test_contradictions_stand_in_the_report_and_in_the_contents(made: Any, pdf: str) -> None:
    sentence = "[[claim.controls]] names the zone 'attic', which the study does not have."
    assert sentence in words_of(made.folder / "report.html") and sentence in pdf
    assert sentence in (made.folder / "contents.txt").read_text(encoding="utf-8")


def test_a_folder_with_other_things_is_refused_before_any_work_and_left_alone(
    made: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(claim_package, "verify_study", lambda *_, **__: pytest.fail("verified in vain"))
    (tmp_path / "diary.txt").write_text("mine")
    assert main(["claim", str(made.study), "--out", str(tmp_path)]) == 2
    assert "holds other things" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["diary.txt"]


@pytest.mark.parametrize("name", ["signed.pdf", "evidence/note.txt", "report.pdf"])
def test_a_former_package_with_papers_of_ones_own_is_refused_by_name_and_left_alone(
    made: Any, run_again: Verification, tmp_path: Path, name: str
) -> None:
    out = tmp_path / "out"
    claim_package.package_of(run_again, made.study, out)
    (out / name).write_text("signed")
    with pytest.raises(OutputError, match=name):
        claim_package.package_of(run_again, made.study, out)
    assert (out / name).read_text() == "signed"


def test_results_of_a_reviewers_run_beside_the_evidence_stop_no_new_package(
    made: Any, run_again: Verification, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    claim_package.package_of(run_again, made.study, out)
    (out / "evidence" / "study" / "results").mkdir()
    (out / "evidence" / "study" / "results" / "result.json").write_text("{}")
    claim_package.package_of(run_again, made.study, out)
    assert not (out / "evidence" / "study" / "results").exists()


def test_the_same_verification_gives_the_same_bytes_and_replaces_a_former_package(
    made: Any, run_again: Verification, tmp_path: Path
) -> None:
    claim_package.package_of(run_again, made.study, tmp_path / "out")
    first = {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir() if path.is_file()}
    claim_package.package_of(run_again, made.study, tmp_path / "out")
    again = {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir() if path.is_file()}
    assert again == first
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out"]


def test_a_package_that_fails_half_way_leaves_the_former_one_whole(
    made: Any, run_again: Verification, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    claim_package.package_of(run_again, made.study, tmp_path / "out")
    before = sorted(path.name for path in (tmp_path / "out").rglob("*"))

    def broken(_document: object) -> bytes:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(claim_package, "as_pdf", broken)
    with pytest.raises(OutputError, match="No space left"):
        claim_package.package_of(run_again, made.study, tmp_path / "out")
    assert sorted(path.name for path in (tmp_path / "out").rglob("*")) == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out"]


def test_files_beside_the_studys_folder_come_along_and_run_again(
    small: ModuleType, sample_folder: Path, tmp_path: Path
) -> None:
    import tomlkit

    folder = tmp_path / "site" / "study"
    folder.mkdir(parents=True)
    study = small.small_study(sample_folder, folder)
    (folder / "meters").rename(tmp_path / "site" / "elsewhere")
    document = tomlkit.parse(study.read_text(encoding="utf-8"))
    for meter in document["meter"]:
        meter["files"] = [f"../elsewhere/{meter['id']}*"]
    study.write_text(tomlkit.dumps(document), encoding="utf-8")
    main(["claim", str(study), "--out", str(tmp_path / "out")])
    evidence = tmp_path / "out" / "evidence"
    moved = tmp_path / "moved"
    evidence.rename(moved)
    (tmp_path / "site").rename(tmp_path / "gone")
    main(["verify", str(moved / "study"), "--out", str(tmp_path / "again")])
    first = json.loads((moved / "result.json").read_text(encoding="utf-8"))
    again = json.loads((tmp_path / "again" / "result.json").read_text(encoding="utf-8"))
    assert again["savings"] == first["savings"]
    assert [e["sha256"] for e in again["inputs"][1:]] == [e["sha256"] for e in first["inputs"][1:]]
    assert (moved / "study-as-given.toml").read_bytes() == (tmp_path / "gone/study/study.toml").read_bytes()
