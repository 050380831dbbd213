"""Twenty phones that come into the signal together, each with the 200 records of its day, over HTTP to the server of the README.

Run by name: `.venv/bin/python tests/benchmarks/phones.py`, and with `--postgresql` on a PostgreSQL of its own. Ten phones are signed in, ten
have one link to the round; all record trees of one planting of 4,000 trees, whose earlier round is recorded. A phone asks who is signed in, sends one
batch, and sends again after an answer that is none, as the page does. The floor is one phone alone that sends the same 20 batches one after
the other into a second planting of the same size. At the end every phone sends its batch again, as after a lost answer. Target: no error, nobody
told to try again later, none lost, none doubled, tallies as by a recount. Reported: p95 of a batch beside that of one phone alone, and what a
batch takes of a processor in the server and in PostgreSQL, which others at work on the machine change little.

Seen on two cores beside five others at work (load average 8 to 11), 30 Nov 2026, 4,000 records stored once each, no error, nobody put off:

              alone: median, p95   twenty at once: all, median, p95    p95 beside one alone
  SQLite      0.41 s, 0.67 s       5.8 s, 3.4 s, 5.4 s                  8 times
  PostgreSQL  0.26 s, 0.38 s       9.0 s, 5.6 s, 8.6 s                 23 times

With the requests of a link counted in a transaction of their own, the crowd met a locked database once and two phones were put off (SQLite,
load average 16).
"""

import argparse
import contextlib
import json
import os
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from http.cookiejar import CookieJar
from pathlib import Path
from urllib.parse import urlencode
from uuid import uuid4

from temporary_book import open_book, report

PHONES, RECORDS, TRIES_MOST, RETRY_S = 20, 200, 6, 20


class Phone:
    """A phone with a page of its own: signed in, or with a link."""

    def __init__(self, base, address, *, username="", token=""):
        self.base, self.address, self.token = base, address, token
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(jar := CookieJar()))
        self.later, self.errors = 0, []
        if username:
            from tests import factories

            self.opener.open(f"{base}/sign-in/", timeout=60).close()
            cookie = next(one.value for one in jar if one.name == "csrftoken")
            form = {"username": username, "password": factories.PASSWORD, "csrfmiddlewaretoken": cookie}
            request = urllib.request.Request(f"{base}/sign-in/", urlencode(form).encode(), {"Referer": base})
            self.opener.open(request, timeout=60).close()
        self.loaded = self.ask(f"{address}?part=")["now"]

    def ask(self, address, content=None):
        """The JSON answer of the server; raises OSError for any other."""
        headers = {"Content-Type": "application/json"} | ({"X-Round-Link": self.token} if self.token else {})
        if content is not None and not self.token:
            headers["X-CSRFToken"] = self.ask("/phone/ping/")["csrf"]
        request = urllib.request.Request(self.base + address, content, headers)
        with self.opener.open(request, timeout=120) as answer:
            return json.loads(answer.read())

    def send(self, records):
        """{result: how often} of one batch; {} when it could not be sent."""
        for _try in range(TRIES_MOST):
            content = {"version": 1, "clock": int(time.time() * 1000), "records": records}
            try:
                answers = self.ask(self.address, json.dumps(content).encode())["answers"]
            except urllib.error.HTTPError as error:
                if error.code not in (429, 503):
                    self.errors.append(f"{error.code}: {error.read()[:200]}")
                    return {}
                self.later += 1
                time.sleep(RETRY_S)
            except OSError as error:
                self.errors.append(repr(error))
                time.sleep(RETRY_S)
            else:
                results = [answer["result"] for answer in answers]
                return {result: results.count(result) for result in set(results)}
        return {}


def book():
    """[(round, trees)] of two plantings whose earlier round is recorded, and a link to the second; the usernames of a crew."""
    from django.utils import timezone

    from plantings.services.census.round_links import round_link_make
    from tests import factories

    lead = factories.person("lead")
    crew = [factories.person("volunteer") for _ in range(PHONES // 2)]
    today, work = timezone.localdate(), []
    for _ in range(2):
        planting = factories.planting(crew=crew)
        for row in range(1, PHONES + 1):
            factories.trees(planting, count=RECORDS, actor=lead, row=row)
        trees = list(planting.trees.in_walk_order())
        factories.observe(factories.census_round(planting), dict.fromkeys(trees, "A"), actor=lead, height_cm=120)
        work.append((factories.census_round(planting, 2, label="now", opens_on=today, closes_on=today), trees))
    _link, token = round_link_make(actor=lead, census_round=work[1][0], for_whom="the crew")
    return work, [person.username for person in crew], token


def day(trees, name, loaded):
    """What a phone recorded in one day: one tree in ten dead, one in ten not found, the others measured."""
    now = int(time.time() * 1000)
    found = {3: {"status": "D", "cause": "deer"}, 7: {"status": "NF"}}
    alive = {"status": "A", "values": {"height_cm": 141.5, "diameter_mm": 18, "canker_class": 1}}
    head = {"observer": name, "at": now - 3_600_000, "said": "", "loaded": loaded - 7_200_000, "note": ""}
    return [head | {"uuid": str(uuid4()), "tree": tree.pk} | found.get(place % 10, alive) for place, tree in enumerate(trees)]


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextlib.contextmanager
def served():
    """The server as the README starts it; yields its address and its process."""
    port = free_port()
    base = f"http://127.0.0.1:{port}"
    words = ["-m", "gunicorn", "--config", "registry/server.py", "--bind", f"127.0.0.1:{port}", "registry.wsgi"]
    server = subprocess.Popen([sys.executable, *words])
    try:
        for _ in range(300):
            try:
                urllib.request.urlopen(f"{base}/sign-in/", timeout=5).close()
                break
            except OSError:
                time.sleep(0.2)
        yield base, server.pid
    finally:
        server.terminate()
        server.wait()


def p95(seconds):
    return sorted(seconds)[max(round(len(seconds) * 0.95) - 1, 0)]


def processor_seconds(roots):
    """What some processes have used of a processor, with the children they have and had."""
    parents, used = {}, {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):  # it has just ended
            fields = path.read_text().rpartition(")")[2].split()
            pid = int(path.parent.name)
            parents[pid], used[pid] = int(fields[1]), sum(map(int, fields[11:15])) / os.sysconf("SC_CLK_TCK")
    found = set(roots)
    while more := {pid for pid, parent in parents.items() if parent in found} - found:
        found |= more
    return sum(used.get(pid, 0) for pid in found)


def postgresql_process():
    """The process that all connections of PostgreSQL are children of."""
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        [pid] = cursor.fetchone()
    return int(Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[1])


def told(name, seconds, total, worked):
    report(
        name, batches=len(seconds), seconds=f"{total:.1f}", median_s=f"{sorted(seconds)[len(seconds) // 2]:.2f}",
        p95_s=f"{p95(seconds):.2f}", slowest_s=f"{max(seconds):.2f}", processor_ms_a_batch=f"{1_000 * worked / len(seconds):.0f}",
    )  # fmt: skip


def timed(phone, records, into, answers):
    start = time.perf_counter()
    answers.append(phone.send(records))
    into.append(time.perf_counter() - start)


def run(base, processes, work, crew, token):
    """Whether all arrived, once and at once."""
    from django.urls import reverse

    (alone_round, alone_trees), (crowd_round, crowd_trees) = work
    alone_address, crowd_address = (reverse("census_phone_data", args=[one.pk]) for one in (alone_round, crowd_round))
    alone = Phone(base, alone_address, username=crew[0])
    floor, answers = [], []
    start, before = time.perf_counter(), processor_seconds(processes)
    for number in range(PHONES):
        timed(alone, day(alone_trees[number * RECORDS : (number + 1) * RECORDS], "One", alone.loaded), floor, answers)
    told("one phone alone", floor, time.perf_counter() - start, processor_seconds(processes) - before)

    phones = [Phone(base, crowd_address, username=name) for name in crew]
    phones += [Phone(base, reverse("phone_by_link"), token=token) for _ in range(PHONES - len(crew))]
    days = [
        day(crowd_trees[number * RECORDS : (number + 1) * RECORDS], f"Phone {number}", phone.loaded) for number, phone in enumerate(phones)
    ]
    for name, wanted in (("stored", "twenty phones at once"), ("known", "the same batches again")):
        seconds, results = [], []
        threads = [
            threading.Thread(target=timed, args=(phone, records, seconds, results)) for phone, records in zip(phones, days, strict=True)
        ]
        start, before = time.perf_counter(), processor_seconds(processes)
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        told(wanted, seconds, time.perf_counter() - start, processor_seconds(processes) - before)
        answers += [{"stored": RECORDS} if result == {name: RECORDS} else result for result in results]
        report("p95 beside one phone alone", times=f"{p95(seconds) / p95(floor):.1f}")
    return checked(phones + [alone], answers, crowd_round)


def checked(phones, answers, crowd_round):
    from plantings.models import Observation
    from plantings.selectors.census.recount import recount_differences

    errors = [error for phone in phones for error in phone.errors]
    later, odd = sum(phone.later for phone in phones), [answer for answer in answers if answer != {"stored": RECORDS}]
    stored = Observation.objects.filter(round=crowd_round)
    trees, differences = stored.values("tree").distinct().count(), len(recount_differences()[1])
    report(
        "checked", sent=PHONES * RECORDS, stored=stored.count(), trees=trees, told_to_try_later=later, errors=len(errors),
        other_answers=len(odd), recount_differences=differences,
    )  # fmt: skip
    for line in (*errors[:5], *odd[:5]):
        print(line)
    return stored.count() == trees == PHONES * RECORDS and not (later or errors or odd or differences)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--postgresql", action="store_true")
    options = parser.parse_args()
    sys.path.insert(0, os.getcwd())
    from tests.prove import postgresql

    with postgresql() if options.postgresql else contextlib.nullcontext("") as url:
        open_book(database_url=url)
        from django.db import connection

        work, crew, token = book()
        report(connection.vendor, load_average=f"{os.getloadavg()[0]:.1f}", processors=os.cpu_count())
        with served() as (base, server):
            processes = {server} | ({postgresql_process()} if options.postgresql else set())
            is_right = run(base, processes, work, crew, token)
        connection.close()
    if not is_right:
        sys.exit(1)


if __name__ == "__main__":
    main()
