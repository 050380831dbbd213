"""A file is complete or absent: on a full disk, and wherever the program ends while it writes."""

import os
import resource
import signal
import time

import pytest

from registry.disk import whole_files
from registry.disk.whole_files import full_or_read_only, unfinished, write_whole

pytestmark = pytest.mark.one_database
OLD, NEW = b"old" * 40_000, b"new" * 50_000
STEPS = ("write", "fsync", "replace", "link", "mkdir", "unlink", "open")


def pieces(content):
    return [content[start : start + 4096] for start in range(0, len(content), 4096)]


def in_a_child(work):
    """Run `work` in a process of its own; returns the code it ended with."""
    child = os.fork()
    if not child:
        try:
            work()
        except BaseException:
            os._exit(1)
        os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def ending_at(number, work):
    """`work`, ended without a word at the call of the given number to the operating system."""

    def run():
        left = iter(range(number))
        for name in STEPS:
            call = getattr(os, name)

            def counted(*args, call=call, **options):
                if next(left, None) is None:
                    os._exit(9)
                return call(*args, **options)

            setattr(os, name, counted)
        work()

    return run


def test_a_file_is_written_with_the_folders_above_it(tmp_path):
    path = tmp_path / "kept" / "ab" / "abcd"
    write_whole(path, pieces(NEW))
    assert path.read_bytes() == NEW and unfinished(tmp_path) == []
    assert path.stat().st_mode & 0o777 == 0o644


def test_a_file_that_must_not_be_replaced_stays_as_it_is(tmp_path):
    path = tmp_path / "key"
    write_whole(path, [b"first"], mode=0o600, replace=False)
    write_whole(path, [b"second"], mode=0o600, replace=False)
    assert path.read_bytes() == b"first" and path.stat().st_mode & 0o777 == 0o600
    assert [entry.name for entry in tmp_path.iterdir()] == ["key"]


@pytest.mark.parametrize("there", [None, OLD])
def test_a_full_disk_leaves_nothing_and_what_was_there_stays(tmp_path, there):
    path = tmp_path / "document"
    if there:
        path.write_bytes(there)

    def work():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (70_000, 70_000))  # the kernel takes the first 70,000 bytes, then refuses
        try:
            write_whole(path, pieces(NEW))
        except OSError as error:
            os._exit(8 if full_or_read_only(error) == "the disk of the server is full" else 7)

    assert in_a_child(work) == 8
    assert (path.read_bytes() if path.exists() else None) == there
    assert unfinished(tmp_path) == []


@pytest.mark.parametrize("replace", [True, False])
def test_a_program_ended_at_any_point_leaves_no_half_file(tmp_path, replace):
    ends = []
    for number in range(100):
        path = tmp_path / str(number) / "folder" / "document"
        if replace:
            write_whole(path, [OLD])
        ends.append(in_a_child(ending_at(number, lambda path=path: write_whole(path, pieces(NEW), replace=replace))))
        found = path.read_bytes() if path.exists() else None
        assert found in ((OLD, NEW) if replace else (None, NEW))
        if ends[-1] == 0:
            break
        write_whole(path, pieces(NEW), replace=replace)
        assert path.read_bytes() == NEW
    assert set(ends[:-1]) == {9} and ends[-1] == 0 and len(ends) > 4
    assert found == NEW


def test_a_folder_that_takes_nothing_is_told_from_other_errors(tmp_path):
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(OSError) as refused:
        write_whole(tmp_path / "file" / "below", [b""])
    assert full_or_read_only(refused.value) == ""
    assert full_or_read_only(PermissionError(13, "no")) == "Mastbook may not write into its data folder"
    assert whole_files.PART == ".part"


def test_only_our_own_temporary_files_are_removed_and_only_old_ones(tmp_path):
    old, new, other = (tmp_path / name for name in (f".a.{16 * '0'}.part", f".b.{16 * '1'}.part", ".download.part"))
    for path, days in ((old, 2), (new, 0), (other, 2)):
        path.write_bytes(b"x")
        os.utime(path, (time.time() - days * 86_400,) * 2)
    assert whole_files.remove_abandoned(tmp_path) == 1
    assert (old.exists(), new.exists(), other.exists()) == (False, True, True)
