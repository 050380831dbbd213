"""Starts the browser of the tests."""

import contextlib
import shutil

import pytest

# the first is the same engine without the window, for two fifths less work (7.5 s of processor time beside 12.3, 1 Dec 2026)
BROWSERS = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")


@contextlib.contextmanager
def chromium():
    """A headless Chromium. It can resolve no name but this machine's own."""
    path = next(filter(None, map(shutil.which, BROWSERS)), None)
    if path is None:
        pytest.fail("Browser tests need Chromium: install the package chromium, or run `python3 manage.py prove`.", pytrace=False)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=path,
            args=[
                "--no-sandbox",
                "--disable-dev-shm-usage",
                "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1",
                "--use-fake-device-for-media-stream",
                "--use-fake-ui-for-media-stream",  # a camera, and a person who lets a page use it
            ],
        )
        yield started
        started.close()
