"""Who may sign in."""

from __future__ import annotations

import re

from tests.therapist.house import Browser, House
from webapp.storage import users

LINK = re.compile(r"/clinic/first-password#([\w-]+)")
CHOSEN = "seven herons over a slow river"


def add_tess(browser: Browser, role: str = "therapist") -> str:
    page = browser.send("/clinic/people", name="Tess Marram", login="tess", role=role)
    assert page.status_code == 201
    link = LINK.search(page.text)
    assert link
    return link[1]


def choose(browser: Browser, token: str, chosen: str = CHOSEN) -> int:
    return browser.send("/clinic/first-password", token=token, new_password=chosen,
                        new_password_again=chosen).status_code


def test_new_person_chooses_a_password(house: House) -> None:
    """A lead adds a person; the link sets the password once; then they sign in."""
    token = add_tess(house.browser("ines"))
    assert house.browser().sign_in("tess", "").status_code == 422
    house.clock.pass_minutes(1)
    assert choose(house.browser(), token) == 303
    assert house.browser().sign_in("tess", CHOSEN).status_code == 303
    assert choose(house.browser(), token) == 422
    assert [action for action in house.actions() if "person" in action or "password" in action] == [
        "person_added", "password_link_made", "first_password_chosen"]


def test_link_ends_after_three_days(house: House) -> None:
    """After three days a link leads nowhere, and a new one can be made."""
    token = add_tess(house.browser("ines"))
    house.clock.pass_minutes(3 * 24 * 60)
    assert choose(house.browser(), token) == 422
    renewed = LINK.search(house.browser("ines").send("/clinic/people/4/link").text)
    assert renewed
    assert choose(house.browser(), renewed[1]) == 303


def test_weak_first_password_does_not_use_the_link_up(house: House) -> None:
    """A refused password leaves the link as it was, and the code in its field."""
    token = add_tess(house.browser("ines"))
    page = house.browser().send("/clinic/first-password", token=token, new_password="short", new_password_again="short")
    assert page.status_code == 422
    assert f'value="{token}"' in page.text
    assert choose(house.browser(), token) == 303


def test_guessing_codes_is_slowed_down(house: House) -> None:
    """After ten wrong codes an address has to wait."""
    answers = [choose(house.browser(), f"guess{n}") for n in range(14)]
    assert answers[:10] == [422] * 10
    assert answers[-1] == 429


def test_closed_account_is_out_at_once(house: House) -> None:
    """A closed account's open pages end with the next request; opened again, it signs in with its password."""
    lead, otto = house.browser("ines"), house.browser("otto")
    assert otto.is_signed_in()
    lead.send("/clinic/people/2/disable")
    assert not otto.is_signed_in()
    assert house.browser().sign_in("otto").status_code == 422
    house.clock.pass_minutes(1)
    lead.send("/clinic/people/2/enable")
    assert house.browser().sign_in("otto").status_code == 303


def test_new_link_for_a_forgotten_password_ends_old_sessions(house: House) -> None:
    """Choosing a new password by a link signs out whoever had the old one."""
    otto = house.browser("otto")
    link = LINK.search(house.browser("ines").send("/clinic/people/2/link").text)
    assert link
    assert otto.is_signed_in()
    choose(house.browser(), link[1])
    assert not otto.is_signed_in()


def test_leads_cannot_touch_administrators(house: House) -> None:
    """A lead can neither make an administrator nor close one nor take one's password."""
    lead = house.browser("ines")
    assert lead.send("/clinic/people", name="X Y", login="xy", role="administrator").status_code == 422
    for act in ("disable", "enable", "link"):
        assert lead.send(f"/clinic/people/3/{act}").status_code == 403
    assert house.browser("rui").send("/clinic/people/1/disable").status_code == 303
    assert house.browser().sign_in("ines").status_code == 422


def test_last_keeper_stays(house: House) -> None:
    """Nobody closes their own account, and one who can add people remains."""
    house.browser("ines").send("/clinic/people/1/disable")
    assert users.read_active(house.db, 1)
    house.browser("rui").send("/clinic/people/1/disable")
    house.browser("rui").send("/clinic/people/3/disable")
    assert users.read_active(house.db, 1) is None
    assert users.read_active(house.db, 3)


def test_taken_and_odd_names_are_refused(house: House) -> None:
    """A sign-in name is one person's, and made of plain letters."""
    lead = house.browser("ines")
    taken = lead.send("/clinic/people", name="Another Otto", login="OTTO", role="therapist")
    assert taken.status_code == 422
    assert "“OTTO” is taken." in taken.text
    assert "Another Otto" in taken.text
    assert lead.send("/clinic/people", name="A B", login="a b", role="therapist").status_code == 422
