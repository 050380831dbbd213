"""Every kind of sheet of the site, in the order a new book is loaded."""

from plantings.imports.census import CensusSheet, PlotCountSheet
from plantings.imports.leftovers import LeftoverSheet
from plantings.imports.places import BlockSheet, PlantingSheet, RoundSheet, SiteSheet
from plantings.imports.trees import CountedPlotSheet, TreeSheet
from registry.imports.kinds import REGISTRY_SHEETS

SHEETS = (
    *REGISTRY_SHEETS,
    SiteSheet,
    PlantingSheet,
    BlockSheet,
    TreeSheet,
    CountedPlotSheet,
    LeftoverSheet,
    RoundSheet,
    CensusSheet,
    PlotCountSheet,
)
KINDS = {sheet.kind: sheet for sheet in SHEETS}
