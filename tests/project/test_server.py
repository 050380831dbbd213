"""The web server process as `start` and README run it: browsers that hold a connection open and say nothing stop nobody."""

import re
import socket
import subprocess
import sys
import time
import urllib.request

import pytest

from registry import bootstrap
from tests.places import PROJECT

CONFIG = "registry/server.py"
APP = "def application(environ, start_response):\n    environ['wsgi.input'].read()\n    start_response('200 OK', [('Content-Length', '2')])\n    return [b'ok']\n"


QUIET_S = 1  # instead of the seconds of the settings, which nobody waits for here


@pytest.fixture
def server(tmp_path):
    """The address of a bare application, served with the settings of the site."""
    (tmp_path / "bare.py").write_text(APP)
    (tmp_path / "quick.py").write_text(f"exec(open({str(PROJECT / CONFIG)!r}).read())\nQUIET_S = {QUIET_S}\n")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [
        "-m",
        "gunicorn",
        "--config",
        tmp_path / "quick.py",
        "--no-control-socket",
        "--chdir",
        tmp_path,
        "--bind",
        f"127.0.0.1:{port}",
        "bare",
    ]
    process = subprocess.Popen([sys.executable, *map(str, command)], cwd=PROJECT)
    try:
        for _ in range(100):
            try:
                socket.create_connection(("127.0.0.1", port), timeout=1).close()
                break
            except OSError:
                time.sleep(0.2)
        yield "127.0.0.1", port
    finally:
        process.terminate()
        process.wait(timeout=40)


def test_idle_browsers_do_not_stop_the_next_one(server):
    idle = [socket.create_connection(server) for _ in range(24)]  # six of each of four browsers; there are eight threads
    try:
        time.sleep(0.5)
        assert urllib.request.urlopen(f"http://{server[0]}:{server[1]}/", timeout=5).read() == b"ok"
    finally:
        for connection in idle:
            connection.close()


@pytest.mark.parametrize("sent", [b"GET / HTTP/1.1\r\nHost: x\r\n", b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 900\r\n\r\nhalf"])
def test_phones_that_vanish_in_a_request_give_their_threads_back(server, sent):
    vanished = [socket.create_connection(server) for _ in range(9)]  # there are eight threads
    try:
        for connection in vanished:
            connection.sendall(sent)
        time.sleep(0.5)
        assert urllib.request.urlopen(f"http://{server[0]}:{server[1]}/", timeout=15).read() == b"ok"
    finally:
        for connection in vanished:
            connection.close()


def test_readme_and_start_serve_with_the_same_settings(monkeypatch):
    [command] = re.findall(r"`(gunicorn [^`]*)`", (PROJECT / "README.md").read_text())
    assert command == f"gunicorn --config {CONFIG} registry.wsgi"
    started = []
    monkeypatch.setattr(bootstrap.os, "execv", lambda program, words: started.extend(words))
    monkeypatch.setenv("ALLOWED_HOSTS", "localhost")
    bootstrap.serve("127.0.0.1", 8000)
    assert started[started.index("--config") + 1] == str(bootstrap.BASE / CONFIG)
    assert started[started.index("--bind") + 1] == "127.0.0.1:8000"
