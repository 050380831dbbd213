"""Searches for garbage are fewer during a long piece of work and as before after it, whoever ends last."""

import gc

import pytest

from registry.services.shared.garbage import few_collections


def test_the_setting_of_the_process_comes_back_after_the_last_user():
    before = gc.get_threshold()
    one, other = few_collections(), few_collections()
    one.__enter__()
    assert gc.get_threshold() == (50_000, *before[1:])
    other.__enter__()
    one.__exit__(None, None, None)
    assert gc.get_threshold() == (50_000, *before[1:])
    other.__exit__(None, None, None)
    assert gc.get_threshold() == before


def test_the_setting_comes_back_after_an_error():
    before = gc.get_threshold()
    with pytest.raises(ValueError), few_collections():
        raise ValueError
    assert gc.get_threshold() == before
