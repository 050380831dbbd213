"""Which passwords are taken: long ones that nobody guesses; no rule about capitals, digits or signs (NIST SP 800-63B-4, 3.1.1)."""

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from registry.models import Person

OWNER = Person(username="a.quill", first_name="Adelaide", last_name="Quillfeather", email="adelaide.quill@example.org")


def refusals(phrase):
    try:
        validate_password(phrase, OWNER)
    except ValidationError as refused:
        return {error.code for error in refused.error_list}
    return set()


@pytest.mark.parametrize(
    "phrase",
    [
        "walnut ferry ladder",
        "butternutcankerladder",  # no capitals, digits or signs
        "пустой лодка река",  # any script
        "樹木が森に帰る日まで待っている",
        "four short words here",
        "ünder the öld bridge",
        "x" * 3 + " quiet harbour lamp " + "9" * 3,
        "one hundred quiet foresters walked the ridge in the rain of november",  # at least 64 signs are taken
        "kT7)vw2!mQ_z#b9L",
    ],
)
def test_a_long_phrase_of_any_signs_is_taken(phrase):
    assert refusals(phrase) == set()


@pytest.mark.parametrize(
    ("phrase", "code"),
    [
        ("ferry ladder", "password_too_short"),  # 12 signs; 15 where the phrase is all there is to sign in
        ("aaaaaaaaaaaaaaaaaaaa", "password_few_signs"),
        ("1111111111", "password_few_signs"),  # ten times one sign
        ("abababababababab", "password_few_signs"),
        ("walnutwalnutwalnut", "password_run"),
        ("canker canker canker ca", "password_run"),
        ("123456789012345678", "password_run"),
        ("abcdefghijklmnopqrst", "password_run"),
        ("zyxwvutsrqponmlkji", "password_run"),
        ("qwertyuiopasdfghjkl", "password_run"),
        ("1234567890-qwertyuiop", "password_run"),
        ("passwordpassword", "password_run"),
        ("password20262026!!", "password_known"),
        ("!!!!Liverpool1234", "password_known"),
        ("iloveyou!!!!!2026", "password_known"),
        ("mastbook-2026-11-29", "password_known"),
        ("Mastbook_Mastbook_1", "password_known"),
        ("adelaide quillfeather", "password_known"),
        ("adelaide-1984-quill", "password_known"),
        ("correct horse battery staple", "password_known"),
        ("Correct-Horse-Battery-Staple-1!", "password_known"),
        ("The quick brown fox 2026", "password_known"),
    ],
)
def test_what_is_short_repeated_counted_up_or_known_is_refused(phrase, code):
    assert code in refusals(phrase)


def test_each_refusal_says_what_to_do():
    for phrase in ("aaaaaaaaaaaaaaaaaaaa", "walnutwalnutwalnut", "password20262026!!"):
        with pytest.raises(ValidationError) as refused:
            validate_password(phrase, OWNER)
        assert all("Use " in message or "too common" in message for message in refused.value.messages)
