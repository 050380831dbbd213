"""The two set-up commands: what they say when something is in the way, and that they do work once only."""

import os
import socket
import subprocess
import sys

import pytest
from django.core.management import call_command

from plantings.selectors.overview.demo import DEMO_LOADED
from registry import bootstrap
from registry.models import Person
from registry.services.audit.trail import audit_record
from registry.services.audit.write import writing
from tests import factories, prove
from tests.places import PROJECT
from tests.workers import ByFile


@pytest.fixture
def project(tmp_path, monkeypatch):
    """An empty project folder; programs that would be run are written down instead."""
    for name in ("BASE", "ENVIRONMENT", "PYTHON"):
        monkeypatch.setattr(bootstrap, name, {"BASE": tmp_path, "ENVIRONMENT": tmp_path / ".venv"}.get(name, tmp_path / ".venv/bin/python"))
    (tmp_path / ".venv").mkdir()
    started = []
    monkeypatch.setattr(bootstrap, "run", lambda *command, **options: started.append([str(part) for part in command]))
    return tmp_path, started


def test_start_up_needs_nothing_installed():
    code = "import sys; sys.path.insert(0, '.'); import manage; print(*[n for n in sys.modules if n.split('.')[0] in ('django', 'numpy')])"
    done = subprocess.run([sys.executable, "-I", "-S", "-c", code], cwd=PROJECT, capture_output=True, text=True)
    assert (done.returncode, done.stdout.strip(), done.stderr) == (0, "", "")


@pytest.mark.django_db
def test_preparing_again_loads_nothing(capsys, settings, tmp_path):
    settings.STATIC_ROOT = tmp_path
    person = factories.person()
    call_command("prepare")
    assert (capsys.readouterr().out, Person.objects.count()) == ("", 1)
    with writing():
        audit_record(actor=person, verb=DEMO_LOADED, obj=person)
    call_command("prepare")
    assert "manage.py demo --passwords" in capsys.readouterr().out
    assert Person.objects.count() == 1


def test_a_taken_port_is_said_before_anything_is_installed():
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        words = [sys.executable, "manage.py", "start", "--port", str(port)]
        done = subprocess.run(words, cwd=PROJECT, capture_output=True, text=True)
    assert done.returncode == 1
    assert f"Port {port} is taken" in done.stderr and f"--port {port + 1}" in done.stderr
    assert done.stdout == ""


@pytest.mark.parametrize(
    ("host", "port", "said"), [("127.0.0.1", 99999, "99999 is not a port"), ("192.0.2.1", 8000, "cannot serve on 192.0.2.1")]
)
def test_an_address_that_cannot_be_served_on_is_said(host, port, said):
    with pytest.raises(SystemExit, match=said):
        bootstrap.check_port(host, port)


def locked(folder, wanted, chosen):
    """A requirements file and a lock file made from it."""
    ranges, lock = folder / "requirements.txt", folder / "requirements.lock"
    ranges.write_text(wanted)
    lock.write_text(f"{bootstrap.first_line(ranges)}\n{chosen}")
    return ranges, lock


def test_a_lock_file_is_installed_once_and_again_when_it_changes(project):
    folder, started = project
    files = locked(folder, "one~=1.0", "one==1.0")
    bootstrap.install(*files)
    bootstrap.install(*files)
    assert [command[-3:] for command in started] == [["--require-hashes", "-r", str(files[1])]]
    bootstrap.install(*locked(folder, "one~=1.0", "one==1.1"))
    assert len(started) == 2


def test_nothing_is_installed_from_a_lock_file_of_other_requirements(project):
    folder, started = project
    ranges, lock = locked(folder, "one~=1.0", "one==1.0")
    ranges.write_text("one~=1.0  # a comment may change\n")
    bootstrap.install(ranges, lock)
    ranges.write_text("one~=1.0\ntwo~=2.0")
    for _ in range(2):
        with pytest.raises(SystemExit, match=r"requirements.lock does not fit requirements.txt. Make it again: python3 manage.py lock"):
            bootstrap.install(ranges, lock)
        lock.unlink(missing_ok=True)
    assert len(started) == 1


def test_an_interrupted_installation_is_tried_again(project, monkeypatch):
    folder, started = project
    files = locked(folder, "one~=1.0", "one==1.0")
    note = bootstrap.run

    def fail(*command, **options):
        note(*command)
        sys.exit(1)

    monkeypatch.setattr(bootstrap, "run", fail)
    for _ in range(2):
        with pytest.raises(SystemExit):
            bootstrap.install(*files)
    assert len(started) == 2


def test_a_system_without_venv_gets_the_package_of_its_own_python(project, monkeypatch):
    _folder, started = project
    wanted = []
    monkeypatch.setattr(bootstrap.importlib.util, "find_spec", lambda name: None)
    monkeypatch.setattr(bootstrap, "install_debian", wanted.extend)
    bootstrap.make_environment()
    assert wanted == [f"python3.{sys.version_info.minor}-venv"]
    assert started[0][1:3] == ["-m", "venv"]


def test_a_program_that_fails_stops_the_set_up():
    with pytest.raises(SystemExit, match="run the same command again"):
        bootstrap.run(sys.executable, "-c", "raise SystemExit(3)")


def test_without_rights_a_missing_package_is_named_in_one_sentence(monkeypatch):
    monkeypatch.setattr(bootstrap.os, "geteuid", lambda: 1000)
    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: None if name == "sudo" else f"/usr/bin/{name}")
    with pytest.raises(SystemExit, match=r"This computer lacks python3-venv\. Ask its administrator"):
        bootstrap.install_debian(["python3-venv"])


@pytest.mark.parametrize(("listed", "engine"), [(True, "chromium-headless-shell"), (False, "chromium")])
def test_with_sudo_a_missing_package_is_installed(project, monkeypatch, listed, engine):
    """Of the browser the lighter package, where the list of packages has it."""
    _folder, started = project
    monkeypatch.setattr(bootstrap.os, "geteuid", lambda: 1000)
    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: f"/usr/bin/{name}")
    monkeypatch.setattr(bootstrap, "_quiet", lambda *command: "update" in command or (listed and command[-1] == "chromium-headless-shell"))
    bootstrap.install_debian(["chromium", "postgresql"])
    assert started[0][0] == "sudo"
    assert started[0][-2:] == [engine, "postgresql"]


def test_variables_come_from_the_file_unless_they_are_set(tmp_path, monkeypatch):
    monkeypatch.setenv("TIME_ZONE", "UTC")
    for name in ("MAP_TILES_URL", "EMAIL_HOST"):
        monkeypatch.setenv(name, "")
        monkeypatch.delenv(name)
    file = tmp_path / ".env"
    file.write_text('# comment\n\nTIME_ZONE=Europe/Oslo\nMAP_TILES_URL = "https://tiles.example.org/?a=b"\n#EMAIL_HOST=x\n')
    bootstrap.read_variables(file)
    assert os.environ["TIME_ZONE"] == "UTC"
    assert os.environ["MAP_TILES_URL"] == "https://tiles.example.org/?a=b"
    assert "EMAIL_HOST" not in os.environ


def test_a_line_of_the_file_that_is_not_understood_is_named(tmp_path):
    file = tmp_path / ".env"
    file.write_text("# fine\nTLS yes\n")
    with pytest.raises(SystemExit, match=r"\.env, line 2 is not understood: 'TLS yes'\. Write NAME=value\."):
        bootstrap.read_variables(file)


def test_the_tests_never_see_the_variables_of_a_site(monkeypatch):
    monkeypatch.setenv("DATABASE_URL", "postgresql://real/book")
    monkeypatch.setenv("SECRET_KEY", "real")
    monkeypatch.setenv("UNRELATED", "kept")
    environment = prove.clean_environment()
    assert "DATABASE_URL" not in environment and "SECRET_KEY" not in environment
    assert environment["UNRELATED"] == "kept"


@pytest.mark.parametrize(("body", "line", "passed"), [("pass", "1 tests, 0 failed", True), ("assert False", "1 tests, 1 failed", False)])
def test_a_failing_test_makes_the_proof_fail(tmp_path, body, line, passed):
    file = tmp_path / "test_one.py"
    file.write_text(f"def test_one():\n    {body}\n")
    words = [str(file), "--rootdir", str(tmp_path), "-p", "no:cacheprovider", "-n", "0"]
    said, ok = prove.run_tests("SQLite", words, prove.clean_environment(), tmp_path / "report.xml")
    assert said.startswith(f"SQLite: {line}")
    assert ok is passed


def test_a_run_that_never_began_makes_the_proof_fail(tmp_path):
    said, ok = prove.run_tests("SQLite", ["--no-such-option"], prove.clean_environment(), tmp_path / "report.xml")
    assert (ok, "exit code 4" in said) == (False, True)


def test_tests_are_compiled_once_before_their_first_run(tmp_path, monkeypatch):
    (tmp_path / "pytest.ini").touch()
    folders = ["first", "second", "third"]
    for folder in folders:
        (tmp_path / "tests" / folder).mkdir(parents=True)
        (tmp_path / "tests" / folder / f"test_{folder}.py").write_text("def test_one():\n    assert True\n")
    monkeypatch.setattr(prove, "BASE", tmp_path)
    monkeypatch.setattr(prove.os, "cpu_count", lambda: 2)
    environment = {"PATH": os.environ["PATH"], "PYTHONPYCACHEPREFIX": str(tmp_path / "bytecode")}
    prove.compile_tests(environment)
    compiled = (tmp_path / "bytecode").joinpath(*tmp_path.parts[1:], "tests")
    # pytest's name of a file whose asserts it has rewritten
    assert sorted(path.name.partition(".")[0] for path in compiled.rglob("*-pytest-*.pyc")) == [f"test_{folder}" for folder in folders]


def test_what_tests_share_is_made_by_one_worker():
    """A file goes to one worker, and a folder whose tests share a fixture of the package does."""

    def unit(path):
        return ByFile._split_scope(None, f"{path.relative_to(PROJECT).as_posix()}::Case::test_one[a/b.py::c]")

    files = sorted((PROJECT / "tests").rglob("test_*.py"))
    together = {path.parent for path in (PROJECT / "tests").rglob("conftest.py") if 'scope="package"' in path.read_text(encoding="utf-8")}
    assert len(together) == 1
    for folder in together:
        assert len({unit(path) for path in files if path.parent == folder}) == 1
    alone = [path for path in files if path.parent not in together]
    assert len({unit(path) for path in alone}) == len(alone) > 200
