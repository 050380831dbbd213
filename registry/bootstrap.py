"""From a fresh copy to a running server, or to proven tests, with one command each; and the lock files of what they install.

Runs before anything is installed: standard library only.
"""

import argparse
import errno
import hashlib
import importlib.util
import os
import shutil
import socket
import subprocess
import sys
import tempfile
from pathlib import Path

BASE = Path(__file__).resolve().parent.parent
ENVIRONMENT = BASE / ".venv"
PYTHON = ENVIRONMENT / "bin" / "python"
MANAGE = BASE / "manage.py"
# what Mastbook needs, and what its tests need besides: the ranges written by hand, and the exact versions made from them
REQUIREMENTS = (BASE / "requirements.txt", BASE / "registry" / "requirements.lock")
TEST_REQUIREMENTS = (BASE / "tests" / "requirements.txt", BASE / "tests" / "requirements.lock")
OLDEST_PYTHON = (3, 11)
PIP = (PYTHON, "-m", "pip", "--disable-pip-version-check", "install", "--quiet")


def say(text):
    print(text, flush=True)


def run(*command, **options):
    """Run a program in the project folder; stop when it fails. Its own message is printed above ours."""
    done = subprocess.run([str(part) for part in command], cwd=BASE, **options)
    if done.returncode:
        sys.exit("That step failed, see above. Correct it and run the same command again: it goes on from there.")


# Environment --------------------------------------------------------------------------------------


def read_variables(path=BASE / ".env"):
    """Take variables from `.env`; those already set win. Lines are NAME=value, # starts a comment line."""
    if not path.is_file():
        return
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        line = line.strip()
        if not line or line.startswith("#"):
            continue
        name, equals, value = line.partition("=")
        if not equals or not name.strip().isidentifier():
            sys.exit(f"{path.name}, line {number} is not understood: '{line}'. Write NAME=value.")
        value = value.strip()
        if len(value) > 1 and value[0] == value[-1] and value[0] in "\"'":
            value = value[1:-1]
        os.environ.setdefault(name.strip(), value)


def use_environment():
    """Go on in `.venv` when Django is not installed for the interpreter that runs."""
    read_variables()
    if importlib.util.find_spec("django"):
        return
    if not PYTHON.exists() or Path(sys.prefix).resolve() == ENVIRONMENT:
        sys.exit("Mastbook is not set up yet. Run: python3 manage.py start")
    os.execv(PYTHON, [str(PYTHON), *sys.argv])


def make_environment():
    """Make `.venv` when it is absent or does not run."""
    if sys.version_info < OLDEST_PYTHON:
        sys.exit(f"Mastbook needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    if PYTHON.exists() and _quiet(PYTHON, "-c", "import pip"):
        return
    if importlib.util.find_spec("ensurepip") is None:
        install_debian([f"python3.{sys.version_info.minor}-venv"])
    say("Making .venv …")
    run(sys.executable, "-m", "venv", "--clear", ENVIRONMENT)


def install(ranges, lock):
    """Install the exact versions of a lock file into `.venv`, unless exactly this text was installed before.

    Each file that pip fetches must have one of the hashes in it. Stops when the lock was made from other ranges.
    """
    check_lock(ranges, lock)
    stamp = ENVIRONMENT / f"installed-{lock.relative_to(BASE).as_posix().replace('/', '-')}"
    digest = hashlib.sha256(lock.read_bytes()).hexdigest()
    if stamp.exists() and stamp.read_text() == digest:
        return
    say(f"Installing {lock.relative_to(BASE)} into .venv. The first time this takes a minute …")
    run(*PIP, "--no-compile", "--require-hashes", "-r", lock)
    stamp.write_text(digest)


def check_lock(ranges, lock):
    """Stop when a lock file is missing, or was made from other ranges than those of its requirements file."""
    found = lock.read_text(encoding="utf-8").partition("\n")[0] if lock.exists() else ""
    if found != first_line(ranges):
        name = lock.relative_to(BASE)
        sys.exit(f"{name} does not fit {ranges.relative_to(BASE)}. Make it again: python3 manage.py lock")


def first_line(ranges):
    """The first line of a lock file: the hash of the requirements it was made from, comments left out."""
    digest = hashlib.sha256("\n".join(requirement_lines(ranges)).encode()).hexdigest()
    return f"# Made by: python3 manage.py lock. From requirements with the SHA-256 {digest}"


def requirement_lines(path):
    """The requirements of a file and of the files it names with -r, without comments."""
    lines = []
    for line in path.read_text(encoding="utf-8").splitlines():
        line = line.partition("#")[0].strip()
        if line.startswith("-r "):
            lines += requirement_lines(path.parent / line[3:].strip())
        elif line:
            lines.append(line)
    return lines


# the same engine without the window, which does the same tests for two fifths less work; an older list of packages lacks it
_LIGHTER = {"chromium": "chromium-headless-shell"}


def install_debian(packages):
    """Install packages of the system, as root or through sudo."""
    if not packages:
        return
    names = " ".join(packages)
    rights = [] if os.geteuid() == 0 else ["sudo"]
    if not shutil.which("apt-get") or (rights and not shutil.which("sudo")):
        sys.exit(f"This computer lacks {names}. Ask its administrator to install that, then run the same command again.")
    say(f"Installing {names} with apt-get …")
    apt = [*rights, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-qq"]
    _quiet(*apt, "update")  # an old package list may still do
    packages = [_LIGHTER[name] if name in _LIGHTER and _quiet("apt-cache", "show", _LIGHTER[name]) else name for name in packages]
    run(*apt, "install", "-y", "--no-install-recommends", *packages, stdout=subprocess.DEVNULL)


def _quiet(*command):
    done = subprocess.run([str(part) for part in command], cwd=BASE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return done.returncode == 0


# manage.py start ----------------------------------------------------------------------------------


def start(words):
    parser = argparse.ArgumentParser(prog="manage.py start", description="Set Mastbook up and serve it.")
    parser.add_argument("--host", default="127.0.0.1", help="address to serve on (default %(default)s: this computer only)")
    parser.add_argument("--port", type=int, default=8000, help="port to serve on (default %(default)s)")
    parser.add_argument("--once", action="store_true", help="do everything but serve")
    parser.add_argument("--empty", action="store_true", help="do not load the demo into an empty database")
    options = parser.parse_args(words)
    read_variables()
    if not options.once:
        check_port(options.host, options.port)
    make_environment()
    install(*REQUIREMENTS)
    run(PYTHON, MANAGE, "prepare", *(["--empty"] if options.empty else []))
    if options.once:
        say("Ready. Serve it with: python3 manage.py start")
    else:
        serve(options.host, options.port)


def check_port(host, port):
    """Stop with one clear sentence when the address cannot be served on."""
    other = f"python3 manage.py start --port {port + 1}"
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind((host, port))
    except OverflowError:
        sys.exit(f"{port} is not a port. Write a number from 1024 to 65535.")
    except OSError as error:
        reasons = {
            errno.EADDRINUSE: f"Port {port} is taken: Mastbook or another program already answers there. Use another one: {other}",
            errno.EACCES: f"Port {port} is reserved for the administrator. Use one above 1023: python3 manage.py start --port 8000",
        }
        sys.exit(reasons.get(error.errno, f"Mastbook cannot serve on {host}: {error.strerror}."))


def serve(host, port):
    """Become the web server, as `registry/server.py` says, with a worker for long work beside it."""
    everywhere = host in {"0.0.0.0", "::"}
    if not everywhere:
        os.environ.setdefault("ALLOWED_HOSTS", ",".join(dict.fromkeys([host, "localhost", "127.0.0.1", "[::1]"])))
    elif "ALLOWED_HOSTS" not in os.environ:
        say("Set ALLOWED_HOSTS to the names people will type, or only this computer gets an answer. See .env.example.")
    bind = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
    say(f"Mastbook answers at http://{'127.0.0.1:' + str(port) if everywhere else bind}/  Stop it with Ctrl-C.")
    server = ["-m", "gunicorn", "--config", BASE / "registry/server.py", "registry.wsgi:application", "--chdir", BASE, "--bind", bind]
    # it lives as long as its parent, the process that now becomes the server
    subprocess.Popen([str(PYTHON), "-m", "registry.worker"], cwd=BASE)
    os.execv(PYTHON, [str(part) for part in (PYTHON, *server)])


# manage.py prove ----------------------------------------------------------------------------------


def prove(words):
    """Install what the tests need and hand over to `tests/prove.py`; further words go to pytest."""
    make_environment()
    install_debian(missing_debian())
    install(*TEST_REQUIREMENTS)
    os.chdir(BASE)
    os.execv(PYTHON, [str(PYTHON), "-m", "tests.prove", *words])


def missing_debian():
    """Packages of the system that the tests need and that are not there."""
    wanted = {
        "chromium": any(shutil.which(name) for name in ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")),
        "postgresql": any(Path("/usr/lib/postgresql").glob("*/bin/initdb")) or shutil.which("initdb"),
        "fonts-dejavu-core": any(Path("/usr/share/fonts").rglob("*.ttf")),
    }
    return [name for name, there in wanted.items() if not there]


# manage.py lock -----------------------------------------------------------------------------------


def lock(words):
    """Make both lock files again, or check that they are what would be made."""
    parser = argparse.ArgumentParser(prog="manage.py lock", description="Choose exact versions from the requirements, with their hashes.")
    parser.add_argument("--check", action="store_true", help="change nothing; stop when a lock file is not what would be made")
    parser.add_argument("--upgrade", action="store_true", help="take the newest versions that the ranges allow, not those chosen before")
    options = parser.parse_args(words)
    make_environment()
    [resolver] = [line for line in requirement_lines(TEST_REQUIREMENTS[0]) if line.startswith("uv")]
    run(*PIP, resolver)
    wrong = []
    with tempfile.TemporaryDirectory() as folder:
        chosen = Path(folder) / "chosen.txt"
        for ranges, path in (REQUIREMENTS, TEST_REQUIREMENTS):
            made = resolved(ranges, path, chosen, options.upgrade)
            name = path.relative_to(BASE)
            if options.check and (not path.exists() or made != path.read_text(encoding="utf-8")):
                wrong.append(str(name))
            elif not options.check:
                path.write_text(made, encoding="utf-8")
                say(f"{name}: {sum('==' in line for line in made.splitlines())} packages")
            chosen.write_text(made, encoding="utf-8")  # the tests run on exactly what Mastbook runs on
    if wrong:
        sys.exit(f"{' and '.join(wrong)} would change. Make them again: python3 manage.py lock")


def resolved(ranges, path, constraints, upgrade):
    """The text of a lock file for every Python from the oldest on, within the versions of `constraints` if that file is there.

    No address of an index is in it, so that each machine installs from its own.
    """
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "made.txt"
        if path.exists() and not upgrade:
            made.write_bytes(path.read_bytes())  # versions chosen before stay while they fit
        uv = [PYTHON, "-m", "uv", "pip", "compile", "--quiet", "--universal", "--generate-hashes", "--no-header", "--no-annotate"]
        uv += ["--no-emit-index-url", "--no-emit-find-links", "--python-version", ".".join(map(str, OLDEST_PYTHON))]
        uv += ["--constraint", constraints] if constraints.exists() else []
        run(*uv, "--output-file", made, ranges, stdout=subprocess.DEVNULL)
        return f"{first_line(ranges)}\n{made.read_text(encoding='utf-8')}"
