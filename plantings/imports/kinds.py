"""Every kind of sheet, in the order a new installation loads them."""

from plantings.imports.census import CensusSheet
from plantings.imports.counts import PlotCountSheet
from plantings.imports.leftovers import LeftoverSheet
from plantings.imports.protocols import OwnMeasurementSheet, ProtocolSheet
from plantings.imports.retags import RetagSheet
from plantings.imports.second import SecondSheet
from plantings.imports.self_sown import SelfSownSheet
from plantings.imports.sites.sites import BlockSheet, PlantingSheet, RoundSheet, SiteSheet
from plantings.imports.trees import CountedPlotSheet, TreeSheet
from registry.imports.kinds import REGISTRY_GROUPS

SHEET_GROUPS = (
    *REGISTRY_GROUPS,
    ("Sites and plantings", (SiteSheet, PlantingSheet, BlockSheet, TreeSheet, RetagSheet, CountedPlotSheet, LeftoverSheet)),
    ("Census", (OwnMeasurementSheet, ProtocolSheet, RoundSheet, CensusSheet, PlotCountSheet, SelfSownSheet, SecondSheet)),
)
SHEETS = tuple(sheet for _title, sheets in SHEET_GROUPS for sheet in sheets)
KINDS = {sheet.kind: sheet for sheet in SHEETS}
