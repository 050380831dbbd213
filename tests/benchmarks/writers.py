"""Twenty people sending census records at once, over HTTP, to a real server on SQLite.

Run by name: `.venv/bin/python tests/benchmarks/writers.py`. Target: no error, no record lost or doubled. The floor is one
person sending the same number of forms one after the other, in the same run.
"""

import http.cookiejar
import re
import socket
import subprocess
import sys
import threading
import time
import urllib.parse
import urllib.request

from temporary_book import open_book, report

CLIENTS, FORMS_EACH = 20, 10


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Phone:
    """One signed-in person with cookies of their own."""

    def __init__(self, base, username, password):
        self.base = base
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar()))
        self.send("/sign-in/", username=username, password=password)

    def get(self, path):
        with self.opener.open(self.base + path, timeout=60) as answer:
            return answer.read().decode()

    def send(self, path, **fields):
        form = self.get(path)
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', form).group(1)
        identity = re.search(r'name="uuid" value="([^"]+)"', form)
        if identity:
            fields["uuid"] = identity.group(1)
        data = urllib.parse.urlencode(fields | {"csrfmiddlewaretoken": token}).encode()
        request = urllib.request.Request(self.base + path, data, {"Referer": self.base + path})
        with self.opener.open(request, timeout=60) as answer:
            return answer.status


def book():
    from tests import factories

    actor = factories.person("lead")
    people = [factories.person("volunteer", username=f"phone{number}") for number in range(CLIENTS + 1)]
    plantings = [factories.planting(crew=people) for _ in range(2)]
    work = []
    for planting in plantings:
        trees = factories.trees(planting, count=CLIENTS * FORMS_EACH, actor=actor)
        work.append((factories.census_round(planting), trees))
    return work


def send_all(base, username, census_round, trees, taken, errors):
    from tests import factories

    try:
        phone = Phone(base, username, factories.PASSWORD)
    except OSError as error:
        errors.append(str(error))
        return
    for tree in trees:
        start = time.perf_counter()
        try:
            phone.send(
                f"/rounds/{census_round.pk}/census/{tree.pk}/", status="A", observed_on=census_round.opens_on.isoformat(),
                height_cm="31.5", observer="A. Phone",
            )  # fmt: skip
            taken.append(time.perf_counter() - start)
        except OSError as error:
            errors.append(f"{username}, tree {tree.tag}: {error}")


def main():
    open_book()
    work = book()
    port = free_port()
    base = f"http://127.0.0.1:{port}"
    server = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "registry.wsgi", "-b", f"127.0.0.1:{port}", "-w", "2", "--threads", "4", "--log-level", "error"],
    )
    try:
        for _ in range(100):
            try:
                urllib.request.urlopen(base + "/sign-in/", timeout=5).close()
                break
            except OSError:
                time.sleep(0.2)
        run(base, work)
    finally:
        server.terminate()
        server.wait()


def run(base, work):
    from plantings.models import Observation
    from plantings.selectors.census.recount import recount_differences

    (alone_round, alone_trees), (crowd_round, crowd_trees) = work
    floor, errors = [], []
    start = time.perf_counter()
    send_all(base, f"phone{CLIENTS}", alone_round, alone_trees, floor, errors)
    alone = time.perf_counter() - start
    taken = []
    shares = [crowd_trees[number::CLIENTS] for number in range(CLIENTS)]
    threads = [
        threading.Thread(target=send_all, args=(base, f"phone{number}", crowd_round, share, taken, errors))
        for number, share in enumerate(shares)
    ]
    start = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    crowd = time.perf_counter() - start
    stored = Observation.objects.filter(round=crowd_round).count()
    sent = CLIENTS * FORMS_EACH
    report("one person", forms=sent, seconds=f"{alone:.1f}", median_ms=f"{sorted(floor)[len(floor) // 2] * 1000:.0f}")
    report(
        f"{CLIENTS} people at once", forms=sent, seconds=f"{crowd:.1f}", times_one_person=f"{crowd / alone:.2f}",
        median_ms=f"{sorted(taken)[len(taken) // 2] * 1000:.0f}", slowest_ms=f"{max(taken) * 1000:.0f}", errors=len(errors), stored=stored,
    )  # fmt: skip
    for error in errors[:5]:
        print(error)
    report("recount", differences=len(recount_differences()[1]))
    if errors or stored != sent:
        sys.exit(1)


if __name__ == "__main__":
    main()
