"""Signing in and out."""

from __future__ import annotations

import re
from pathlib import Path

from tests.therapist.house import PASSWORD, House
from webapp.storage import users

COOKIE = re.compile(r"wattlebird=([^;]+)")


def test_right_password_opens_the_clinic(house: House) -> None:
    """The right name and password lead to the page that was asked for."""
    browser = house.browser()
    asked = browser.get("/clinic/stimulators")
    assert asked.location == "/clinic/sign-in?next=/clinic/stimulators"
    assert browser.sign_in("ines", goal="/clinic/stimulators").location == "/clinic/stimulators"
    assert browser.get("/clinic/stimulators").status_code == 200
    assert house.actions()[-1] == "signed_in"


def test_name_is_taken_in_any_case(house: House) -> None:
    """A name is the same in capitals; a password is not."""
    assert house.browser().sign_in("INES").status_code == 303
    assert house.browser().sign_in("otto", PASSWORD.upper()).status_code == 422


def test_wrong_password_and_unknown_name_get_the_same_answer(house: House) -> None:
    """Nothing tells whether a name exists."""
    wrong, unknown = house.browser().sign_in("ines", "not this one at all"), house.browser().sign_in("nobody", "x")
    without_token = [re.sub(r'value="[^"]*"', "", page.text) for page in (wrong, unknown)]
    assert wrong.status_code == unknown.status_code == 422
    assert without_token[0] == without_token[1]
    assert "Not signed in" in wrong.text
    assert "Not saved" not in wrong.text


def test_waits_double_and_never_lock_out(house: House) -> None:
    """After each wrong password the wait doubles, up to a quarter of an hour; then the owner gets in."""
    waits = []
    for _ in range(14):
        browser = house.browser()
        assert browser.sign_in("ines", "wrong wrong wrong").status_code == 422
        refused = house.browser().sign_in("ines")
        assert refused.status_code == 429
        waits.append(int(refused.headers["Retry-After"]))
        house.clock.ms += waits[-1] * 1000
    assert waits[:5] == [1, 2, 4, 8, 16]
    assert waits[-1] == 900
    assert house.browser().sign_in("ines").status_code == 303


def test_one_person_waiting_keeps_no_colleague_out(house: House) -> None:
    """A wrong password of one person leaves the others of the same address free."""
    house.browser().sign_in("ines", "wrong wrong wrong")
    assert house.browser().sign_in("otto").status_code == 303


def test_guessing_many_names_slows_the_address_down(house: House) -> None:
    """Guessing one password for many names is slowed down by address."""
    answers = [house.browser().sign_in(f"name{n}", "wrong wrong wrong").status_code for n in range(14)]
    assert answers[0] == 422
    assert answers[-1] == 429


def test_session_is_new_after_sign_in(house: House) -> None:
    """An id that was known before the sign-in leads nowhere after it."""
    browser = house.browser()
    before = COOKIE.search(browser.get("/clinic/sign-in").headers["Set-Cookie"])
    after = COOKIE.search(browser.sign_in("ines").headers["Set-Cookie"])
    assert before
    assert after
    assert before[1] != after[1]
    stranger = house.browser()
    stranger.client.set_cookie("wattlebird", before[1], domain="127.0.0.1")
    assert not stranger.is_signed_in()


def test_database_holds_no_session_id(house: House) -> None:
    """A copy of the database opens no session."""
    signed_in = COOKIE.search(house.browser().sign_in("ines").headers["Set-Cookie"])
    assert signed_in
    assert len(signed_in[1]) >= 43
    assert signed_in[1] not in "\n".join(house.db.conn.iterdump())


def test_sign_out_ends_the_session_at_once(house: House) -> None:
    """A cookie kept from before a sign-out opens nothing."""
    browser = house.browser()
    kept = COOKIE.search(browser.sign_in("ines").headers["Set-Cookie"])
    assert kept
    assert browser.send("/clinic/sign-out").location == "/clinic/sign-in"
    thief = house.browser()
    thief.client.set_cookie("wattlebird", kept[1], domain="127.0.0.1")
    assert not thief.is_signed_in()


def test_sign_in_ends_when_idle(house: House) -> None:
    """Half an hour unused ends a sign-in; use within it keeps it."""
    browser = house.browser("ines")
    house.clock.pass_minutes(29)
    assert browser.get("/clinic/stimulators").status_code == 200
    house.clock.pass_minutes(29)
    assert browser.get("/clinic/stimulators").status_code == 200
    house.clock.pass_minutes(31)
    assert browser.get("/clinic/stimulators").status_code == 303


def test_sign_in_ends_after_a_working_day(house: House) -> None:
    """However much it is used, a sign-in ends after ten hours."""
    browser = house.browser("ines")
    for _ in range(10 * 6 - 1):
        house.clock.pass_minutes(10)
        assert browser.is_signed_in()
    house.clock.pass_minutes(10)
    assert not browser.is_signed_in()


def test_cookie_over_https_is_bound_to_the_host(tmp_path: Path) -> None:
    """Over https the cookie has the host prefix and is sent encrypted only."""
    house = House(tmp_path, public_url="https://clinic.example")
    cookie = house.browser().get("/clinic/sign-in").headers["Set-Cookie"]
    assert cookie.startswith("__Host-wattlebird=")
    assert all(part in cookie for part in ("Secure", "HttpOnly", "SameSite=Strict", "Path=/"))
    assert "Domain" not in cookie
    house.close()


def test_pages_for_phones_have_no_session(house: House) -> None:
    """No page outside the clinic sets the clinic's cookie or makes a session."""
    browser = house.browser()
    for path in ("/join", "/sw.js", "/my/nobody/today", "/static/styles/tokens.css", "/nowhere"):
        page = browser.get(path)
        cookies = page.headers.getlist("Set-Cookie")
        page.close()
        assert not any(cookie.startswith("wattlebird=") for cookie in cookies), path
    assert house.db["sessions"].count == 0


def test_new_password_ends_other_sessions(house: House) -> None:
    """A changed password signs every other browser out and works at the next sign-in."""
    other, own = house.browser("ines"), house.browser("ines")
    chosen = "seven herons over a slow river"
    assert own.send("/clinic/password", old_password=PASSWORD, new_password=chosen,
                    new_password_again=chosen).status_code == 303
    assert own.is_signed_in()
    assert not other.is_signed_in()
    assert house.browser().sign_in("ines", chosen).status_code == 303


def test_new_password_is_refused_with_its_reason(house: House) -> None:
    """A short, a common and a mistyped password are refused, and the old one goes on."""
    browser = house.browser("ines")
    for chosen, again, reason in (("14 characters!", "14 characters!", "at least 15"),
                                  ("password1234567", "password1234567", "too easy"),
                                  ("seven herons over a river", "seven herons over a rivet", "differ")):
        page = browser.send("/clinic/password", old_password=PASSWORD, new_password=chosen, new_password_again=again)
        assert page.status_code == 422
        assert reason in page.text
        assert chosen not in page.text
    assert house.browser().sign_in("ines").status_code == 303


def test_old_hash_parameters_are_renewed(house: House) -> None:
    """A hash made with weaker parameters is made anew at the next sign-in."""
    from argon2 import PasswordHasher
    with house.practice.store.write(house.db):
        users.set_password(house.db, 1, PasswordHasher(time_cost=1, memory_cost=8192, parallelism=1).hash(PASSWORD))
    house.browser("ines")
    found = users.read(house.db, 1)
    assert found
    assert found.password_hash.startswith("$argon2id$v=19$m=19456,t=2,p=1$")


def test_sign_in_leads_only_into_the_clinic(house: House) -> None:
    """No address can make the sign-in lead to another site."""
    for goal in ("https://evil.example/", "//evil.example/clinic/", "/\\evil.example", "/clinic@evil.example", "x"):
        browser = house.browser()
        assert browser.sign_in("ines", goal=goal).location == "/clinic/"
