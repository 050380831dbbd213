"""One tap of the phone census, from the tap until the next tree is painted, on a browser slowed four times, in a planting of 1,000 trees.

Run by name: `.venv/bin/python tests/benchmarks/phone_tap.py`. Target: 95 of 100 taps within 100 ms. The floor is a bare transaction of one
row that is on the disk when it ends, in the same browser and the same run. `processor_ms` is the processor time of the page at one tap,
taken without slowing it and multiplied: it says the same beside other work.
"""

import subprocess
import sys
import time
import urllib.request

from temporary_book import open_book, report
from writers import free_port

TREES, TAPS, SLOWED = 1_000, 120, 4
_TAPS = """async count => {
  const screen = document.getElementById('screen'), taken = [];
  for (let number = 0; number < count; number += 1) {
    const shown = new Promise(done => {
      const watch = new MutationObserver(() => { watch.disconnect(); requestAnimationFrame(() => { const { port1, port2 } = new MessageChannel(); port1.onmessage = done; port2.postMessage(0); }); });
      watch.observe(screen, { childList: true });
    });
    const start = performance.now();
    document.querySelector('#band button').click();
    await shown;
    taken.push(performance.now() - start);
    await new Promise(done => setTimeout(done, 150));
  }
  return taken;
}"""
_FLOOR = """async count => {
  const opened = await new Promise(done => {
    const request = indexedDB.open('floor', 1);
    request.onupgradeneeded = () => request.result.createObjectStore('rows', { keyPath: 'uuid' });
    request.onsuccess = () => done(request.result);
  });
  const taken = [];
  for (let number = 0; number < count; number += 1) {
    const start = performance.now();
    await new Promise(done => {
      const change = opened.transaction(['rows'], 'readwrite', { durability: 'strict' });
      change.objectStore('rows').add({ uuid: crypto.randomUUID(), status: 'A', note: '' });
      change.oncomplete = done;
    });
    taken.push(performance.now() - start);
    await new Promise(done => setTimeout(done, 50));
  }
  return taken;
}"""


def book():
    """The address of the page of a round, and the session of its crew."""
    from django.conf import settings
    from django.test import Client
    from django.urls import reverse

    from tests import factories

    lead, crew = factories.person("lead"), factories.person("volunteer")
    planting = factories.planting(crew=[crew])
    lot = factories.stock_lot(actor=lead, plants=TREES)
    trees = [tree for row in range(1, 11) for tree in factories.trees(planting, lot, TREES // 10, actor=lead, row=row)]
    factories.observe(factories.census_round(planting), dict.fromkeys(trees, "A"), actor=lead, height_cm=142.5, diameter_mm=12.5)
    client = Client()
    client.force_login(crew)
    return reverse("census_phone", args=[factories.census_round(planting, 2).pk]), settings.SESSION_COOKIE_NAME, client.cookies


def within(taken, share):
    return sorted(taken)[int(len(taken) * share)]


def processor_seconds(tools):
    """What the page has used of a processor, unslowed; others at work beside it do not change it."""
    return next(one["value"] for one in tools.send("Performance.getMetrics")["metrics"] if one["name"] == "TaskDuration")


def main():
    open_book()
    address, name, cookies = book()
    port = free_port()
    base = f"http://localhost:{port}"
    server = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "registry.wsgi", "-b", f"127.0.0.1:{port}", "-w", "1", "--threads", "4", "--log-level", "error"]
    )
    try:
        for _ in range(100):
            try:
                urllib.request.urlopen(base + "/sign-in/", timeout=5).close()
                break
            except OSError:
                time.sleep(0.2)
        run(base, address, {"name": name, "value": cookies[name].value, "url": base})
    finally:
        server.terminate()
        server.wait()


def run(base, address, cookie):
    from tests.browser.chromium import chromium

    with chromium() as browser:
        context = browser.new_context(base_url=base, viewport={"width": 360, "height": 640}, has_touch=True, is_mobile=True)
        context.add_cookies([cookie])
        page = context.new_page()
        page.goto(address)
        page.locator("#start").click()
        page.locator("#cautions-read").click()
        page.locator("#open-tree").wait_for()
        page.context.set_offline(True)
        tools = context.new_cdp_session(page)
        tools.send("Performance.enable", {"timeDomain": "threadTicks"})
        before = processor_seconds(tools)
        page.evaluate(_TAPS, TAPS)
        worked = (processor_seconds(tools) - before) / TAPS
        tools.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
        floor = page.evaluate(_FLOOR, 40)
        taken = page.evaluate(_TAPS, TAPS)
    report(
        f"{TREES:,} trees, slowed {SLOWED} times", taps=TAPS, processor_ms=f"{worked * SLOWED * 1_000:.0f}", median_ms=f"{within(taken, 0.5):.0f}", p95_ms=f"{within(taken, 0.95):.0f}",
        slowest_ms=f"{max(taken):.0f}", floor_median_ms=f"{within(floor, 0.5):.0f}", floor_p95_ms=f"{within(floor, 0.95):.0f}",
    )  # fmt: skip


if __name__ == "__main__":
    main()
