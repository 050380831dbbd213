"""Results stored beside the database: read back as they were, and never in the way of a page."""

import json

import pytest

from registry.disk import kept_results
from registry.disk.kept_results import kept_result


@pytest.fixture
def folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    return tmp_path / "results"


def test_a_result_is_worked_out_once_for_what_it_rests_on(folder):
    first = kept_result("kind", "counts 1", lambda: {"share": [0.1, None]})
    assert kept_result("kind", "counts 1", lambda: {"share": []}) == first and first[0] == {"share": [0.1, None]}
    assert kept_result("kind", "counts 2", lambda: 2)[0] == 2


@pytest.mark.parametrize("content", ["", "{", "[]", json.dumps({"values": 7}), json.dumps({"values": 7, "made_at": None})])
def test_a_file_that_cannot_be_read_is_worked_out_again(folder, content):
    kept_result("kind", "counts", lambda: 1)
    next(folder.iterdir()).write_text(content)
    assert kept_result("kind", "counts", lambda: 2)[0] == 2
    assert kept_result("kind", "counts", lambda: 3)[0] == 2


def test_a_disk_that_refuses_stops_no_result(folder):
    folder.write_text("a file where the folder should be")
    assert kept_result("kind", "counts", lambda: 1)[0] == 1


def test_the_oldest_results_are_removed(folder, monkeypatch):
    monkeypatch.setattr(kept_results, "RESULTS_MOST", 2)
    for number in range(4):
        kept_result("kind", str(number), lambda: 1)
    assert len(list(folder.iterdir())) == 2
