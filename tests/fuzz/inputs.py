"""Inputs that nobody means: texts, sheets, workbooks, mappings, outlines and archives, each made from a seeded generator."""

import csv
import hashlib
import io
import json
import zipfile

import openpyxl

from registry.imports.sheets.reading_options import DATE_STYLES

# each was wrong somewhere once, or is the edge of what a database, a calendar or a number can hold
NASTY = (
    "", " ", "\t", "0", "-1", "1", "5", "1.5", "1,5", "1.5.2", "1e300", "1e-300", "-1e308", "1e400", "nan", "inf", "-inf", "NaN", "Infinity", "0x10", "1_000",
    "+5", "007", "2147483647", "2147483648", "9223372036854775807", "9223372036854775808", "99999999999999999999", "9" * 5000, "-" + "9" * 400, "0." + "0" * 400 + "1",
    "\u0661\u0662", "\uff11\uff12", "\u00b2", "\u00bd", "\u0000", "a\u0000b", "1\u0000", "\u0007", "\u001b[0m", "\u2028", "\u202e", "\ufeff", "\ufffe", "e\u0301", "\u200b",
    "0001-01-01", "0000-00-00", "1899-12-31", "1900-01-01", "9999-12-31", "10000-01-01", "2026-02-30", "2026-13-01", "2026-1-1", "2026-11-29", "29.11.2026", "11/29/2026",
    "2026-11", "2026-11-29T10:00", "2026-11-29T10:00:00+99:99", "2026-03-08 02:30", "24:00", "9" * 5000 + "-01-01", "2019", "20190", "0", "-2019",
    "=1+1", "@x", "'", "''", '"', "\\", "\\\\x", "%", "%s", "%00", "{0}", "{", "}", "[", "]", "[]", "{}", "null", "None", "true", "yes", "no", "*", "**", "?", "^", "$", "(", "(?P<", "[a-",
    "<b>", "</script>", "a;b", "a; b", ";", ";;", ",", "|", "/", "//", "../../x", "a b", "x" * 41, "x" * 300, "x" * 70_000, "\U0001f332" * 200, "US-VT", "US", "PR", "ZZ", "US-", "-VT", "us-vt",
    "B3F2", "BC3F3", "B999999999999F1", "F1", "B" + "9" * 5000, "Juglans", "Juglans spp.", "\u00d7 Juglans", "A", "D", "seed", "test", "lead", "alive", "due", "mine", "1:2", "1-2", "-", "--", "..", ".", ",".join(f"{number:x}" for number in range(1_100)),
)  # fmt: skip
_PUT_IN = (b"\0", b'"', b"\r", b"\n", b"\xff\xfe", b"<!ENTITY", b"]" * 50, b"[" * 2000, b"9" * 500, b"e999", b"-")
NUMBERS = (0, -1, 5, 1.5, 1e300, -1e308, 5e-324, 2**31, 2**63, 2**70, 10**400, float("nan"), float("inf"), True, False, None)


def text(random):
    kind = random.random()
    if kind < 0.75:
        return random.choice(NASTY)
    if kind < 0.9:
        return random.choice(NASTY) + random.choice(NASTY)
    return "".join(chr(random.choice((random.randrange(128), random.randrange(0xD800), 0x1F332))) for _ in range(random.randrange(1, 30)))


def sent(random, most=None):
    """What comes in a box of a page: one text, often several of one name. `most` is the length an address has room for."""
    return text(random)[:most] if random.random() < 0.7 else [text(random)[:most] for _ in range(random.randrange(1, 5))]


def value(random, depth=2):
    """Anything JSON can hold, and what Python's reader takes besides."""
    kind = random.random()
    if depth and kind < 0.15:
        return [value(random, depth - 1) for _ in range(random.randrange(3))]
    if depth and kind < 0.3:
        return {text(random): value(random, depth - 1) for _ in range(random.randrange(3))}
    return random.choice(NUMBERS) if kind < 0.55 else random.choice(("\ud800", "a\udfffb")) if kind < 0.6 else text(random)


def sheet(random, headers, example, known):
    """A CSV or a workbook near the template of a kind. `known` are codes that are on file. Returns (content, filename)."""
    rows = [list(headers)]
    for _ in range(random.randrange(1, 4)):
        row = list(example)
        for _ in range(random.randrange(4)):
            row[random.randrange(len(row))] = random.choice(known) if known and random.random() < 0.3 else text(random)
        rows.append(row)
    if random.random() < 0.15:
        rows[0][random.randrange(len(headers))] = text(random)
    if random.random() < 0.1:
        rows[-1] += [text(random)]
    if random.random() < 0.75:
        made = io.StringIO(newline="")
        csv.writer(made, delimiter=random.choice(",,,;\t")).writerows(rows)
        encoding = random.choice(("utf-8", "utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252"))
        content = made.getvalue().encode(encoding, "replace")
        return (damaged(random, content) if random.random() < 0.2 else content), "sheet.csv"
    return workbook(random, rows), "sheet.xlsx"


def workbook(random, rows):
    book = openpyxl.Workbook(write_only=True)
    page = book.create_sheet("Sheet")
    for row in rows:
        page.append([_cell(random, given) for given in row])
    made = io.BytesIO()
    book.save(made)
    return damaged_archive(random, made.getvalue()) if random.random() < 0.5 else made.getvalue()


def _cell(random, given):
    if random.random() < 0.1:
        given = random.choice([number for number in NUMBERS if number is None or abs(number) < 1e308 or number != number])
    if isinstance(given, str):
        return openpyxl.cell.cell.ILLEGAL_CHARACTERS_RE.sub("", given)[:32_000]
    return None if given is None or given != given else given if abs(given) < 2**63 or isinstance(given, float) else 0


def damaged(random, content):
    """A content cut short, with octets changed, doubled or put in."""
    content = bytearray(content)
    for _ in range(random.randrange(1, 6)):
        at = random.randrange(len(content) + 1)
        kind = random.randrange(4)
        if kind == 0:
            del content[at:]
        elif kind == 1 and at < len(content):
            content[at] = random.randrange(256)
        elif kind == 2:
            content[at:at] = random.choice(_PUT_IN)
        else:
            content[at:at] = content[at : at + 40]
    return bytes(content)


def damaged_inside(random, content):
    """A content of the same length, with some of its octets changed."""
    content = bytearray(content)
    for _ in range(random.randrange(8)):
        at = random.randrange(random.choice((100, len(content))))
        content[at] = random.choice((0, 1, 255, random.randrange(256)))
    return bytes(content)


def backup(random, content):
    """A backup with its list of contents changed somewhere, or damaged as any archive."""
    if random.random() < 0.4:
        return damaged_archive(random, content) if random.random() < 0.5 else damaged_inside(random, content)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        entries = [(name, archive.read(name)) for name in archive.namelist()]
    name, inside = entries.pop()
    said = json.loads(inside)
    for _ in range(random.randrange(1, 3)):
        change_somewhere(random, said)
    inside = json.dumps(value(random) if random.random() < 0.1 else said).encode(errors="replace")
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for entry in (*entries, (name, damaged(random, inside) if random.random() < 0.3 else inside)):
            archive.writestr(*entry)
    return made.getvalue()


def damaged_archive(random, content):
    """A ZIP with one entry damaged inside, doubled, renamed or left out; or the archive itself damaged."""
    if random.random() < 0.3:
        return damaged(random, content)
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            entries = [(item.filename, archive.read(item)) for item in archive.infolist()]
    except (zipfile.BadZipFile, NotImplementedError, ValueError):
        return content
    at = random.randrange(len(entries))
    name, inside = entries[at]
    kind = random.randrange(5)
    if kind == 0:
        entries[at] = (name, damaged(random, inside))
    elif kind == 1:
        entries[at] = (random.choice(("", "/", ".shp", "..", "a\0b", "x" * 300, "\\", "C:x", name.upper(), f"d/{name}")), inside)
    elif kind == 2:
        del entries[at]
    elif kind == 3:
        entries.append((random.choice(("", ".shp", "b.shp", "__MACOSX/x", "a.kml", "boundary.prj")), damaged(random, inside)))
    else:
        entries[at] = (name, b"")
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", random.choice((zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED))) as archive:
        for name, inside in entries:
            archive.writestr(zipfile.ZipInfo(name or "x"), inside)
    made = made.getvalue()
    if random.random() < 0.2:  # zipfile writes no entry without a name: take the name of one away where it stands
        made = made.replace(b"boundary", random.choice((b"\0" * 8, b"........", b"/" * 8)), random.randrange(1, 3))
    return made


def source(random, headers):
    """What a mapping says of one column: some place of it, and a change that may not fit."""
    header = random.choice(headers)
    place = random.choice(
        (
            {"from": header},
            {"join": [header, text(random)]},
            {"first_of": [header, {"constant": 1}]},
            {"given": "file"},
            {"visit": "height"},
        )
    )
    change = random.choice(
        (
            {},
            {"split": text(random), "part": random.randrange(-3, 4)},
            {"pattern": "{a}" + text(random) + "{b:number}", "take": "a"},
            {"unit": "in"},
            {"values": {}, "rest": "refuse"},
        )
    )
    return place | change


def mapping(random, fields, headers):
    """The JSON of a mapping of columns: some of it right, some of it anything."""
    columns = {}
    for name in random.sample(fields, random.randrange(len(fields) + 1)):
        kind = random.random()
        if kind < 0.3:
            columns[name] = random.choice(headers)
        elif kind < 0.6:
            columns[name] = {"constant": value(random, 1)}
        elif kind < 0.75:
            columns[name] = source(random, headers)
        elif kind < 0.85:
            columns[name] = {"from": random.choice(headers), "values": {text(random): value(random, 1), "*": value(random, 0)}}
        else:
            columns[name] = value(random)
    spec = {"columns": columns} if random.random() < 0.9 else {"columns": value(random)}
    if random.random() < 0.4:
        parts = ("delimiter", "sheet", "header_row", "decimal", "dates", "rows", "visits", "given", "set", "file_name", "these_are_counts")
        parts += ("sheet_name", text(random))
        spec[random.choice(parts)] = value(random)
    if random.random() < 0.3:
        spec |= random.choice(
            (
                {"rows": [{"column": random.choice(headers), random.choice(("blank", "is", "contains", "lacks")): value(random, 1)}]},
                {"visits": {"height": "{year}" + random.choice(headers)[1:]}},
                {"visits": [{"height": source(random, headers), "year": value(random, 1)}]},
                {"dates": [random.choice((*DATE_STYLES, text(random)))]},
            )
        )
    return json.loads(json.dumps(spec))


def book_folder(random, root):
    """A folder of `export_book` with one file damaged, or one cell changed; often the manifest has the hash of what it became."""
    path = random.choice(sorted(path for path in root.rglob("*") if path.is_file() and path.stat().st_size))
    content = path.read_bytes()
    if path.suffix == ".csv" and random.random() < 0.7:
        rows = list(csv.reader(io.StringIO(content.decode(), newline="")))
        row = random.choice(rows)
        row[random.randrange(len(row))] = text(random).encode(errors="replace").decode()
        made = io.StringIO(newline="")
        csv.writer(made).writerows(rows)
        content = made.getvalue().encode()
    elif path.suffix == ".json" and random.random() < 0.7:
        said = json.loads(content)
        change_somewhere(random, said)
        content = json.dumps(said).encode()
    else:
        content = damaged(random, content)
    manifest = root / "manifest-sha256.txt"
    if path != manifest and random.random() < 0.9:
        was, now = (hashlib.sha256(data).hexdigest() for data in (path.read_bytes(), content))
        manifest.write_text(manifest.read_text().replace(was, now))
    path.write_bytes(content)
    return path.relative_to(root).as_posix(), content


def combined(random, fields, headers):
    """The JSON of a mapping of several kinds, perhaps with a second sheet."""
    parts = {kind: mapping(random, names, headers) for kind, names in fields.items()}
    spec = {"parts": parts if random.random() < 0.9 else value(random)}
    if random.random() < 0.4:
        by = {random.choice(headers): random.choice(headers)} if random.random() < 0.8 else value(random)
        spec["second_sheets"] = {text(random): {"file": "second.csv", "by": by}} if random.random() < 0.8 else value(random)
    if random.random() < 0.2:
        spec[random.choice(("rows", "given", "file_name", "decimal", "columns", text(random)))] = value(random)
    return json.loads(json.dumps(spec))


OUTLINE = {"type": "Polygon", "coordinates": [[[-73.2, 44.5], [-73.1, 44.5], [-73.1, 44.6], [-73.2, 44.5]]]}


def outline(random, map_files):
    """A file of shapes, damaged somehow; `map_files` are a zipped shapefile and a GeoPackage. Returns (content, filename)."""
    kind, (shapefile, package) = random.random(), map_files
    if kind < 0.25:
        return damaged_archive(random, shapefile), "outline.zip"
    if kind < 0.35:
        return damaged_inside(random, package), "outline.gpkg"
    feature = {"type": "Feature", "properties": {"code": text(random), "name": text(random)}, "geometry": json.loads(json.dumps(OUTLINE))}
    document = {"type": "FeatureCollection", "features": [feature, feature]}
    for _ in range(random.randrange(3)):
        change_somewhere(random, document)
    content = json.dumps(document).encode()
    if kind < 0.75:
        return (damaged(random, content) if random.random() < 0.3 else content), "outline.geojson"
    rings = " ".join(f"{x},{y},0" for x, y in OUTLINE["coordinates"][0])
    kml = f'<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>{rings}</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>'
    return damaged(random, kml.encode()), "outline.kml"


def shape_text(random):
    """One shape as GeoJSON, changed somehow."""
    document = json.loads(json.dumps(OUTLINE))
    for _ in range(random.randrange(3)):
        change_somewhere(random, document)
    return json.dumps(document)


def change_somewhere(random, part):
    """Change one value somewhere inside a JSON document."""
    while True:
        keys = list(part) if isinstance(part, dict) else list(range(len(part)))
        if not keys:
            return
        key = random.choice(keys)
        if not isinstance(part[key], dict | list) or random.random() < 0.25:
            part[key] = value(random)
            return
        part = part[key]
