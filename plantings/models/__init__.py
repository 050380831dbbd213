from plantings.models.census import CensusRound, Observation, PlotCount, SurvivalTally
from plantings.models.sites import Block, BoundaryLayer, Planting, Site
from plantings.models.trees import CountedPlot, EntrySupply, PlantingEntry, Tree, TreeTag

__all__ = [
    "Block",
    "BoundaryLayer",
    "CensusRound",
    "CountedPlot",
    "EntrySupply",
    "Observation",
    "Planting",
    "PlantingEntry",
    "PlotCount",
    "Site",
    "SurvivalTally",
    "Tree",
    "TreeTag",
]
