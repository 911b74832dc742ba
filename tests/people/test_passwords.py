"""What a password must be: NIST SP 800-63B-4, 3.1.1.2 (15 alone, 8 beside a second factor)."""

import pytest

from api.errors import BadInput
from api.people import passwords

GOOD_15, GOOD_8 = "zq7 willow lamp", "zq7 wilo"


def refused(password, **more):
    with pytest.raises(BadInput) as caught:
        passwords.check(password, **more)
    assert list(caught.value.errors) == ["password"]
    return caught.value.code


def test_length_depends_on_whether_it_stands_alone():
    passwords.check(GOOD_15, beside_factor=False)
    passwords.check(GOOD_8, beside_factor=True)
    assert refused(GOOD_15[:-1], beside_factor=False) == "password_form"
    assert refused(GOOD_8[:-1], beside_factor=True) == "password_form"
    assert refused("z" * 257, beside_factor=False) == "password_form"


def test_any_sign_may_be_used_and_no_mixture_is_asked_for():
    passwords.check("contraseña con eñe", beside_factor=False)
    passwords.check("only small letters here", beside_factor=False)


# The first of every published list of common passwords; from memory.
@pytest.mark.parametrize(
    "password", ["password1", "12345678", "Iloveyou", "aaaaaaaa", "QWERTYUIOP"]
)
def test_what_is_tried_first_is_refused(password):
    assert refused(password, beside_factor=True) == "password_common"


def test_the_list_is_long_enough():
    # OWASP ASVS 5.0, 6.2.4: at least the top 3000 that fit the policy.
    assert sum(len(one) >= 8 for one in passwords.common()) >= 3000


def test_names_of_the_house_do_not_make_a_password():
    words = ("Ida Lantern", "Lantern Dental", "North room")
    assert refused("LanternDental26", beside_factor=False, own_words=words) == "password_common"
    passwords.check("LanternDental26 moss kettle", beside_factor=False, own_words=words)
