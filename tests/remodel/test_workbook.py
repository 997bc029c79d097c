"""Tables as files. The parts of the workbook that is read here are as ECMA-376 (Office Open XML,
part 1, 18.2 to 18.4) describes them, with shared texts and gaps, as spreadsheet programs write."""

import io
import zipfile
from decimal import Decimal

import pytest

from remodel.workbook import NotATable, rows_of_file, xlsx_bytes

MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'

OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml"
# A package's parts around its one sheet (ECMA-376 part 2, and part 1, 12.3).
PARTS = {
    "[Content_Types].xml": (
        f'<Types xmlns="{PACKAGE}/content-types">'
        f'<Override PartName="/xl/workbook.xml" ContentType="{TYPE}.sheet.main+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{TYPE}.worksheet+xml"/>'
        f'<Override PartName="/xl/sharedStrings.xml" ContentType="{TYPE}.sharedStrings+xml"/>'
        "</Types>"
    ),
    "_rels/.rels": (
        f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="rId1" '
        f'Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>'
    ),
    "xl/workbook.xml": (
        f'<workbook {MAIN} xmlns:r="{OFFICE}"><sheets>'
        '<sheet name="Prices" sheetId="1" r:id="rId1"/></sheets></workbook>'
    ),
    "xl/_rels/workbook.xml.rels": (
        f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="rId1" '
        f'Type="{OFFICE}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>'
    ),
}


def workbook(sheet: str, shared: str = "") -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        for name, text in PARTS.items():
            file.writestr(name, text)
        file.writestr("xl/worksheets/sheet1.xml", sheet)
        if shared:
            file.writestr("xl/sharedStrings.xml", shared)
    return out.getvalue()


def test_what_is_written_is_read_back_number_by_number_and_text_by_text():
    written = xlsx_bytes(["Item", "Price"], [["=1+1", Decimal("13.98")], ['say <é> & "x"', 4]])

    assert rows_of_file(written) == [
        ["Item", "Price"],
        ["=1+1", "13.98"],
        ['say <é> & "x"', "4"],
    ]
    with zipfile.ZipFile(io.BytesIO(written)) as file:
        assert "<f>" not in file.read("xl/worksheets/sheet1.xml").decode()


def test_shared_texts_gaps_and_rounded_numbers_are_read_as_a_person_sees_them():
    sheet = (
        f'<worksheet {MAIN}><sheetData><row r="1"><c r="A1" t="s"><v>1</v></c>'
        '<c r="C1" t="s"><v>0</v></c></row>'
        '<row r="3"><c r="B3"><v>13.980000000000001</v></c></row></sheetData></worksheet>'
    )
    shared = f"<sst {MAIN}><si><t>Price</t></si><si><r><t>It</t></r><r><t>em</t></r></si></sst>"

    assert rows_of_file(workbook(sheet, shared)) == [["Item", "", "Price"], [], ["", "13.98"]]


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("start", ["", "\ufeff"])
def test_csv_is_read_whatever_separates_its_cells(mark, start):
    text = start + mark.join(["Item", "Price"]) + "\r\n" + mark.join(["'-x", '"a ""b"""'])

    assert rows_of_file(text.encode()) == [["Item", "Price"], ["-x", 'a "b"']]


@pytest.mark.parametrize(
    "content",
    [
        b"PK\x03\x04 no zip",
        b"\0\0\0",
        workbook("<!DOCTYPE x [<!ENTITY a 'b'>]><worksheet/>"),
        workbook("<worksheet"),
        workbook(f'<worksheet {MAIN}><sheetData><row r="9999999"/></sheetData></worksheet>'),
        b"a\n" * 5002,
    ],
)
def test_file_that_is_no_table_is_refused_with_what_to_do(content):
    with pytest.raises(NotATable):
        rows_of_file(content)


def test_part_that_unpacks_to_too_much_is_not_unpacked():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("xl/worksheets/sheet1.xml", b" " * 20_000_001)

    with pytest.raises(NotATable, match="too large"):
        rows_of_file(out.getvalue())


def test_names_that_stand_for_each_other_are_not_followed():
    """Ten names, each ten times the one before it, would be ten thousand million letters."""
    names = "".join(f'<!ENTITY n{number} "{10 * f"&n{number - 1};"}">' for number in range(1, 10))
    data = "<sheetData>&n9;</sheetData>"
    sheet = f'<!DOCTYPE x [<!ENTITY n0 "ha">{names}]><worksheet {MAIN}>{data}</worksheet>'

    with pytest.raises(NotATable):
        rows_of_file(workbook(sheet))
