"""What Help says about the mapping of columns: each part with an example. README prints the same examples, which a test compares."""

__all__ = ["COMBINED_HELP", "MAPPING_HELP", "MAPPING_PARTS"]

# (what it does, an example, what it means): what one column of ours may say
MAPPING_HELP = (
    ("Their column as it is", '"Plant_ID"', "The header, in quotation marks. On the page: choose the column."),
    ("One value", '{"constant": "PL-01"}', "Every row takes it."),
    (
        "A value for each of theirs",
        '{"from": "State", "values": {"alive": "A", "": "D", "*": "U"}}',
        "“” is a blank cell and “*” anything else. Neither case nor blanks around a value count.",
    ),
    (
        "What becomes of the rest",
        '{"from": "State", "values": {"alive": "A", "dead": "D"}, "rest": "refuse"}',
        "Values that are not listed: “as it is” (the default), “blank” or “refuse”.",
    ),
    ("Several columns joined", '{"join": ["Plot", "Tree"], "with": "-"}', 'Blank where one is blank; with "skip_blank": true the rest.'),
    ("The first that is filled", '{"first_of": ["Height 2", "Height"]}', "From left to right."),
    ("One part between signs", '{"from": "Plot", "split": "_", "part": 2}', "Counted from 1; -1 is the last."),
    (
        "One part of a pattern",
        '{"from": "Plant_ID", "pattern": "{family}_{garden:letters}_{bed:letters}", "take": "bed"}',
        "{name} is any text, {name:number} digits, {name:letters} letters, {name:2} two characters. A cell with two readings is refused.",
    ),
    ("The end or the beginning", '{"from": "Plot", "after_last": "_"}', "“before_last” takes what is before the last sign."),
    ("A length in another unit", '{"from": "Height", "unit": "in"}', "mm, cm, m, in or ft, turned into the unit of our column."),
    ("A value that comes with the file", '{"given": "year"}', "From the file's name, its sheet's name, or --set year=2022."),
    ("What a visit says", '{"visit": "height"}', "See “visits” below."),
)

# parts of the mapping besides its columns
MAPPING_PARTS = (
    (
        "Rows to use",
        '{"rows": [{"column": "Plot", "blank": false}, {"column": "Notes", "lacks": "exclude"}]}',
        "All conditions hold: blank, is, is_not (one value or a list), contains, lacks. Other rows are left out and counted.",
    ),
    (
        "Columns that are visits",
        '{"visits": {"height": "H_{year}", "state": "S_{year}"}}',
        "A visit for each year among the headers; “year” is a value of the visit. A tree has a record where the visit has a filled cell; "
        'with "blank_visits": "use" also where none is.',
    ),
    (
        "Visits one by one",
        '{"visits": [{"year": {"constant": "2019"}, "height": "Height"}, {"year": {"constant": "2020"}, "height": "Height 2"}]}',
        "For columns whose names follow no pattern.",
    ),
    ("Parts of the file's name", '{"file_name": "{site}_{year}.csv"}', 'Taken as {"given": "site"} and {"given": "year"}.'),
    ("Parts of the sheet's name", '{"sheet_name": "{season} {year}"}', "The same of the sheet of a workbook."),
    ("Values for all rows, by name", '{"given": {"year": "2022"}}', "--set and the name of the file go before them."),
    (
        "Numbers are counts",
        '{"these_are_counts": true}',
        "Counts of living trees in plots that look like percentages, by their header or because all are below 101, often multiples of 5 or "
        "exactly 100, with the same number planted everywhere or an unknown one, are refused unless this is declared.",
    ),
    (
        "How it is written",
        '{"decimal": ",", "dates": ["DD.MM.YYYY", "D Mon YYYY"], "delimiter": "semicolon", "header_row": 2, "sheet": "2024"}',
        "Dates are made of YYYY, YY (20YY), MM, M, Mon (month names, English or French), DD, D and time, or are “days since 1900” or "
        "“days since 1904”. “Mon YYYY” reads a month and “YYYY” a year where no more is known. Several are tried; a date that two of them "
        "read as two dates is refused.",
    ),
    (
        "How a map file is written",
        '{"crs": "EPSG:26918", "sheet": "stands"}',
        "The code is for a file that does not name its own, such as a shapefile without .prj. “sheet” is the layer, needed where there are "
        "several.",
    ),
)

# for a sheet that holds records of several kinds
COMBINED_HELP = (
    (
        "Several kinds in one sheet",
        '{"parts": {"lot": {"columns": {"code": "Source"}}, "tree": {"columns": {"tag": "Plant_ID", "lot": "Source"}, '
        '"rows": [{"column": "Plant_ID", "blank": false}]}}}',
        "A mapping for each kind, loaded together or not at all: “load combined”, or “Several kinds in one sheet” on the page. Rows that "
        "repeat a record are stored once. What is written beside “parts” holds for every kind; rows to use are those that both name.",
    ),
    (
        "A second sheet, joined by a key",
        '{"second_sheets": {"plots": {"file": "plots.csv", "by": {"Plot": "Block"}}}}',
        "Beside “parts”: each row takes the cells of the row of plots.csv whose Block is its Plot, as “plots.Longitude” and so on. The "
        "file is in the same folder, or sent with the first on the page; with “sheet” in place of “file” it is in the same workbook. There "
        "may be several, and map files too.",
    ),
)
