from plantings.models.cautions import CautionsRead
from plantings.models.census import CauseTally, CensusRound, Observation, PlotCount, RoundProgress, SurvivalTally
from plantings.models.field_form import FormPage, FormScan, KeyingSettlement, PageKeying
from plantings.models.photos import Photo
from plantings.models.protocols import MeasurementWords, OwnMeasurement, Protocol
from plantings.models.results import IssuedReport, RoundResult
from plantings.models.reviews import CountReview, Review, ReviewTally
from plantings.models.round_links import RoundLink
from plantings.models.second import SecondDraw, SecondMeasurement, SecondTree
from plantings.models.self_sown import SelfSown
from plantings.models.sites import Block, BoundaryLayer, Planting, Site
from plantings.models.trees import CountedPlot, EntrySupply, PlantingEntry, Tree, TreeTag
from plantings.models.withdrawn import WithdrawnRecord

__all__ = [
    "Block",
    "BoundaryLayer",
    "CauseTally",
    "CautionsRead",
    "CensusRound",
    "CountReview",
    "CountedPlot",
    "EntrySupply",
    "FormPage",
    "FormScan",
    "IssuedReport",
    "KeyingSettlement",
    "MeasurementWords",
    "Observation",
    "OwnMeasurement",
    "PageKeying",
    "Photo",
    "Planting",
    "PlantingEntry",
    "PlotCount",
    "Protocol",
    "Review",
    "ReviewTally",
    "RoundLink",
    "RoundProgress",
    "RoundResult",
    "SecondDraw",
    "SecondMeasurement",
    "SecondTree",
    "SelfSown",
    "Site",
    "SurvivalTally",
    "Tree",
    "TreeTag",
    "WithdrawnRecord",
]
