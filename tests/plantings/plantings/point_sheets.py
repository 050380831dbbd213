"""Sheets of trees with points, for planting P with lot L."""

from plantings.imports.loading import sheet_load
from plantings.models import Tree
from tests import factories

WEST, SOUTH = -73.2, 44.5  # where the site of the factories is
HEAD = '"Planting","Tag","Lot","Longitude (degrees, WGS 84)","Latitude (degrees, WGS 84)","Accuracy of the point (m)"\n'


def planting_of_lead():
    """A lead, with planting P and plants of lot L in their records."""
    lead = factories.person("lead")
    factories.planting(code="P")
    factories.stock_lot(actor=lead, plants=500, code="L")
    return lead


def load(lead, content, filename="trees.csv", **given):
    content = content.encode() if isinstance(content, str) else content
    return sheet_load(actor=lead, kind="tree", content=content, filename=filename, **given)


def points():
    return {tree.tag: (tree.longitude, tree.latitude, tree.accuracy_m) for tree in Tree.objects.all()}
