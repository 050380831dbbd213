"""The ZIP of a permit file: the printed file, a table of every section, the documents, the answers of the gate, a manifest.

Everything is written piece by piece: neither the trees nor the documents nor the answers are ever in memory together.
"""

import csv
import io
import itertools
import json

from plantings.choices import TreeFate
from plantings.selectors.permit_file.permit_file import determinations_under, history_under, trees_under
from registry.calc.shared.screen import amount_words
from registry.imports.sheets.formats import safe_text
from registry.prints.bundle import Bundle, numbered_name
from registry.prints.permit_file import AUTHORITY
from registry.selectors.audit.chain_head import chain_head
from registry.selectors.gate.determinations import repeat_fault
from registry.selectors.permits.documents import file_content, file_fault

_ROWS_A_PIECE = 2_000
TREE_HEADERS = ("Planting", "Tag", "Block", "Row", "Position", "Lot", "Planted on", "Replaces", "Fate at the last round")


def csv_pieces(headers, rows):
    """A table as pieces of CSV in UTF-8, no cell of which a spreadsheet runs; days and moments are ISO 8601, moments with their offset."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer)
    yield b"\xef\xbb\xbf"
    writer.writerow([safe_text(header) for header in headers])
    for number, row in enumerate(rows, start=1):
        writer.writerow([safe_text(cell) if isinstance(cell, str) else _csv_cell(cell) for cell in row])
        if number % _ROWS_A_PIECE == 0:
            yield _emptied(buffer)
    yield _emptied(buffer)


def _csv_cell(cell):
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    return cell.isoformat() if hasattr(cell, "isoformat") else cell


def _emptied(buffer):
    text = buffer.getvalue()
    buffer.seek(0)
    buffer.truncate()
    return text.encode()


def section_pieces(section):
    columns, places = section.columns_for("file")
    return csv_pieces([column.label for column in columns], ([row[place] for place in places] for row in section.rows))


def permit_zip(target, *, file, sections, printed, history, made, map_file=None, step=None):
    """Write the ZIP of a permit file to a binary file.

    Parameters
    ----------
    target : binary file
    file : PermitFile
    sections : list of FileSection
        All sections but the history.
    printed : bytes
        The PDF.
    history : (headers, function of an audit entry to its row)
        The history is read here, entry by entry.
    made : str
        Who made it and when.
    map_file : bytes, optional
        The places as GeoJSON.
    step : function, optional
        Called before each part with its words, how many parts are written, how many there are, and "parts".

    Returns
    -------
    list of str
        Documents that are left out, each with the reason.
    """
    paper = file.paper
    say = _steps(step, len(sections) + 3 + len(file.files))
    bundle = Bundle(target, f"permit-file-{paper.code}", file.now)
    bundle.add("permit-file.pdf", [printed])
    if map_file:
        bundle.add("map.geojson", [map_file])
    for section in sections:
        say(f"Table of {section.name}")
        bundle.add(f"tables/{section.name}.csv", section_pieces(section))
    say("Table of trees")
    fates = dict(TreeFate.choices)
    trees = ((*row[:-1], fates.get(row[-1], row[-1])) for row in trees_under(file.items))
    bundle.add("tables/trees.csv", csv_pieces(TREE_HEADERS, trees))
    say("Table of the history")
    headers, row_of = history
    bundle.add("tables/history.csv", csv_pieces(headers, (row_of(entry) for entry in history_under(paper).iterator(chunk_size=1_000))))
    say("Answers of the gate")
    for record in determinations_under(paper).iterator(chunk_size=50):
        bundle.add(f"determinations/{record.pk}.json", [_answer_json(record)])
    left_out = _add_documents(bundle, file, say)
    bundle.close(_manifest_head(file, made, left_out))
    return left_out


def _steps(step, total):
    """A function that says which part comes next, and counts them."""
    begun = itertools.count()
    return lambda words: step(words, next(begun), total, "parts") if step else None


def _answer_json(record):
    said = {
        "number": record.pk, "activity": record.activity, "subject": record.subject, "asked_for": record.asked_for.isoformat(),
        "verdict": record.verdict, "carried_out": record.carried_out, "override_by": str(record.override_by or ""),
        "override_reason": record.override_reason, "entered_by": str(record.entered_by or ""),
        "entered_at": record.entered_at.isoformat(),
        "cannot_be_repeated": repeat_fault(record), "question": record.question, "facts": record.facts, "answer": record.answer,
    }  # fmt: skip
    return json.dumps(said, indent=1, sort_keys=True, ensure_ascii=False).encode()


def _add_documents(bundle, file, say):
    """Each stored file once, under its own name; one that is gone or was changed is left out and named."""
    left_out, seen = [], set()
    for used in file.files:
        say(f"Document {used.title}")
        stored = used.file
        if stored.pk in seen:
            continue
        seen.add(stored.pk)
        fault = file_fault(stored)
        if fault:
            left_out.append(f"{used.title} ({stored.filename}, SHA-256 {stored.sha256}): {fault}")
        else:
            bundle.add(f"documents/{numbered_name(len(seen), stored.filename)}", [file_content(stored)])
    return left_out


def _manifest_head(file, made, left_out):
    yield f"Permit file of {file.paper.code} {file.paper.title}"
    yield made
    yield AUTHORITY
    yield f"Audit chain when this file was begun: {amount_words(file.head.entries, 'entries')}, head {file.head.sha256 or 'none'}"
    now = chain_head()
    if now.entries != file.head.entries:
        yield f"While it was made, {amount_words(now.entries - file.head.entries, 'entries')} were written; parts may be newer than it."
    for words in left_out:
        yield f"LEFT OUT: {words}"
    yield "To check the files, type in this folder: sha256sum -c MANIFEST.txt"
