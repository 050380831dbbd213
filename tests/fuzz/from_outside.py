"""What comes in without the boxes of a page: batches of phones, files as they are sent, private links, programs, backups, the command line."""

import contextlib
import io
import json
import re
import shutil
import tempfile
import time
from pathlib import Path

from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from plantings.exports.book import book_export
from plantings.imports.kinds import KINDS
from plantings.models import CensusRound, Tree
from plantings.services.census.round_links import round_link_make
from plantings.views.api.description import API_VIEWS
from plantings.views.phone.data import VERSION
from registry.models import SelectionDecision, Shipment
from registry.selectors.audit.book_tables import book_tables
from registry.services.audit.backup import backup_write
from registry.services.audit.backup_key import KeyFault, public_key, secret_keys
from registry.services.audit.book_folder import BookFolder, BookRefused
from registry.services.audit.restore import RestoreRefused, backup_restore
from registry.services.duties.feeds import feed_make
from registry.services.land.links import link_make
from registry.services.orchard.second import decision_link_make
from registry.services.people.tokens import token_issue
from registry.views.shared.json_api import RATE
from tests.fuzz import inputs
from tests.fuzz.unexpected import Unexpected, in_words
from tests.project.access_table import PUBLIC, address, routes
from tests.typed_text import Form, html_of

UNREADABLE = {400, 401, 403, 404, 405, 406, 410, 413, 415, 429}


class FromOutside:
    """Targets that nobody reaches by filling in a form. `Targets` has the world they are in."""

    def open_doors(self, people, records, special):
        """A link, a token and a feed of each kind, whose secrets the inputs then use or damage."""
        self.stranger = Client(raise_request_exception=True)
        self.census = CensusRound.objects.get(pk=records["round"])
        self.trees = list(Tree.objects.filter(planting=self.census.planting).values_list("pk", flat=True))
        _link, self.round_token = round_link_make(
            actor=self.lead, census_round=self.census, for_whom="fuzz", ends_on=timezone.localdate() + timezone.timedelta(days=1)
        )
        _token, self.secret = token_issue(
            actor=self.lead, person=people["auditor"], purpose="fuzz", ends_on=timezone.localdate() + timezone.timedelta(days=1)
        )
        _link, token = link_make(actor=self.lead, person=people["landowner"])
        special = special | {"land_receipt": records["receipt"], "land_agreement": records["agreementtext"]}
        records |= {"token": token, "uidb64": "MQ"}
        self.private = [
            address(name, pattern, records, special)
            for name, pattern, _view in routes()
            if name in PUBLIC - {"calendar_feed", "decision_by_link", "phone_by_link"}
        ]
        _link, agreed = decision_link_make(actor=self.lead, decision=SelectionDecision.objects.get(pk=records["decision"]))
        self.private += [reverse("calendar_feed", args=[feed_make(actor=self.lead)]), reverse("decision_by_link", args=[agreed])]
        self.exported = None
        with tempfile.TemporaryDirectory() as folder:
            backup_write(path=Path(folder) / "a.zip")
            self.backup = (Path(folder) / "a.zip").read_bytes()
        RATE.most = 10**9  # inputs come faster than a program may ask

    def link_page(self, random, tried):
        """A page that needs no account: asked for, or sent a form, with its secret as it is or damaged."""
        path = random.choice(self.private)
        if random.random() < 0.3:
            at = random.randrange(len(path))
            path = path[:at] + re.sub(r"[\s/?#\\]|\0", "x", inputs.text(random)[:200]) + path[at:]
        query = {name: inputs.sent(random, 4000) for name in random.sample((*self.names, "token", "next", "email", "username"), 2)}
        tried += [path, query]
        if random.random() < 0.5:
            self._answered(self.stranger.get(path, query))
            return
        boxes = Form(html_of(self.stranger.get(path))).filled("5") | query
        self._answered(self.stranger.post(path, boxes))

    def program(self, random, tried):
        """A program that asks for figures, with a token that is right, damaged or none."""
        name, path = random.choice(sorted(self.api.items()))
        fields = sorted(getattr(API_VIEWS[name].form_class, "base_fields", {}))
        query = {name: inputs.sent(random, 4000) for name in random.sample(fields, min(len(fields), random.randrange(4)))}
        bearer = random.choice((f"Bearer {self.secret}", f"Bearer {inputs.text(random)[:500]}", inputs.text(random)[:500]))
        bearer = re.sub(r"[\r\n]", " ", bearer)
        tried += [path, query, bearer]
        self._answered(self.stranger.get(path, query, headers={"Authorization": bearer, "Accept": inputs.text(random)[:80]}))

    def batch(self, random, tried):
        """What a phone sends, some of it right: with an account or by a link."""
        now = int(time.time() * 1000)
        good = {
            "uuid": f"{random.getrandbits(32):08x}-0000-4000-8000-{random.getrandbits(48):012x}", "tree": random.choice(self.trees),
            "status": random.choice("ADNM"), "cause": "", "values": {"height_cm": 120}, "note": "seen", "observer": "R. Counter",
            "at": now, "said": timezone.localdate().isoformat(), "loaded": now - 3_600_000,
        }  # fmt: skip
        document = {"version": VERSION, "clock": now, "records": [good, dict(good, uuid=good["uuid"].replace("-0000-", "-0001-"))]}
        for _ in range(random.randrange(4)):
            inputs.change_somewhere(random, document)
        content = json.dumps(document).encode(errors="replace")
        content = inputs.damaged(random, content) if random.random() < 0.2 else content
        tried.append(content)
        if random.random() < 0.5:
            path = reverse("census_phone_data", args=[self.census.pk])
            response = self.client.post(path, content, content_type="application/json")
        else:
            before = re.sub(r"[\r\n]", " ", inputs.text(random)[:300])
            headers = {"X-Round-Link": self.round_token, "X-Round-Links-Before": before}
            response = self.stranger.post(reverse("phone_by_link"), content, content_type="application/json", headers=headers)
        said = json.loads(response.content)
        if response.status_code == 200:
            answers = said["answers"]
            if any(item["result"] == "refused" and not item["reason"] for item in answers):
                raise Unexpected("a refusal without words")
        elif response.status_code not in UNREADABLE or not said["error"]:
            raise Unexpected(f"answered with {response.status_code}: {said!r:.200}")

    def sent_file(self, random, tried):
        """A file sent in as people send it, its columns mapped by the boxes of the page, and its preview."""
        kind = random.choice(sorted(KINDS))
        content, name = inputs.sheet(random, *self.near(random, kind), self.known)
        if random.random() < 0.3:
            content, name = inputs.outline(random, self.map_files)
        name = random.choice((name, re.sub(r"[\0/\\]", "", inputs.text(random))[:200].strip(".") or "x"))
        tried += [kind, name, content]
        path = reverse("combined_send") if random.random() < 0.2 else reverse("sheet_send", args=[kind])
        sent = self.client.post(path, {"file": SimpleUploadedFile(name, content)})
        self._answered(sent)
        if sent.status_code != 302:
            return
        page = sent.url
        self._answered(self.client.get(page))
        columns = page if page.endswith(("columns/", "kinds/")) else f"{page}columns/"
        answer = self.client.get(columns)
        self._answered(answer)
        boxes = Form(html_of(answer)).filled("")
        for box in random.sample(sorted(boxes), min(len(boxes), random.randrange(1, 5))):
            boxes[box] = inputs.sent(random)
        tried.append(boxes)
        self._answered(self.client.post(columns, boxes))
        self._answered(self.client.get(page))

    def restored(self, random, tried):
        """A backup that somebody changed or that was damaged, as `restore` reads it; nothing of it gets into a place that has records."""
        content = inputs.backup(random, self.backup)
        key = inputs.text(random)
        tried += [content[-3000:], key]
        for read in (public_key, secret_keys):
            with in_words(KeyFault):
                read(key)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "b.zip"
            path.write_bytes(content)
            with in_words(RestoreRefused, KeyFault):
                backup_restore(path=path)
                raise Unexpected("a backup went into a place that has records")

    def command(self, random, tried):
        """The words of a command, and the mapping file of `load`."""
        given = inputs.text(random).replace("\0", "")[:3000]
        shipment = Shipment.objects.values_list("code", flat=True).first()
        with tempfile.TemporaryDirectory() as folder:
            sheet, mapping = Path(folder) / "sheet.csv", Path(folder) / "mapping.json"
            sheet.write_bytes(b"Code,Name\nA,B\n")
            kind = random.choice(sorted(KINDS))
            spec = json.dumps(inputs.mapping(random, list(KINDS[kind].sheet_fields()), ["Code", "Name"])).encode()
            mapping.write_bytes(inputs.damaged(random, spec) if random.random() < 0.5 else spec)
            words = random.choice(
                (
                    ("load", kind, str(sheet), f"--columns={mapping}", f"--set={given}", "--dry-run"),
                    ("load", kind, str(sheet), f"--as={given}"),
                    ("load", kind, given or "x", "--dry-run"),
                    ("trace", f"--={given}") if given.startswith("-") else ("trace", given),
                    ("gate", shipment, f"--on={given}"),
                    ("survival", f"--site={given}"),
                    ("survival", f"--at={given}"),
                    ("verify", f"--head={given}"),
                )
            )
            tried += [words, mapping.read_bytes()]
            with contextlib.suppress(SystemExit):  # how a command says by its exit code that something is wrong
                call_command(*words, stdout=io.StringIO(), stderr=io.StringIO())

    def folder(self, random, tried):
        """A folder of export_book that somebody changed, read as import_book reads it."""
        if self.exported is None:
            self.exported = tempfile.TemporaryDirectory()
            book_export(Path(self.exported.name) / "book")
        with tempfile.TemporaryDirectory() as copied:
            root = Path(copied) / "book"
            shutil.copytree(Path(self.exported.name) / "book", root)
            tried += inputs.book_folder(random, root)
            with in_words(BookRefused):
                found = BookFolder(root)
                for table in book_tables():
                    for _row in found.rows(table):
                        pass
                list(found.documents())

    def pedigree(self, random, tried):
        content, filename = inputs.sheet(random, ["id", "mother", "father", "year"], ["t1", "t2", "t3", "2019"], ["t1", "t2"])
        tried.append(content)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / filename
            path.write_bytes(content)
            try:
                call_command("pedigree", str(path), stdout=io.StringIO(), stderr=io.StringIO())
            except SystemExit as ended:  # how the command ends when rows are wrong
                if ended.code != 1:
                    raise Unexpected(f"exit code {ended.code}") from ended
