"""A sheet of seedlings of several seed sources, loaded as it is by its mapping, as an issued report: each figure against other means.

The published sheet is that of tests/plantings/sheets/test_real_input.py (CC0 1.0, never part of this project; the test skips where it is
absent). What it proves is proven on a sheet of the same shape besides, made here with known effects. Intervals of one site: Wilson's by
statsmodels. The model: `exact_model.py`, once by Laplace's approximation with full matrices and once by quadrature, since no
general-purpose library fits it by maximum likelihood.
"""

import csv
import io
import json
import re
from collections import Counter

import numpy as np
import pypdf
import pytest
from django.urls import reverse
from statsmodels.stats.proportion import proportion_confint

from plantings.imports.combined.loading import combined_load
from plantings.models import IssuedReport
from tests import factories
from tests.jobs import work_off
from tests.places import PROJECT, SHARED
from tests.plantings.reports.exact_model import ExactModel

pytestmark = pytest.mark.django_db
MAPPING = PROJECT / "fixtures" / "examples" / "red-spruce" / "seedlings.json"
HEAD = "Site,Region,SubRegion,Source,Replication,Plant_ID,Height,Damage,Notes,tagging direction,Cover"


def own_sheets():
    """(seedlings, plots) as the published ones: six sources, not all on each of four sites, in plots of forty; a blank height is dead."""
    random = np.random.default_rng(20)
    sites, sources = (
        {"East": 0.3, "North": -0.2, "South": -0.1, "West": 0.9},
        dict(zip("ABCDEF", (0.9, 0.7, 0.5, 0.4, -0.1, -0.9), strict=True)),
    )
    lines, plots = [HEAD], ["Replication,POINT_X,POINT_Y"]
    for site, ease in sites.items():
        for source, effect in sources.items():
            if (site, source) in {("East", "A"), ("North", "B"), ("South", "C"), ("West", "F"), ("East", "B")}:
                continue
            share = 1 / (1 + np.exp(-(0.5 + ease + effect + random.normal(0, 0.4))))
            for plot in range(1, 4):
                name = f"{source}_{plot}_{site}"
                plots.append(f"{name},-79.5,38.5")
                for number in range(40):
                    height = "25.5" if random.random() < share else ""
                    lines.append(f"{site},R,S,{source},{name},{name}_{number},{height},,,,")
    return "\n".join(lines).encode(), "\n".join(plots).encode()


def published_sheets():
    if not SHARED.exists():
        pytest.skip("../shared is absent, so the published sheet is not read")
    raw = SHARED / "redspruce_restoration" / "raw"
    return (raw / "tnc_spring_2022.csv").read_bytes(), (raw / "plot_coordinates.csv").read_bytes()


def counts_of(sheet, *names):
    """{(the cells of some columns): (alive, planted)} read by the csv module alone: a blank height is a dead seedling."""
    rows = [*csv.DictReader(io.StringIO(sheet.decode("utf-8-sig")))]
    planted = Counter(tuple(row[name] for name in names) for row in rows)
    alive = Counter(tuple(row[name] for name in names) for row in rows if row["Height"])
    return {key: (alive[key], planted[key]) for key in planted}


def wilson(alive, n):
    low, high = proportion_confint(alive, n, method="wilson")
    return f"{alive / n:.2f} ({low:.2f}–{high:.2f}), n {n}"


@pytest.fixture
def lead(client):
    lead = factories.person("lead")
    client.force_login(lead)
    return lead


def issued_report(client, lead, sheet, plots):
    """(text of the PDF, HTML of its page) of the report that the lead issues after a look at the draft."""
    spec = json.loads(MAPPING.read_text(encoding="utf-8"))
    combined_load(actor=lead, content=sheet, filename="tnc_spring_2022.csv", spec=spec, files={"plot_coordinates.csv": plots})
    draft = client.get(reverse("issuedreport_draft"), {"year": 2022, "level": "lot"})
    client.post(draft.context["issue_url"], {"page": "letter"})
    work_off()
    report = IssuedReport.objects.get()
    pdf = client.get(reverse("issuedreport_pdf", args=[report.pk])).content
    pages = (page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)
    return " ".join(" ".join(pages).split()), client.get(reverse("issuedreport_detail", args=[report.pk])).content.decode()


@pytest.mark.parametrize("sheets", [own_sheets, published_sheets])
def test_an_issued_report_of_sources_says_what_other_means_say(client, lead, sheets):
    sheet, plots = sheets()
    by_site, by_both = counts_of(sheet, "Site"), counts_of(sheet, "Site", "Source")
    text, page = issued_report(client, lead, sheet, plots)
    for words in (text, re.sub(r"<[^>]*>", " ", page)):
        words = " ".join(words.split())
        for (site,), pair in by_site.items():
            assert re.search(rf"\b{site} under test {re.escape(wilson(*pair))}", words), (site, pair)
        for (site, source), pair in by_both.items():
            assert re.search(rf"\b{site} {source} under test {re.escape(wilson(*pair))}", words), (site, source, pair)
        model_agrees(words, by_both)
        assert "compared with each other alone" in words and "Lineages beside each other" in words
        assert (
            "no lineage here has complete censuses of two ages" in words and "Needed for a curve" in words and "Cannot be told" not in words
        )
        assert "No check was planted on these sites" in words and "From the checks Planted" not in words


def model_agrees(words, counts):
    """The standard deviations that the report prints with two digits, and the order with its shrunken survival."""
    model = ExactModel(counts)
    laplace, exact = model.fitted()
    printed = dict(re.findall(r"(site|lineage|reaction of a lineage to a site) (\d\.\d\d)", words.partition("Standard deviations")[2]))
    names = ("site", "lineage", "reaction of a lineage to a site")
    for name, by_laplace, by_quadrature in zip(names, np.exp(laplace[1:]), np.exp(exact[1:]), strict=True):
        assert float(printed[name]) == pytest.approx(by_laplace, abs=0.0051), name  # two digits
        assert float(printed[name]) == pytest.approx(by_quadrature, abs=0.0101), name  # what the approximation costs
    expected, by_quadrature = model.survival(laplace), model.survival(exact)
    total = {}
    for (_site, source), (alive, n) in counts.items():
        total[source] = [alive + total.get(source, [0, 0])[0], n + total.get(source, [0, 0])[1]]
    for source, (alive, n) in total.items():
        row = rf"\b{source} \d\.\d\d \(\d\.\d\d–\d\.\d\d\) (\d\.\d\d) \(\d\.\d\d–\d\.\d\d\) \d\.\d\d \d\.\d\d \d {alive} of {n}\b"
        [shown] = re.findall(row, words)
        assert float(shown) == pytest.approx(expected[source], abs=0.0051), source
        assert float(shown) == pytest.approx(by_quadrature[source], abs=0.0101), source
