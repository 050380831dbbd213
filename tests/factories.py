"""One plain function per record: valid by default, keyword overrides, no randomness.

Counters only keep codes apart; no test may depend on their values.
"""

import datetime
import io
import itertools
import uuid
from decimal import Decimal

from django.db.models import QuerySet

from plantings.models import CensusRound, Photo, Planting, Site
from plantings.selectors.reports.reports import newest_records, next_number, rests_sha256
from plantings.services.census.observations import CensusRow, observations_record
from plantings.services.census.photos import photo_receive
from plantings.services.census.protocols import measurement_add, protocol_add
from plantings.services.reports.issue import report_issue
from plantings.services.trees import TreeAsPlanted, trees_plant
from registry.models import Authorization, Duty, Incident, Lot, Partner, PedigreeTree, RatingScale, Shipment, SpeciesHandbook, Taxon
from registry.prints.document import Document, Notes
from registry.prints.stored import canonical_json, document_value
from registry.selectors.orchard.floors import floor_warnings
from registry.services.duties.duties import duty_save
from registry.services.duties.incidents import incident_save
from registry.services.lots.ledger import ledger_enter
from registry.services.movements.shipments import receipt_enter, shipment_dispatch, shipment_line_set
from registry.services.orchard.decisions import decision_enter
from registry.services.orchard.ratings import RatingDay, Reading, ratings_enter
from registry.services.people.people import account_make
from registry.services.permits.authorizations import authorization_save

_numbers = itertools.count(
    50_001
)  # of one length, so that no code is the beginning of another and they sort as they were made; no tag has one
PASSWORD = "ladder ferry walnut bench"


def put_in(*rows):
    """Append-only rows stored past every service, as somebody in the database could. The audit trail has no hash of them."""
    return QuerySet(type(rows[0])).bulk_create(rows)


def number():
    return next(_numbers)


def day(year, month=10, date=1):
    return datetime.date(year, month, date)


def person(role="lead", **fields):
    if role == "landowner":
        fields.setdefault("partner", partner())
    username = fields.pop("username", f"{role}{number()}")
    return account_make(username=username, password=PASSWORD, email=f"{username}@example.org", role=role, **fields)


def taxon(**fields):
    fields = {"name": f"Juglans test{number()}", "role": "native"} | fields
    return Taxon.objects.create(**fields)


def pedigree_tree(**fields):
    fields = {"code": f"T{number()}", "generation_other": "native"} | fields
    fields.setdefault("taxon", taxon())
    if fields.get("backcrosses") is not None:
        fields["generation_other"] = ""
    return PedigreeTree.objects.create(**fields)


def seed_lot(*, actor=None, seeds=0, on=None, **fields):
    """A harvested seed lot, of the year it was picked; with `seeds`, that many are in its ledger."""
    year = fields.get("year") or (on.year if on else 2018)
    on = on or day(year)
    mother = fields.pop("mother", None) or pedigree_tree()
    fields = {"code": f"S{number()}", "kind": "seed", "origin": "harvest", "year": year, "mother": mother, "taxon": mother.taxon} | fields
    lot = Lot.objects.create(**fields)
    if seeds:
        ledger_enter(actor=actor or person(), lot=lot, kind="harvested", quantity=seeds, on=on)
    return lot


def stock_lot(*, actor=None, plants=0, on=day(2019, 3), **fields):
    """A stock lot of declared outside origin; with `plants`, that many are in its ledger."""
    fields = {"code": f"P{number()}", "kind": "stock", "origin": "outside", "outside_origin": "made for a test", "year": 2019} | fields
    if fields["origin"] == "bulk" and "taxon" not in fields:
        # the genus, since every mother of a test is a taxon of her own
        fields["taxon"] = Taxon.objects.get_or_create(name="Juglans", defaults={"role": "other"})[0]
    fields.setdefault("taxon", taxon())
    lot = Lot.objects.create(**fields)
    if plants:
        kind = "raised" if lot.origin == "sown" else "acquired"
        ledger_enter(actor=actor or person(), lot=lot, kind=kind, quantity=plants, on=on)
    return lot


# the bath of a handbook row: common practice, no source
BATH = {"bath_c_low": 47, "bath_c_high": 50, "bath_minutes": 20, "bath_against": "weevils", "bath_source": "common practice, no source"}


def handbook_row(**fields):
    fields = {"binomial": f"Juglans test{number()}", "source": "made for a test"} | fields
    return SpeciesHandbook.objects.create(**fields)


def partner(**fields):
    code = f"PA{number()}"
    return Partner.objects.create(**{"code": code, "name": f"Partner {code}", "kind": "landowner"} | fields)


def authorization(*, actor=None, limits=None, **fields):
    fields = {
        "code": f"AU{number()}",
        "type": "permit",
        "title": "Example permit",
        "issuer": "Example office",
        "covers": "example",
    } | fields
    return authorization_save(actor=actor or person(), paper=Authorization(**fields), limits=limits)


def shipment(*, actor=None, receiver=None, lots=(), dispatched_on=None, received_on=None, **fields):
    """A shipment of (lot, form, quantity) triples; dispatched and fully received when dates are given."""
    actor = actor or person()
    record = Shipment.objects.create(**{"code": f"SH{number()}", "receiver": receiver or partner()} | fields)
    lines = [shipment_line_set(actor=actor, shipment=record, lot=lot, form=form, quantity=count) for lot, form, count in lots]
    if dispatched_on:
        # only for a day of the last weeks: what left long ago is recorded without the gate
        reason = "dispatched for a test; the gate has tests of its own"
        record = shipment_dispatch(actor=actor, shipment=record, on=dispatched_on, recorded=True, override_reason=reason)
    if received_on:
        receipt_enter(
            actor=actor, shipment=record, received_on=received_on, received_by="A. Receiver", box_condition="good",
            counts={line: (line.quantity, 0, 0) for line in lines},
        )  # fmt: skip
    return record


def site(**fields):
    fields = {"code": f"SI{number()}", "name": "Test site", "longitude": -73.2, "latitude": 44.5} | fields
    fields.setdefault("partner", partner())
    return Site.objects.create(**fields)


def planting(**fields):
    fields = {"code": f"PL{number()}", "planted_on": day(2019, 4, 20), "state": "established", "supply": "before_records"} | fields
    fields.setdefault("site", site())
    crew = fields.pop("crew", ())
    record = Planting.objects.create(**fields)
    record.crew.set(crew)
    return record


def trees(planting, lot=None, count=10, *, actor=None, role="test", block="1", row=1, tag="T"):
    """`count` trees of one lot in one row; tags T001 …, one lot a row."""
    lot = lot or stock_lot()
    rows = [TreeAsPlanted(f"{tag}{row:02d}{place:03d}", lot, role, block, row, place) for place in range(1, count + 1)]
    return trees_plant(actor=actor or person(), planting=planting, trees=rows)


def census_round(planting, season=1, **fields):
    year = planting.planted_on.year + season - 1
    fields = {
        "label": f"{year} autumn", "growing_seasons": season, "opens_on": day(year, 9, 1), "closes_on": day(year, 10, 15),
    } | fields  # fmt: skip
    return CensusRound.objects.create(planting=planting, **fields)


def own_measurement(*, actor=None, **fields):
    """A measurement of the programme's own, in classes unless `fields` say otherwise."""
    fields = {"code": f"leaf_spot{number()}", "name": "Leaf spot", "taken": "All leaves in reach."} | fields
    if "high" not in fields:
        fields = {"classes": "0 = none; 1 = some leaves; 2 = most leaves"} | fields
    return measurement_add(actor=actor or person("lead"), **fields)


def protocol(asks, *, actor=None, **fields):
    """A protocol that asks for these names of measurements."""
    return protocol_add(actor=actor or person("lead"), asks=asks, **{"code": f"standard{number()}"} | fields)


def observe(census_round, statuses, *, actor=None, **fields):
    """Record {tree: status} at a round, through the service. Removed trees get a biological reason unless one is given.

    A field is one value for all trees, or {tree: value}; `own_values` are the same for all.
    """
    own = {"own_values": fields.pop("own_values")} if "own_values" in fields else {}
    rows = []
    for tree, status in statuses.items():
        rest = {name: value.get(tree) if isinstance(value, dict) else value for name, value in fields.items()}
        rest = {"observed_on": census_round.opens_on} | rest
        cause = rest.pop("cause", "sanitation" if status == "RM" else "")
        rows.append(
            CensusRow(
                round_id=census_round.pk,
                tree_id=tree.pk,
                status=status,
                cause=cause,
                uuid=uuid.uuid4(),
                **rest,
                **own,
            )  # fmt: skip
        )
    return observations_record(actor=actor or person(), rows=rows)


def jpeg(shade=40):
    """A small picture with a comment in it."""
    from PIL import Image

    made = io.BytesIO()
    Image.new("RGB", (60, 80), (shade, 90, 40)).save(made, "JPEG", comment=b"At the gate")
    return made.getvalue()


def photo(observation, shade=40):
    """A photo of a record, as the phone of whoever entered it sends it."""
    about = {"uuid": str(uuid.uuid4()), "record": str(observation.uuid), "at": "0", "clock": "0"}
    answer = photo_receive(actor=observation.entered_by, census_round=observation.round, about=about, content=jpeg(shade))
    assert answer.result == "stored", answer
    return Photo.objects.get(uuid=about["uuid"])


def rating_scale(**fields):
    """A scale from 1 (resistant) to 5 (susceptible) in quarter points."""
    fields = {
        "name": "Canker", "version": f"{number()}", "disease": "canker", "lowest": 1, "highest": 5, "step": "0.25",
        "low_means": "small cankers, closed", "high_means": "very susceptible",
    } | fields  # fmt: skip
    record = RatingScale.objects.create(**fields)
    record.refresh_from_db()  # numbers as the database keeps them
    return record


def rating(tree, scale, score, *, actor=None, on=day(2019, 5, 20), **fields):
    """One rating, through the service."""
    fields = {"method": "large_stem", "rater": "R. Rater"} | fields
    sheet = RatingDay(scale, on, fields["method"], fields["rater"], fields.get("strain", ""))
    score = None if score is None else Decimal(str(score))
    reading = Reading(tree, score, fields.get("canker_length_mm"), fields.get("canker_width_mm"), fields.get("note", ""))
    return ratings_enter(actor=actor or person(), day=sheet, readings=[reading])[0]


def decision(tree, decision="kept", *, actor=None, on=day(2019, 6), **fields):
    """A selection decision, through the service; the floors a roguing breaks are seen and answered."""
    fields = {"evidence": "looked at", "first_name": "A. First", "second_name": "B. Second"} | fields
    if decision == "rogued":
        fields = {"warnings_seen": floor_warnings(tree), "warnings_answer": "agreed at the meeting"} | fields
    return decision_enter(actor=actor or person(), tree=tree, decision=decision, decided_on=on, **fields)


def duty(*, actor=None, **fields):
    """A duty that falls due once, through the service; which gives its code unless one is given."""
    fields = {"code": "", "kind": "report", "title": "Example report", "first_due_on": day(2026, 12, 31)} | fields
    return duty_save(actor=actor or person(), duty=Duty(**fields))


def incident(*, actor=None, papers=(), lots=(), **fields):
    """An incident, through the service; which gives its code unless one is given."""
    fields = {
        "code": "", "title": "Seedlings outside the plot", "what": "Three seedlings", "found_by": "F. Finder",
        "found_at": datetime.datetime(2026, 10, 9, 21, 0, tzinfo=datetime.UTC),
    } | fields  # fmt: skip
    return incident_save(actor=actor or person(), incident=Incident(**fields), papers=list(papers), lots=list(lots))


def issued_report(*, actor=None, year=2026, **fields):
    """A survival report of one sentence, through the service."""
    printed = Document(title="Survival report", made_on=day(year), parts=(Notes("In short", ("Nothing is planted.",)),))
    frozen = {"document": document_value(printed), "figures": {}, "rests": [], "newest": newest_records()}
    fields = {
        "number": next_number(year), "level": "lot", "moment": "latest", "content": canonical_json(frozen),
        "rests_sha256": rests_sha256([]), "head": (0, ""), "pdf": f"%PDF-1.7 {number()}".encode(),
    } | fields  # fmt: skip
    return report_issue(actor=actor or person(), year=year, **fields)
