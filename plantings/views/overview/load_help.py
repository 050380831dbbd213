"""Loading sheets, for Help: wrong rows set aside, the rest, and withdrawing a load. For the office, which alone loads sheets."""

LOAD_HELP = (
    (
        "Map files",
        "GeoJSON, GeoPackage, KML and zipped shapefiles are sheets too: each shape is a row, each attribute a column. As sites, an area "
        "gives “Boundary”, a point “Longitude” and “Latitude”; “Point inside” gives an area the point that its map and its jurisdiction "
        "start from. Sites on file are found by their code and updated. Coordinates in metres are turned into WGS 84, and the preview "
        "says from what. A boundary above 1,000 ha, or more than 2 km from the point of its site, is refused until “Boundary is right” "
        "says yes for its row. As blocks, points are the points of the blocks. A tree has a row and a position, not a point: a layer of "
        "trees gives these two by planting and tag.",
    ),
    (
        "All or nothing",
        "A sheet with a wrong row stores nothing. The preview says each fault once, with its rows, and gives you back your "
        "sheet with a column “What to correct”. A sheet of several kinds is one load, with what each kind stored on its page.",
    ),
    (
        "A year or a month in place of a day",
        "When something was planted, when a tree or a plot was seen, when a tree got another tag and when seed was tested may be a month "
        "(2019-05) or a year (2019): no day is made up, and every screen and sheet shows as much as is known. A cell of a workbook that "
        "shows a month, such as May 2019, is that month, whatever day the spreadsheet holds behind it. Survival goes by rounds and "
        "growing seasons and needs no day. A visit of a month counts as within the window of its round if it can be. Papers, "
        "shipments, ledger entries, treatments, the windows of rounds and what the gate decides about need a day.",
    ),
    (
        "Hidden and struck-through rows",
        "Rows, columns and cells that are hidden in a workbook, also by a filter, or struck through are read like the others. The "
        "preview names them with their sheet. If they are not to be loaded, delete them in the workbook and send it again. Words "
        "struck through inside a cell, and cells that a rule of the spreadsheet strikes through, are not named.",
    ),
    (
        "Set the wrong rows aside",
        "A button of the preview, or load --set-aside REST on the command line: the good rows are saved as if only they had "
        "come. A row that builds on a wrong one, or contradicts another, is set aside with it. Rows of a shipment or a receipt "
        "cannot be set aside, since the box would be short. Of a sheet of several kinds a wrong row is set aside from all of them.",
    ),
    (
        "The rest",
        "The page of the load gives you the rows that are still out, in the columns of your file, as CSV or XLSX; the command "
        "writes them to REST. Correct them and send that file: it is read by the same mapping. Leave the column “What to "
        "correct” in, since it says which row is which. Rows that come are ticked off. Today reminds you and the lead of those "
        "that are out; if some will never come, “Leave the rest out” asks for the reason.",
    ),
    (
        "Long sheets",
        "A sheet of more than some thousand rows is checked and saved in the background. Its page shows a bar with the rows that "
        "are checked or stored. You can close the page: Today says when it is done, and the sheet's page leads back to the bar. "
        "Cancel stores nothing; a worker that dies on the way stores nothing either. Others save as usual meanwhile, and wait "
        "only while the rows go in. If records changed after the check, nothing is saved and you check again. The command "
        "load shows the same bar on a terminal.",
    ),
    (
        "Long downloads",
        "A download of more than 20,000 rows is made in the background too: a list, all records of a kind, or the data tree by tree. "
        "Its page shows a bar, and its file is there for 14 days. If your line breaks off, most browsers fetch the rest alone.",
    ),
    (
        "Withdraw a load",
        "On its page, with a reason, while nothing rests on what it stored; otherwise the page says what does. Ledger entries "
        "get their opposite, census records are rejected, what the load had changed gets its earlier values, and plain records "
        "are removed. The audit trail keeps what they said, the file stays on file. The same file may come again. A sheet of "
        "several kinds is withdrawn as one too, with its trees and their census. Census records are never deleted: they stay on file as "
        "rejected, and the page of the load lists the trees, plots and rounds that they name. Those were never planted or held; no list "
        "and no figure has them, and their tags and positions are free. A lot with ledger entries stays too, closed, with a balance of "
        "0, and its code stays taken: open it again before you load the right entries, each under a new number. Ratings, decisions, "
        "status steps, measured shares, evidence of identity, seed tests, treatments, storage checks and pickings are withdrawn: they "
        "stay on file and are counted nowhere. A tree of the orchard that they name stays, in no orchard. A later record, a photo, a "
        "second measurement or a correction rests on the load; withdraw or correct that first.",
    ),
    (
        "Loads that cannot be withdrawn",
        "Those that brought versions or states of papers, wordings of agreements and cautions, signatures, duties done, verifications of "
        "rules, accounts, shipments, receipts, leftovers, measurements and protocols of your own, second measurements or self-sown "
        "seedlings. Somebody may have read, signed or been told what they say, or a phone may hold it. The page of the load says what to "
        "do instead for each.",
    ),
)
