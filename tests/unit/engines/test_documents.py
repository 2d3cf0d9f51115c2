"""Notes of every kind: text, tables, Word and PDF files, and what is said of those that cannot be read."""

import zipfile
from pathlib import Path

import docx
import pypdf
import pytest
from pypdf.generic import DecodedStreamObject, DictionaryObject, NameObject

from kbindex.engines import word_pdf
from kbindex.engines.documents import read_notes
from kbindex.errors import DocumentError
from kbindex.records import Note

TABLE = (
    "Ticket,Opened,Unit,Complaint,What we did,Worked?\n"
    "2057,2026-03-02,dishwasher,won't start and beeps,replaced door latch,yes\n"
    "2058,2026-03-03,dryer,no heat,replaced thermal fuse,no\n"
)


def read(folder: Path, name: str, data: str | bytes) -> list[Note]:
    file = folder / name
    file.write_bytes(data if isinstance(data, bytes) else data.encode("utf-8"))
    return read_notes(file, name)


def write_pdf(file: Path, *pages: str) -> None:
    """Make a PDF by hand: one page for each text, in a standard font."""
    writer = pypdf.PdfWriter()
    font = DictionaryObject(
        {
            NameObject("/Type"): NameObject("/Font"),
            NameObject("/Subtype"): NameObject("/Type1"),
            NameObject("/BaseFont"): NameObject("/Helvetica"),
        }
    )
    for text in pages:
        page = writer.add_blank_page(300, 300)
        if text:
            stream = DecodedStreamObject()
            stream.set_data(f"BT /F1 12 Tf 20 200 Td ({text}) Tj ET".encode("latin-1"))
            page[NameObject("/Contents")] = writer._add_object(stream)
            fonts = DictionaryObject({NameObject("/F1"): writer._add_object(font)})
            page[NameObject("/Resources")] = DictionaryObject({NameObject("/Font"): fonts})
    writer.write(file)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252", "latin-1"])
def test_text_in_every_encoding(tmp_path: Path, encoding: str) -> None:
    text = "Dryer: café owner says 62 °F, no heat.\nCleaned the vent hose.\n"
    (note,) = read(tmp_path, "a.txt", text.encode(encoding))
    assert note == Note("a.txt", text)


def test_line_ends_become_one_kind(tmp_path: Path) -> None:
    assert read(tmp_path, "a.md", b"one\r\ntwo\rthree\n")[0].text == "one\ntwo\nthree\n"


@pytest.mark.parametrize("name", ["a.txt", "a.md", "a.csv", "a.docx", "a.pdf"])
@pytest.mark.parametrize("data", [b"", b" \n\t\r\n", b"\xef\xbb\xbf \n"])
def test_an_empty_note_says_so(tmp_path: Path, name: str, data: bytes) -> None:
    if name in ("a.docx", "a.pdf") and data.strip():
        pytest.raises(DocumentError, read, tmp_path, name, data)
        return
    with pytest.raises(DocumentError, match="is empty; .+") as caught:
        read(tmp_path, name, data)
    assert caught.value.path.endswith(name)


def test_a_picture_named_as_text_is_refused(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="is not a text file; .+"):
        read(tmp_path, "a.txt", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(range(200)))


def test_an_unknown_ending_says_which_are_known(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match=r"\.rtf.*\.docx"):
        read(tmp_path, "a.rtf", "x")


def test_a_missing_file_says_so(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="cannot be opened"):
        read_notes(tmp_path / "none.txt", "none.txt")


def test_a_row_is_a_note_with_its_cells(tmp_path: Path) -> None:
    notes = read(tmp_path, "t.csv", TABLE)
    assert [note.row for note in notes] == [1, 2]
    assert notes[0].path == "t.csv"
    assert notes[0].fields == (
        ("Ticket", "2057"),
        ("Opened", "2026-03-02"),
        ("Unit", "dishwasher"),
        ("Complaint", "won't start and beeps"),
        ("What we did", "replaced door latch"),
        ("Worked?", "yes"),
    )
    assert notes[0].text == (
        "Ticket: 2057. Opened: 2026-03-02. Unit: dishwasher. Complaint: won't start and beeps. "
        "What we did: replaced door latch. Worked? yes."
    )


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_every_delimiter(tmp_path: Path, delimiter: str) -> None:
    notes = read(tmp_path, "t.csv", TABLE.replace(",", delimiter))
    assert [dict(note.fields)["Complaint"] for note in notes] == ["won't start and beeps", "no heat"]


def test_commas_in_cells_do_not_hide_a_semicolon_table(tmp_path: Path) -> None:
    text = "unit;complaint;work done\nwasher;leaks, hums, stops;cleaned, tested\ndryer;no heat, no turn;new belt, ran it\n"
    notes = read(tmp_path, "t.csv", text)
    assert dict(notes[0].fields)["complaint"] == "leaks, hums, stops"


def test_quoted_cells_keep_delimiters_quotes_and_line_ends(tmp_path: Path) -> None:
    text = 'unit,complaint,notes\nwasher,"leaks, ""a lot""","first\nthen second"\nrange,no bake,done\n'
    notes = read(tmp_path, "t.csv", text)
    assert dict(notes[0].fields) == {"unit": "washer", "complaint": 'leaks, "a lot"', "notes": "first\nthen second"}
    assert [note.row for note in notes] == [1, 2]


def test_blank_rows_are_skipped_but_counted(tmp_path: Path) -> None:
    notes = read(tmp_path, "t.csv", "unit,complaint\nwasher,leaks\n\n,\n  , \ndryer,no heat\n")
    assert [(note.row, note.fields[0][1]) for note in notes] == [(1, "washer"), (5, "dryer")]


def test_ragged_rows_are_kept(tmp_path: Path) -> None:
    notes = read(tmp_path, "t.csv", "unit,complaint,notes\nwasher\ndryer,no heat,new fuse,ran it,fine\n")
    assert notes[0].fields == (("unit", "washer"), ("complaint", ""), ("notes", ""))
    assert notes[1].fields[3:] == (("column 4", "ran it"), ("column 5", "fine"))


def test_a_table_in_the_old_code_page_with_a_mark(tmp_path: Path) -> None:
    assert dict(read(tmp_path, "t.csv", "unit,complaint\ndryer,62 °C only\n".encode("cp1252"))[0].fields) == {
        "unit": "dryer",
        "complaint": "62 °C only",
    }
    assert read(tmp_path, "t.csv", "unit,complaint\ndryer,cold\n".encode("utf-8-sig"))[0].fields[0] == ("unit", "dryer")


def test_a_title_and_blank_rows_above_the_header(tmp_path: Path) -> None:
    notes = read(tmp_path, "t.csv", "Shop jobs 2026,,\n,,\nunit,complaint,notes\nwasher,leaks,new gasket\n")
    assert [(note.row, note.fields[0]) for note in notes] == [(1, ("unit", "washer"))]


STRANGE = "zab;the day it was;wotsit;och\n{}\n".format(
    "\n".join(f"{7100 + n};{n + 3}/4/26;tumble dryer;it hums and then it will not turn at all" for n in range(3))
)


def test_headings_that_say_nothing_are_told_by_the_cells_under_them(tmp_path: Path) -> None:
    notes = read(tmp_path, "t.csv", STRANGE)
    assert [note.row for note in notes] == [1, 2, 3]
    assert [name for name, _ in notes[0].fields] == ["zab", "the day it was", "wotsit", "och"]


@pytest.mark.parametrize("title", ["Spring jobs", "Spring jobs, 2026", "Spring jobs;;;\nour van", "\nSpring jobs;;"])
def test_a_title_in_any_form(tmp_path: Path, title: str) -> None:
    assert [note.row for note in read(tmp_path, "t.csv", f"{title}\n{STRANGE}")] == [1, 2, 3]


def test_a_header_that_stands_again_further_down_is_no_row(tmp_path: Path) -> None:
    notes = read(tmp_path, "t.csv", "unit,complaint\nwasher,leaks\nunit,complaint\ndryer,no heat\n")
    assert [(note.row, note.fields[0][1]) for note in notes] == [(1, "washer"), (3, "dryer")]


def test_columns_that_are_called_the_same_are_told_apart(tmp_path: Path) -> None:
    (note,) = read(tmp_path, "t.csv", "unit,notes,notes\nwasher,leaks,new hose\n")
    assert note.fields == (("unit", "washer"), ("notes", "leaks"), ("notes (2)", "new hose"))


def test_a_heading_that_was_spoken_of_makes_a_header(tmp_path: Path) -> None:
    file = tmp_path / "t.csv"
    file.write_text("Foo,Bar\nbaz,qux\n", encoding="utf-8")
    assert read_notes(file, "t.csv", ["  foo "])[0].fields == (("Foo", "baz"), ("Bar", "qux"))


def test_a_table_of_one_column(tmp_path: Path) -> None:
    notes = read(tmp_path, "t.csv", "Notes\nReplaced the latch, it runs.\n\nCleaned the filter.\n")
    assert [(note.row, note.fields) for note in notes] == [
        (1, (("Notes", "Replaced the latch, it runs."),)),
        (3, (("Notes", "Cleaned the filter."),)),
    ]


@pytest.mark.parametrize(
    "text",
    [
        "2057,2026-03-02,dishwasher,won't start,replaced door latch,yes\n2058,2026-03-03,dryer,no heat,new fuse,no\n",
        "washer,leaks,replaced door gasket,fixed\ndryer,no heat,replaced thermal fuse,fixed\n",
        "washer,leaks\ndryer,cold\n",
        "$40,door latch\n$35,thermal fuse\n",
        "5/3/2024;range;no bake\n6/3/2024;oven;no bake\n",
        "Foo,Bar\nbaz,qux\n",
    ],
)
def test_a_table_without_a_header_says_what_to_write(tmp_path: Path, text: str) -> None:
    with pytest.raises(DocumentError, match="no header row.*; write names over the columns"):
        read(tmp_path, "t.csv", text)


def test_a_header_with_nothing_under_it(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="no row under it; .+"):
        read(tmp_path, "t.csv", "unit,complaint\n\n")


def test_a_cell_without_end_is_refused(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="is not a table"):
        read(tmp_path, "t.csv", 'unit,complaint\nwasher,"' + "x" * (2 << 20))


def test_a_word_file_in_order(tmp_path: Path) -> None:
    document = docx.Document()
    document.add_heading("Job 2057")
    document.add_paragraph("Dishwasher  beeps three\ttimes.")
    table = document.add_table(rows=2, cols=2)
    for cell, text in zip(table._cells, ["Part", "Price", "door latch", "$40"], strict=True):
        cell.text = text
    document.add_paragraph("Ran a cycle.")
    document.save(str(tmp_path / "a.docx"))
    assert read_notes(tmp_path / "a.docx", "a.docx") == [
        Note("a.docx", "Job 2057\nDishwasher beeps three times.\nPart: door latch. Price: $40.\nRan a cycle.")
    ]


def test_merged_cells_of_a_word_file_are_read_once(tmp_path: Path) -> None:
    document = docx.Document()
    table = document.add_table(rows=1, cols=3)
    table.cell(0, 0).merge(table.cell(0, 1)).text = "Ran fine"
    table.cell(0, 2).text = "Signed off."
    document.save(str(tmp_path / "a.docx"))
    assert read_notes(tmp_path / "a.docx", "a.docx")[0].text == "Ran fine. Signed off."


def test_a_word_file_without_text(tmp_path: Path) -> None:
    docx.Document().save(str(tmp_path / "a.docx"))
    with pytest.raises(DocumentError, match="holds no text"):
        read_notes(tmp_path / "a.docx", "a.docx")


@pytest.mark.parametrize("data", [b"this is no archive", b"PK\x03\x04" + b"\0" * 50])
def test_a_damaged_word_file(tmp_path: Path, data: bytes) -> None:
    with pytest.raises(DocumentError, match=r"cannot be read as a Word file.*; .+"):
        read(tmp_path, "a.docx", data)


def test_an_archive_that_is_no_word_file(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "a.docx", "w") as archive:
        archive.writestr("hello.txt", "hello")
    with pytest.raises(DocumentError, match="cannot be read as a Word file"):
        read_notes(tmp_path / "a.docx", "a.docx")


def test_a_word_file_that_unpacks_to_too_much_is_not_unpacked(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "a.docx", "w", zipfile.ZIP_DEFLATED) as archive:
        for number in range(3):
            archive.writestr(f"word/media/{number}.bin", bytes(40_000_000))
    assert (tmp_path / "a.docx").stat().st_size < 200_000
    with pytest.raises(DocumentError, match="unpacks to 120 MB"):
        read_notes(tmp_path / "a.docx", "a.docx")


def test_a_pdf_page_by_page(tmp_path: Path) -> None:
    write_pdf(tmp_path / "a.pdf", "Dryer has no heat.", "Replaced the thermal fuse.")
    assert read_notes(tmp_path / "a.pdf", "a.pdf") == [Note("a.pdf", "Dryer has no heat.\nReplaced the thermal fuse.")]


def test_a_pdf_without_a_text_layer(tmp_path: Path) -> None:
    write_pdf(tmp_path / "a.pdf", "", "")
    with pytest.raises(DocumentError, match="only pictures of pages; .*OCR"):
        read_notes(tmp_path / "a.pdf", "a.pdf")


def test_a_pdf_with_a_password(tmp_path: Path) -> None:
    write_pdf(tmp_path / "open.pdf", "Dryer.")
    writer = pypdf.PdfWriter(clone_from=str(tmp_path / "open.pdf"))
    writer.encrypt("secret", algorithm="RC4-128")
    writer.write(tmp_path / "a.pdf")
    with pytest.raises(DocumentError, match="locked with a password; .+"):
        read_notes(tmp_path / "a.pdf", "a.pdf")


@pytest.mark.parametrize("data", [b"this is no PDF", b"%PDF-1.4\nbroken", b"%PDF-1.4\n" + bytes(range(256)) * 20])
def test_a_damaged_pdf(tmp_path: Path, data: bytes, capfd: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(DocumentError, match=r"cannot be read as a PDF.*; .+"):
        read(tmp_path, "a.pdf", data)
    assert capfd.readouterr() == ("", ""), "only the doors print"


def test_a_pdf_of_more_pages_than_are_read_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(word_pdf, "_MOST_PAGES", 1)
    write_pdf(tmp_path / "a.pdf", "One.", "Two.")
    with pytest.raises(DocumentError, match="has 2 pages; .+"):
        read_notes(tmp_path / "a.pdf", "a.pdf")
