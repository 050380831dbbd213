"""The lock files name exact versions with hashes, are in step with the requirements, and hold for every Python the README names."""

import re
from importlib.metadata import distribution

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from registry.bootstrap import OLDEST_PYTHON, REQUIREMENTS, TEST_REQUIREMENTS, check_lock, requirement_lines
from tests.places import PROJECT

PYTHONS = ("3.11", "3.12", "3.13", "3.14")  # the oldest the README names, and all released since (python.org, November 2026)
PAIRS = pytest.mark.parametrize(("ranges", "lock"), [REQUIREMENTS, TEST_REQUIREMENTS], ids=["site", "tests"])


def pins(lock):
    """[(requirement, its hashes)] of a lock file."""
    entries = re.sub(r"\\\n\s*", " ", lock.read_text(encoding="utf-8")).splitlines()[1:]
    return [(Requirement(entry.partition(" --hash")[0]), re.findall(r"--hash=sha256:([0-9a-f]{64})\b", entry)) for entry in entries]


def chosen(lock, python):
    """{name: version} that a lock file chooses on Linux for a Python; fails when it chooses two of one package."""
    there = {"python_version": python, "python_full_version": f"{python}.0", "sys_platform": "linux", "platform_system": "Linux"}
    found = [wanted for wanted, _hashes in pins(lock) if wanted.marker is None or wanted.marker.evaluate(there)]
    names = [canonicalize_name(wanted.name) for wanted in found]
    assert len(names) == len(set(names))
    return dict(zip(names, [str(wanted.specifier).removeprefix("==") for wanted in found], strict=True))


@PAIRS
def test_a_lock_file_is_in_step_with_its_requirements(ranges, lock):
    check_lock(ranges, lock)


@PAIRS
def test_each_pin_is_one_version_with_hashes(ranges, lock):
    found = pins(lock)
    assert len(found) > 30
    assert [str(wanted) for wanted, hashes in found if not re.fullmatch(r"==[^*,]+", str(wanted.specifier)) or not hashes] == []


@PAIRS
def test_no_lock_file_names_an_index_an_address_or_a_folder(ranges, lock):
    assert re.findall(r"://|^-|--(?!hash=)|\bfile:|@|/", lock.read_text(encoding="utf-8"), re.MULTILINE) == []


def test_the_readme_names_the_oldest_python_of_the_lock_files():
    oldest = ".".join(map(str, OLDEST_PYTHON))
    assert oldest == PYTHONS[0]
    assert f"Python {oldest} or newer" in (PROJECT / "README.md").read_text(encoding="utf-8")


@PAIRS
@pytest.mark.parametrize("python", PYTHONS)
def test_every_python_gets_each_requirement_within_its_range(ranges, lock, python):
    versions = chosen(lock, python)
    wanted = [Requirement(line) for line in requirement_lines(ranges)]
    assert len(wanted) > 10
    assert [str(one) for one in wanted if not one.specifier.contains(versions.get(canonicalize_name(one.name), "0"))] == []


@PAIRS
def test_what_the_packages_need_themselves_is_locked_too(ranges, lock):
    """Read from the packages as they are installed here."""
    versions = chosen(lock, ".".join(map(str, OLDEST_PYTHON)))
    open_, needed = [Requirement(line) for line in requirement_lines(ranges)], {}
    while open_:
        one = open_.pop()
        name = canonicalize_name(one.name)
        extras = {"", *one.extras}
        if extras <= needed.get(name, set()):
            continue
        needed[name] = needed.get(name, set()) | extras
        for text in distribution(name).requires or ():
            inner = Requirement(text)
            if inner.marker is None or any(inner.marker.evaluate({"extra": extra}) for extra in extras):
                open_.append(inner)
    assert len(needed) > 30
    assert set(needed) - set(versions) == set()


@pytest.mark.parametrize("python", PYTHONS)
def test_the_tests_run_on_the_versions_of_the_site(python):
    site, tests = chosen(REQUIREMENTS[1], python), chosen(TEST_REQUIREMENTS[1], python)
    assert {name: tests.get(name) for name in site} == site
