"""The command reads a pedigree file and prints its numbers, without a database. No test here may ask the database for anything."""

import csv
import io
import json
import subprocess
import sys

import openpyxl
import pytest
from django.core.management import CommandError, call_command

from tests.places import COMPILED, PROJECT

# Mrode 2014, Linear Models for the Prediction of Animal Breeding Values, 3rd ed., table 2.1; rows in disorder
MRODE = "animal;sire;dam\n6;5;2\n5;4;3\n3;1;2\n4;1;unk\n"


@pytest.fixture
def run(tmp_path):
    def call(text, *words, err=None):
        path = tmp_path / "trees.csv"
        path.write_text(text, encoding="utf-8")
        out = io.StringIO()
        call_command("pedigree", str(path), *words, stdout=out, stderr=err or io.StringIO())
        return out.getvalue()

    return call


@pytest.fixture
def said(run):
    def call(text, *words):
        """What was written to standard error, line by line."""
        err = io.StringIO()
        try:
            run(text, *words, err=err)
        except SystemExit:
            return [*err.getvalue().splitlines(), "refused"]
        return err.getvalue().splitlines()

    return call


def test_a_repeated_row_is_named(said):
    assert said("id,dam,sire\nx,a,b\ny,a,b\nx,a,b\na,,\nb,,\n") == ["Rows 2 and 4: “x” has the same row twice. It counts once."]


def test_hidden_rows_of_a_workbook_are_named(tmp_path):
    book = openpyxl.Workbook()
    for row in (["id", "dam", "sire"], ["x", "a", "b"], ["a"], ["b"]):
        book.active.append(row)
    book.active.row_dimensions[2].hidden = True
    book.save(tmp_path / "trees.xlsx")
    out, err = io.StringIO(), io.StringIO()
    call_command("pedigree", str(tmp_path / "trees.xlsx"), stdout=out, stderr=err)
    assert err.getvalue().startswith(
        "Row 2 of sheet 'Sheet' is hidden in the workbook, by a filter or by hand; it is read like the others."
    )
    assert "x" in out.getvalue()


def test_parents_without_a_row_are_named(said):
    assert said("id,dam,sire\nx,a,b\ny,a,c\na,,\n") == ["2 parents have no row and count as founders: “b”, “c”."]
    assert said("id,dam,sire\nx,a,b\na,,\n") == ["1 parent has no row and counts as a founder: “b”."]
    many = [f"x{place},m{place}," for place in range(12)]
    (line,) = said("\n".join(["id,dam,sire", *many]))
    assert line.startswith("12 parents have no row") and line.endswith("“m9” and 2 more.")


@pytest.mark.parametrize(("listed", "named"), [("40", "40.0"), ("R1", "r1"), ("A-01", "A 1")])
def test_two_spellings_of_one_name_are_named(said, listed, named):
    assert said(f"id,dam,sire\n{listed},,\nx,{named},\n")[1] == (
        f"“{listed}” (row 2) and “{named}” (no row) differ in spelling only and count as 2 trees. If they are one, write its name the same way."
    )


def test_a_sex_column_is_read_and_compared(said, run):
    rows = "id,dam,sire,sex\nx,a,b,\na,,,M\nb,,,M\ny,a,x,F\n"
    assert said(rows) == ["“a” is male by its row 3, and the mother of “x”. Check both rows."]
    numbered = "id,dam,sire,born as\nx,a,b,0\na,,,2\nb,,,2\n"
    assert said(numbered) == []
    assert said(numbered, "--sex", "born as") == ["“b” is female by its row 4, and the father of “x”. Check both rows."]
    with pytest.raises(CommandError, match="There is no column 'gender' for --sex"):
        run(rows, "--sex", "gender")


def test_a_sex_that_cannot_be_read_is_named(said):
    assert said("id,dam,sire,Sex\nx,,,male\ny,,,tall\n") == [
        "Row 3, column 'Sex': “tall” is not a sex. Write M, F, or 1 for male and 2 for female."
    ]
    assert said("id,dam,sire,sex\nx,,,0\ny,,,1\n") == [
        "Column 'sex' has 0 and 1 but no 2, so it is not clear which is male. Write M and F; it is not used."
    ]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--mother", "M", "--father", "M"], "Column 'M' is taken as the mother and as the father. Name another with --father COLUMN."),
        (["--mother", "id", "--father", "M"], "Column 'id' is taken as the id and as the mother."),
    ],
)
def test_one_column_cannot_be_two_things(run, words, message):
    with pytest.raises(CommandError, match=message):
        run("id,M,P\nx,a,b\n", *words)


def test_loops_are_named_beside_all_other_faults_each_once(said):
    rows = "id,dam,sire\nA,B,F\nB,A,\nC,D,\nD,C,\nE,E,\nx,a,b\nx,a,c\nF,,\n"
    lines = said(rows)
    assert lines[:2] == [
        "Row 6: “E” is its own mother. Correct the name or leave the mother empty.",
        "Rows 7 and 8: “x” has two rows with different parents. Keep one of them.",
    ]
    assert [line.split(":")[0] for line in lines[2:4]] == ["Rows 2, 3", "Rows 4, 5"]
    assert (len(lines), lines[-1]) == (6, "refused")


def test_years_and_sexes_are_checked_on_request(said, run):
    rows = "id,dam,sire,planted\nx,a,b,2001\na,,,2020\ny,b,a,\nb,,,\n"
    assert said(rows) == []
    assert said(rows, "--year", "planted") == ["“a” (2020) is a parent of “x” (2001) and is not older. Look at both years."]
    both = "is the mother in one row and the father in another. Check both rows."
    assert said(rows, "--separate-sexes") == [f"“a” {both}", f"“b” {both}"]
    with pytest.raises(CommandError, match="Row 2, column 'planted': 'about 2001' is not a year"):
        run("id,dam,sire,planted\nx,a,b,about 2001\n", "--year", "planted")


def test_the_numbers_of_mrode_as_json(run):
    rows = {row["id"]: row for row in json.loads(run(MRODE, "--format", "json"))}
    assert list(rows)[:4] == ["6", "5", "3", "4"]
    assert {name: row["inbreeding"] for name, row in rows.items()} == {"1": 0, "2": 0, "3": 0, "4": 0, "5": 0.125, "6": 0.125}
    assert rows["6"] == {
        "id": "6", "mother": "2", "father": "5", "depth": 3, "inbreeding": 0.125, "founders": 2,
        "founder_shares": {"1": "1/4", "2": "5/8", "unknown": "1/8"},
    }  # fmt: skip


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_csv_is_read_with_any_delimiter_and_written_with_commas(run, delimiter):
    text = run("Name,Mother,Father\nQueen  Victoria,0,\nC,Queen  Victoria,NA\n".replace(",", delimiter), "--format", "csv")
    assert list(csv.reader(io.StringIO(text))) == [
        ["id", "mother", "father", "depth", "inbreeding", "founders", "founder_shares"],
        ["Queen  Victoria", "", "", "0", "0.0", "1", "Queen  Victoria 1"],
        ["C", "Queen  Victoria", "", "1", "0.0", "1", "Queen  Victoria 1/2, unknown 1/2"],
    ]


def test_the_table_is_for_eyes(run):
    lines = run("id,fid,mid\nx,a,a\n").splitlines()
    assert lines[1].split() == ["x", "a", "a", "1", "0.500000", "1", "a", "1"]
    assert lines[-1].startswith("2 trees.")


def test_columns_of_any_name_can_be_named(run):
    text = "no,his,hers,dam\nx,a,b,wrong\n"
    (row, *_) = json.loads(run(text, "--id", "no", "--mother", "hers", "--father", "his", "--format", "json"))
    assert (row["mother"], row["father"]) == ("b", "a")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "No column is known as the id. Name it with --id"),
        (["--id", "n"], "There is no column 'n' for --id. The file has: no, dam, sire."),
    ],
)
def test_a_column_that_is_not_there_is_named(run, words, message):
    with pytest.raises(CommandError, match=message):
        run("no,dam,sire\nx,a,b\n", *words)


def test_beyond_twelve_founders_only_their_number_is_given(run):
    rows = ["c0,a0,b0", *(f"c{place},a{place},c{place - 1}" for place in range(1, 12))]
    found = {row["id"]: row for row in json.loads(run("\n".join(["id,dam,sire", *rows]), "--format", "json"))}
    assert (found["c10"]["founders"], len(found["c10"]["founder_shares"])) == (12, 12)
    assert (found["c11"]["founders"], found["c11"]["founder_shares"]) == (13, None)


def test_a_file_that_is_not_there_is_an_error():
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("pedigree", "nowhere.csv")


def test_faults_go_to_standard_error_with_their_rows(tmp_path):
    path = tmp_path / "loop.csv"
    path.write_text("id,dam,sire\nA,B,\nB,A,\n", encoding="utf-8")
    good = tmp_path / "good.csv"
    good.write_text("id,dam,sire\nx,a,a\n", encoding="utf-8")
    env = COMPILED | {
        "DATABASE_URL": "postgres://nobody@127.0.0.1:1/nothing",
        "MASTBOOK_DATA_DIR": str(tmp_path / "data"),
        "PYTHONUTF8": "1",
    }

    def command(file):
        return subprocess.run([sys.executable, "manage.py", "pedigree", file], cwd=PROJECT, env=env, capture_output=True, text=True)

    refused = command(path)
    assert (refused.returncode, refused.stdout) == (1, "")
    assert refused.stderr.startswith("Rows 2, 3: ")
    assert "0.500000" in command(good).stdout
