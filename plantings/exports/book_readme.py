"""The README of `export_book`: for somebody who has the folder and not this program, perhaps in thirty years."""

import textwrap
from collections.abc import Mapping

from django.apps import apps
from django.utils.translation import override

from plantings.calc.census.codes import REMOVAL_REASONS, STATUSES
from plantings.calc.survival.words import definitions
from registry.calc.shared.screen import amount_words
from registry.choices import ProgrammeKey
from registry.selectors.audit.book_schema import column_words, table_words
from registry.selectors.audit.book_tables import COLUMNS_LEFT_OUT, DESCRIPTOR, LEFT_OUT, MANIFEST, OF_PROGRAM, book_tables, table_name
from registry.selectors.people.programme import setting
from registry.selectors.shared.local_text import local_text

__all__ = ["readme_text"]

_WRAP = {"width": 110, "break_long_words": False, "break_on_hyphens": False}

_ABOUT = """
This folder holds all records of a tree-breeding programme and of the plantings made with its seed: which trees were crossed, which seed
lots came of them, where each lot was planted under which permit, and how each tree did at each census. Mastbook, a web site, wrote it.
You do not need Mastbook to read it: the tables are plain text.

It holds names, addresses and the exact places of plantings, some of which may have to stay secret. Store it accordingly.
"""

_FILES = f"""
tables/*.csv – the records, one table for each record type. The end of this text describes each table and each column.

documents/ – the files that people sent: permits, photos, sheets. Each is named by the SHA-256 of its content. tables/documents.csv says
what each was called; tables/stored_file.csv, which other tables point to, names it by the same hash.

places.gpkg – sites, their boundaries, blocks and trees for a map program (GeoPackage, longitude and latitude in WGS 84). It is a copy:
the tables site, block and tree have the same places. It is absent when nothing has a place.

{DESCRIPTOR} – the tables and columns for a program to read, by the Data Package standard, version 2.0 (datapackage.org).

{MANIFEST} – the SHA-256 of every other file. "sha256sum -c {MANIFEST}", run in this folder, says whether anything was changed.
"""

_READING = """
The tables are CSV by RFC 4180 in UTF-8: a comma between cells, lines end with CR LF, a cell with a comma, a quotation mark or a line
break is in quotation marks. The first line has the names of the columns. When you open one in a spreadsheet, import every column as
text: otherwise the spreadsheet turns codes into dates and drops zeros.

Days are written 2026-10-12. Moments are in Universal Time (UTC): 2026-10-12T14:30:00.000000Z. Numbers have a decimal point. Yes and no
are true and false. Lists and nested values are JSON. An empty cell is an empty text in a column of text, and in any other column it
says that nothing is recorded.

Every row has a number, id, which no other row of its table has. A column whose name ends in _id points to a row of another table by
that number. Codes that people use (of a lot, a site, a shipment, a tag) are in the columns code and tag.
"""

_TOGETHER = """
pedigree_tree: a tree of the breeding programme; mother_id, father_id or pollen_pool_id point to its parents.

lot: seeds or plants of one origin, such as a harvest from one mother tree (mother_id). A lot raised or split from another has
parent_id, and lot_component lists what was mixed into a bulk. ledger_entry has every change of its quantity: the sum of a lot is its
balance.

shipment, shipment_line, receipt, receipt_line: what left for whom, and what of it arrived.

authorization: a legal paper such as a permit. authorization_version says what it covered from which day on, authorization_state_record
which state it was in. determination is the answer to "may this leave, may this be planted" with the facts it was given.

site, planting: a place, and trees planted there. planting_entry is one lot in one role (test, check, buffer, filler) in a planting.
tree points to its entry, and so to its lot. counted_plot is a plot whose trees or seeds are counted and not tagged; without planted_count
nobody knows how many were planted there, and its counts are in no survival_tally. Nor are the trees of a planting with trees_left_out,
of which some planted trees are not on record.

census_round: one census of a planting. observation is what somebody saw of one tree at one round, plot_count of one plot.

survival_tally: the result, counted for each entry and round.

So from a tree to its mother: tree.entry_id, planting_entry.lot_id, lot.mother_id. For a raised lot follow lot.parent_id first.
"""

_COUNTING_RECORDS = """
Nothing is overwritten. A record that was wrong stays, and a later one names it: supersedes_id points to the record that it replaces,
reverses_id to the ledger entry that it cancels, and reason says why. A record that another one supersedes no longer counts.

A receipt or a leftover with taken_back_at counts nowhere. An observation whose last review (the one that no other supersedes) has the
state rejected does not count either. Where programme_setting unread_count is no, an observation whose arrived_as is received counts only
after a review accepted it.

entered_by_id and entered_at say who entered a record and when; received_at when the server received a census record.

audit_entry says who did what, when and why, of every other change too.
"""

_SURVIVAL = """
To count survival from the tables: take survival_tally, join planting_entry by entry_id and census_round by round_id, and choose the
rows of one age (census_round.growing_seasons) with the role test. Then, summed over the entries of a site or of a lineage:

    assessed = planted - removed_excluded - not_visited - not_located - unclear

    survival = alive / assessed

Take planted trees (lots of the kind stock) and sown seed (lots of the kind seed) apart. Of the rounds of one age take the last complete
one of each planting. A round is complete when its last day (closes_on) has passed or round_progress.unsettled is 0, and (assessed -
ended) is enough of (countable - ended); the share is below. survival_tally can be counted again from tree, observation, counted_plot
and plot_count by these rules, leaving out plots without planted_count and the trees of plantings with trees_left_out:
"""

_AUDIT = """
Each row of audit_entry has the hash of the entry before it and its own: SHA-256 of the previous hash, a line feed, and a JSON object
with the keys actor, at, changes, reason, record_id, record_label, record_type, verb (sorted, no spaces, characters outside ASCII as \\u
escapes, at in UTC as 2026-10-12T14:30:00.000000+00:00). So a changed, missing or moved entry shows. Under "records kept" in changes an
entry holds the hashes of rows that never change: SHA-256 of a line feed and a JSON object of the columns of the row, written in the
same way, with what is empty left out (no value, an empty text, list or object), a moment as above, numbers and true or false as in
JSON, and a decimal number as text without zeros at its end. record_type is the name of a table without underscores (issuedpaper is
issued_print).
"""

_BACK = """
    manage.py import_book FOLDER

This command reads the folder into an empty installation of the same version of Mastbook, which then can be upgraded. Nobody has a
password afterwards: manage.py changepassword NAME sets one.
"""


def readme_text(rows: Mapping[str, int]) -> str:
    """The README of a folder with so many rows in each table."""
    with override("en"):
        return "\n".join(_lines(rows))


def _lines(rows):
    yield from ("RECORDS OF A TREE-BREEDING PROGRAMME", "", *_wrapped(_ABOUT))
    for title, text in (
        ("WHAT IS IN THIS FOLDER", _FILES),
        ("HOW TO READ A TABLE", _READING),
        ("HOW THE TABLES FIT TOGETHER", _TOGETHER),
        ("WHICH RECORDS COUNT", _COUNTING_RECORDS),
    ):
        yield from (*_title(title), *_wrapped(text))
    yield from (*_title("HOW SURVIVAL IS COUNTED"), *_wrapped(_SURVIVAL))
    for term, sentence in definitions(complete_percent=setting(ProgrammeKey.COMPLETE_PERCENT)):
        yield from _item(f"{local_text(term)}: {local_text(sentence)}")
    yield from ("", "Status of a tree at a round (observation.status):", "")
    for code, label, meaning in STATUSES:
        yield from _item(f"{code} = {local_text(label)}. {local_text(meaning)}")
    yield from ("", "Reasons of a removal (observation.cause of status RM):", "")
    for code, label, biological in REMOVAL_REASONS:
        yield from _item(f"{code} = {local_text(label)}: {'counted as not alive' if biological else 'left out of survival'}")
    yield from (*_title("HOW TO CHECK THAT NOTHING WAS CHANGED"), *_wrapped(_AUDIT))
    yield from (*_title("HOW IT GOES BACK INTO MASTBOOK"), *_wrapped(_BACK))
    yield from (*_title("WHAT IS NOT IN THIS FOLDER"), *_left_out())
    yield from _title("THE TABLES AND THEIR COLUMNS, IN THE ORDER IN WHICH THEY CAN BE LOADED")
    for table in book_tables():
        yield from (f"{table.name}.csv – {amount_words(rows[table.name], 'rows')}", *_wrapped(table_words(table)))
        for field in table.fields:
            yield from _item(f"{field.attname}: {column_words(field)}")
        yield ""


def _left_out():
    for label, reason in {**LEFT_OUT, **COLUMNS_LEFT_OUT}.items():
        app, name, *column = label.split(".")
        if app in OF_PROGRAM:
            where = table_name(apps.get_model(app, name))
            yield from _item(f"{column[0]} of {where}: {reason}" if column else f"{where}: {reason}")
    yield from _item("who was signed in, wrong passwords and the like: of no use elsewhere")
    yield from _item("the settings of the server and its secret keys")


def _title(words):
    return ("", words, "-" * len(words), "")


def _wrapped(text):
    for paragraph in text.strip("\n").split("\n\n"):
        indent = "    " if paragraph.startswith("    ") else ""
        yield from textwrap.wrap(" ".join(paragraph.split()), initial_indent=indent, **_WRAP)
        yield ""


def _item(text):
    return textwrap.wrap(f"- {text}", subsequent_indent="  ", **_WRAP)
