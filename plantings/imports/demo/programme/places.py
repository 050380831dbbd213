"""The twelve sites and the thirteen plantings: where they lie, what is done there, how hard life is on them."""

from dataclasses import dataclass, field

from plantings.imports.demo.programme.description import DESCRIPTION


@dataclass(frozen=True)
class Climate:
    """What kills at a site, for the invented census: shares of trees a year, and growth against the average."""

    establishment: float  # lost in the first season
    background: float  # lost every later season
    canker: float  # share of unprotected native trees infected in an average season
    growth: float = 1.0
    drought: dict = field(default_factory=dict)  # calendar year: extra loss
    deer_until: int = 0  # no fence up to and with this year
    root_rot: float = 0.0  # extra loss a season from the second on
    frost: dict = field(default_factory=dict)


@dataclass(frozen=True)
class Place:
    code: str
    name: str
    partner: str
    state: str
    longitude: float
    latitude: float
    elevation_m: int
    light: str
    soil: str
    protection: str
    access_notes: str
    access_notes_fr: str
    cautions: str
    cautions_fr: str
    climate: Climate
    disease_history: str = ""
    status: str = "active"
    status_reason: str = ""


@dataclass(frozen=True)
class Plan:
    """A planting of tagged trees as it was planned: complete blocks, every entry once in each."""

    site: str
    planted_on: str
    blocks: int
    edge: int
    crew: tuple
    permit: str
    extra_entry: bool = False  # the 2-0 stock of the rogued mother is planted here too

    @property
    def code(self):
        return f"{self.site}-{self.planted_on[:4]}"

    @property
    def year(self):
        return int(self.planted_on[:4])


def _climate(shares):
    by_year = {name: {int(year): share for year, share in shares.get(name, {}).items()} for name in ("drought", "frost")}
    return Climate(**shares | by_year)


PLACES = [Place(**site | {"climate": _climate(site["climate"])}) for site in DESCRIPTION["site"]]
BY_CODE = {place.code: place for place in PLACES}
PLANS = [Plan(**plan) for plan in DESCRIPTION["planting"]]
SOWN_PLANTING = "ST-05-2019"  # direct-seeded, its plots are counted
SOWN_ON = "2019-10-19"
PLANTED = [("ST-05", SOWN_ON), *((plan.site, plan.planted_on) for plan in PLANS)]
# Blocks whose point somebody took; the others are found from the site's point and the map of rows.
BLOCKS_WITH_POINT = {"ST-01-2020", "ST-05-2021", "ST-09-2020", "ST-11-2021"}


def sites():
    names = (
        "code", "name", "partner", "longitude", "latitude", "elevation_m", "light", "soil", "disease_history", "protection",
        "access_notes", "access_notes_fr", "cautions", "cautions_fr", "status", "status_reason",
    )  # fmt: skip
    return [{name: getattr(place, name) for name in names} for place in PLACES]


def plantings():
    rows = [
        {
            "code": plan.code, "site": plan.site, "planted_on": plan.planted_on, "state": "established", "supply": "shipment",
            "stock_type": "bareroot 2-0" if plan.year == 2022 else "bareroot 1-0",
            "design": f"{plan.blocks} complete blocks, single-tree plots, every entry once in a block; black walnut edge",
            "spacing_m": 3, "start_corner": "south-west, red post",
            "start_corner_fr": "sud-ouest, poteau rouge", "walk": "serpentine", "crew": "; ".join(plan.crew),
            "authorizations": "; ".join((agreement(plan.site), plan.permit)),
            "note": "P18-SLK02 is 2-0 stock: one year older than the rest" if plan.extra_entry else "",
        }
        for plan in PLANS
    ]  # fmt: skip
    rows.append(
        {
            "code": SOWN_PLANTING,
            "site": "ST-05",
            "planted_on": SOWN_ON,
            "state": "established",
            "supply": "shipment",
            "stock_type": "direct seed",
            "design": "8 plots of 60 nuts under wire, counted, not tagged",
            "spacing_m": 1,
            "start_corner": "north gate",
            "start_corner_fr": "barrière du nord",
            "walk": "rows",
            "crew": "mina.farrowdale; dale.hobbinson",
            "authorizations": "; ".join((agreement("ST-05"), "EX-NONE-NY")),
            "note": "fall-sown; first growing season 2020",
        }  # fmt: skip
    )
    return rows


def agreement(place):
    return f"EX-AGR-{BY_CODE[place].partner[3:]}"


def blocks():
    """Points of the blocks, six metres (two rows) apart going north from the start corner."""
    rows = []
    for plan in PLANS:
        if plan.code not in BLOCKS_WITH_POINT:
            continue
        place = BY_CODE[plan.site]
        for block in range(1, plan.blocks + 1):
            north = round(place.latitude + (block - plan.blocks / 2) * 6 / 111_320, 6)
            rows.append({"planting": plan.code, "code": str(block), "longitude": place.longitude, "latitude": north})
    return rows
